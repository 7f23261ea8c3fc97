import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { flowBack, type Inflow } from '../../../api/cellar/ledger/flow.ts'
import { flowForward, type Outflow } from '../../../api/cellar/ledger/forward.ts'
import { mixForward, shareThrough } from '../../../api/cellar/ledger/mixing.ts'
import { inOrder, inVessel, type Movement, outside, outsideOf, vesselOf } from '../../../api/cellar/ledger/movement.ts'
import { type Level, pageOf } from '../../../api/cellar/ledger/page.ts'
import { replay } from '../../../api/cellar/ledger/replay.ts'
import { standing } from '../../../api/cellar/ledger/standing.ts'
import { anyHistory, limitMl, VESSELS } from './histories.ts'

const pagesOf = (movements: readonly Movement[]) =>
  new Map(VESSELS.map((id) => [id as string, pageOf(id, movements, undefined, limitMl(id))]))

/** Every inflow with its levels, as the pages have them. */
function inflowsOf(movements: readonly Movement[], pages: ReturnType<typeof pagesOf>): Inflow[] {
  const levels = new Map<string, Level>(
    [...pages.values()].flatMap((p) => p.levels).map((l) => [`${l.movementId} ${l.vesselId}`, l]),
  )
  return movements.flatMap((m): Inflow[] => {
    const to = vesselOf(m.to)
    const l = to === undefined ? undefined : levels.get(`${m.id} ${to}`)
    if (to === undefined || !l) return []
    const from = vesselOf(m.from)
    const out = outsideOf(m.from)
    const fromLotId = m.fromLotId ?? levels.get(`${m.id} ${from}`)?.beforeLotId
    return [
      {
        movementId: m.id,
        atMs: m.atMs,
        entry: m.entry,
        volumeMl: m.volumeMl,
        toVesselId: to,
        toBeforeMl: l.beforeMl,
        toAfterMl: l.afterMl,
        ...(l.beforeLotId === undefined ? {} : { toBeforeLotId: l.beforeLotId }),
        toLotId: m.lotId,
        ...(from === undefined ? {} : { fromVesselId: from }),
        ...(fromLotId === undefined ? {} : { fromLotId }),
        ...(out === undefined ? {} : { fromOutside: out }),
        ...(m.receipt ? { receiptId: m.receipt.id } : {}),
        cause: m.cause,
      },
    ]
  })
}

/** Corrections leave gaps: what then could not have happened is left out, as the ledger does. */
function possible(movements: readonly Movement[]): Movement[] {
  let list = inOrder(standing(movements))
  for (;;) {
    const out = new Set([
      ...replay(list, [], { limitMl }).faults.map((f) => f.entryId),
      ...[...pagesOf(list).values()].flatMap((p) => p.faults.map((f) => f.movementId)),
    ])
    if (out.size === 0) return list
    list = list.filter((m) => !out.has(m.id))
  }
}

describe('for any history of 300 movements with late entries and corrections', () => {
  it('the pages of the vessels hold what replaying the movements gives', () => {
    fc.assert(
      fc.property(anyHistory(300), ({ movements }) => {
        const list = possible(movements)
        const { state } = replay(list)
        for (const [id, page] of pagesOf(list)) {
          expect(page.faults).toEqual([])
          const last = page.levels.at(-1)
          expect(last?.afterMl ?? 0).toBe(state.contents.get(id)?.parcel.volumeMl ?? 0)
          if (last && last.afterMl > 0) expect(last.afterLotId).toBe(state.contents.get(id)?.lotId)
          for (const [i, l] of page.levels.entries()) expect(l.beforeMl).toBe(i === 0 ? 0 : page.levels[i - 1]!.afterMl)
        }
      }),
      { numRuns: 25 },
    )
  })

  it('following wine back gives the sources that mixing it forward gave, to 1e-9, and they add up', () => {
    fc.assert(
      fc.property(anyHistory(300), ({ movements }) => {
        const list = possible(movements)
        const { state } = replay(list)
        const inflows = inflowsOf(list, pagesOf(list))
        for (const [vesselId, c] of state.contents) {
          const volumeMl = c.parcel.volumeMl
          const back = flowBack(inflows, [], [{ vesselId, lotId: c.lotId, volumeMl }])
          const total = [...back.sourcesMl.values()].reduce((a, b) => a + b, 0)
          expect(total / volumeMl).toBeCloseTo(1, 9)
          for (const [id, ml] of c.parcel.sourcesMl)
            expect((back.sourcesMl.get(id) ?? 0) / volumeMl).toBeCloseTo(ml / volumeMl, 9)
          for (const [id, ml] of back.sourcesMl)
            expect(ml / volumeMl).toBeCloseTo((c.parcel.sourcesMl.get(id) ?? 0) / volumeMl, 9)
        }
      }),
      { numRuns: 25 },
    )
  })

  it('mixing every vessel forward at once is following each back, doses among it', () => {
    fc.assert(
      fc.property(anyHistory(300), ({ movements, additions }) => {
        const list = possible(movements)
        const { state } = replay(list)
        const pages = pagesOf(list)
        const inflows = inflowsOf(list, pages)
        const dosed = additions.flatMap((a) => {
          const level = pages.get(a.vesselId)?.levels.findLast((l) => l.atMs < a.atMs)
          return level ? [{ ...a, amount: a.amountG, levelMl: level.afterMl }] : []
        })
        const mixed = mixForward(inflows, dosed)
        for (const [vesselId, c] of state.contents) {
          const volumeMl = c.parcel.volumeMl
          const back = flowBack(inflows, dosed, [{ vesselId, lotId: c.lotId, volumeMl }])
          const made = mixed.get(vesselId)!
          for (const id of new Set([...back.sourcesMl.keys(), ...made.shares.keys()]))
            expect(made.shares.get(id) ?? 0).toBeCloseTo((back.sourcesMl.get(id) ?? 0) / volumeMl, 9)
          for (const product of new Set([...back.added.keys(), ...made.addedPerMl.keys()]))
            expect((made.addedPerMl.get(product) ?? 0) * volumeMl).toBeCloseTo(back.added.get(product) ?? 0, 6)
        }
      }),
      { numRuns: 25 },
    )
  })

  it('what once was a lot is never more than following back counts, which counts wine twice that was it twice', () => {
    fc.assert(
      fc.property(anyHistory(300), ({ movements }) => {
        const list = possible(movements)
        const inflows = inflowsOf(list, pagesOf(list))
        const through = shareThrough(inflows, 'L4')
        for (const [vesselId, c] of replay(list).state.contents) {
          const volumeMl = c.parcel.volumeMl
          const back = flowBack(inflows, [], [{ vesselId, lotId: c.lotId, volumeMl }])
          const counted = (back.throughMl.get('lot:L4') ?? 0) / volumeMl
          const share = c.lotId === 'L4' ? 1 : (through.get(vesselId) ?? 0)
          expect(share).toBeLessThanOrEqual(Math.min(1, counted) + 1e-9)
          expect(share > 1e-12).toBe(counted > 1e-12)
        }
      }),
      { numRuns: 25, endOnFailure: true },
    )
  })
})

let entry = 0
const move = (
  from: Movement['from'],
  to: Movement['to'],
  volumeL: number,
  lotId: string,
  more: Partial<Movement> = {},
): Movement => ({
  id: `m${++entry}`,
  entry,
  atMs: entry * 60_000,
  from,
  to,
  lotId,
  volumeMl: volumeL * 1000,
  cause: 'rack',
  people: ['Sam'],
  ...more,
})
const fruit = (id: string) => ({ receipt: { id, variety: id, vintage: '2027', block: id, origin: 'valley' } })

describe('worked by hand', () => {
  it('a quarter of a blend was the lot that a quarter of it came from, also after the blend was topped', () => {
    const list = [
      move(outside('fruit'), inVessel('T01'), 100, 'A', fruit('ra')),
      move(outside('fruit'), inVessel('T02'), 300, 'C', fruit('rc')),
      move(inVessel('T01'), inVessel('T02'), 100, 'AC', { fromLotId: 'A' }),
      // 400 L, a quarter of it A; 100 L more of other wine: 100 / 500 = 0.2.
      move(outside('fruit'), inVessel('T02'), 100, 'AC', fruit('rd')),
    ]
    const inflows = inflowsOf(list, pagesOf(list))
    expect(shareThrough(inflows, 'A').get('T02')).toBeCloseTo(0.2, 12)
    expect(shareThrough(inflows, 'C').get('T02')).toBeCloseTo(300 / 500, 12)
    expect(shareThrough(inflows, 'AC').get('T02')).toBe(1)
    // A source each: 100, 300 and 100 of 500 L.
    const shares = mixForward(inflows, []).get('T02')!.shares
    for (const [source, share] of [
      ['rc', 0.6],
      ['ra', 0.2],
      ['rd', 0.2],
    ] as const)
      expect(shares.get(source)).toBeCloseTo(share, 12)
  })

  it('a lot renamed where it lies, then blended, keeps every step of its way', () => {
    // 600 L of A become B; 200 L of it join 300 L of C as D: D is 200 / 500 = 40 % A by way of B.
    const list = [
      move(outside('fruit'), inVessel('T01'), 600, 'A', fruit('ra')),
      move(outside('fruit'), inVessel('T02'), 300, 'C', fruit('rc')),
      move(inVessel('T01'), inVessel('T01'), 600, 'B', { fromLotId: 'A', cause: 'split' }),
      move(inVessel('T01'), inVessel('T02'), 200, 'D', { fromLotId: 'B', cause: 'blend' }),
    ]
    expect(replay(list).faults).toEqual([])
    const back = flowBack(inflowsOf(list, pagesOf(list)), [], [{ vesselId: 'T02', lotId: 'D', volumeMl: 500_000 }])
    expect([...back.sourcesMl].sort()).toEqual([
      ['ra', 200_000],
      ['rc', 300_000],
    ])
    expect(back.throughMl.get('lot:B')).toBe(200_000)
    expect(back.throughMl.get('lot:A')).toBe(200_000)
    expect(back.throughMl.get('lot:C')).toBe(300_000)
  })

  it('a gauged gain under another name makes all of the vessel that lot, and brings no other wine', () => {
    // 100 L of A; the gauge finds 2 L more and calls it B: 102 L of B, every litre of them once A.
    const list = [
      move(outside('fruit'), inVessel('T01'), 100, 'A', fruit('ra')),
      move(outside('gain'), inVessel('T01'), 2, 'B', { cause: 'gauge' }),
    ]
    const inflows = inflowsOf(list, pagesOf(list))
    const back = flowBack(inflows, [], [{ vesselId: 'T01', lotId: 'B', volumeMl: 102_000 }])
    expect([...back.sourcesMl]).toEqual([['ra', 102_000]])
    expect(back.throughMl.get('lot:A')).toBe(102_000)
    expect(shareThrough(inflows, 'A').get('T01')).toBe(1)
    expect(shareThrough(inflows, 'B').get('T01')).toBe(1)
  })

  it('a dose is diluted by a blend and unchanged by a draw', () => {
    // 50 g in 1,000 L; 400 L drawn off; 600 L left hold 30 g. 600 L of other wine on top: still 30 g, in 1,200 L.
    const list = [
      move(outside('fruit'), inVessel('T01'), 1000, 'A', fruit('ra')),
      move(outside('fruit'), inVessel('T02'), 600, 'C', fruit('rc')),
      move(inVessel('T01'), outside('sale'), 400, 'A'),
      move(inVessel('T02'), inVessel('T01'), 600, 'A', { fromLotId: 'C' }),
    ]
    const first = list[0]!
    const dosed = {
      product: 'g:SO2',
      amount: 50,
      vesselId: 'T01',
      atMs: first.atMs,
      entry: first.entry + 0.5,
      levelMl: 1_000_000,
    }
    const back = flowBack(
      inflowsOf(list, pagesOf(list)),
      [dosed],
      [{ vesselId: 'T01', lotId: 'A', volumeMl: 1_200_000 }],
    )
    expect(back.added.get('g:SO2')).toBeCloseTo(30, 9)
  })

  it('goes forward by shares: a quarter of a barrel that was half of it carries an eighth', () => {
    // 100 L of A join 100 L of B in T02; 50 L of the 200 go on to A1: half of them, 25 L, are A.
    const out = (
      vesselId: string,
      beforeMl: number,
      beforeLotId: string,
      volumeMl: number,
      to: string,
      toLotId: string,
    ): Outflow => ({
      movementId: `o${++entry}`,
      atMs: entry,
      entry,
      cause: 'rack',
      vesselId,
      beforeMl,
      beforeLotId,
      volumeMl,
      toVesselId: to,
      toLotId,
    })
    const flow = flowForward(
      [out('T01', 100_000, 'A', 100_000, 'T02', 'B'), out('T02', 200_000, 'B', 50_000, 'A1', 'B')],
      { lotId: 'A' },
    )
    expect(flow.throughMl.get('lot:B')).toBe(100_000)
    expect(flow.heldMl.get('A1')).toBe(25_000)
    expect(flow.heldMl.get('T02')).toBe(75_000)
  })
})

describe('a renaming', () => {
  it('takes the whole vessel or nothing', () => {
    const list = [
      move(outside('fruit'), inVessel('T01'), 600, 'A', fruit('ra')),
      move(inVessel('T01'), inVessel('T01'), 500, 'B', { fromLotId: 'A' }),
    ]
    expect(replay(list).faults.map((f) => f.why)).toEqual(['another-lot-there'])
    expect(pageOf('T01', list).faults.map((f) => f.why)).toEqual(['another-lot-there'])
  })
})
