import fc from 'fast-check'
import { Matrix, solve } from 'ml-matrix'
import { describe, expect, it } from 'vitest'
import { balance, stockMl } from '../../../api/cellar/ledger/balance.ts'
import { composition, mayStillBlendL, together } from '../../../api/cellar/ledger/composition.ts'
import {
  inVessel,
  type LedgerAddition,
  type Movement,
  millilitres,
  outside,
  type Receipt,
} from '../../../api/cellar/ledger/movement.ts'
import { addedMgPerL, shares } from '../../../api/cellar/ledger/parcel.ts'
import { replay } from '../../../api/cellar/ledger/replay.ts'
import { traceBack, traceForward } from '../../../api/cellar/ledger/trace.ts'
import { anyHistory, limitMl, VESSELS } from './histories.ts'

let entry = 0
const at = (n: number) => n * 60_000
const make = (
  n: number,
  from: Movement['from'],
  to: Movement['to'],
  volumeL: number,
  lotId: string,
  more: Partial<Movement> = {},
): Movement => ({
  id: `m${++entry}`,
  entry,
  atMs: at(n),
  from,
  to,
  lotId,
  volumeMl: millilitres(volumeL),
  cause: 'rack',
  people: ['Sam'],
  ...more,
})
const receipt = (id: string, variety: string, vintage = '2027', block = id): Receipt => ({
  id,
  variety,
  vintage,
  block,
  origin: 'valley',
})
const receive = (n: number, vessel: string, volumeL: number, r: Receipt, lotId = r.id) =>
  make(n, outside('fruit'), inVessel(vessel), volumeL, lotId, { receipt: r, cause: 'press' })
const add = (n: number, vesselId: string, product: string, amountG: number): LedgerAddition => ({
  id: `a${++entry}`,
  entry,
  atMs: at(n),
  vesselId,
  product,
  amountG,
  batchNo: 'b7',
  personId: 'Noor',
})

describe('worked blends', () => {
  it('3,000 L Chardonnay and 1,000 L Chenin are 75 % Chardonnay; a litre of that in 9 of Riesling is 7.5 %', () => {
    // 3000 / 4000 = 0.75. Then 100 L of the blend hold 75 L Chardonnay; in 1,000 L that is 0.075.
    const { state, faults } = replay([
      receive(1, 'T01', 3000, receipt('c', 'Chardonnay')),
      receive(2, 'T02', 1000, receipt('h', 'Chenin')),
      receive(3, 'T03', 900, receipt('r', 'Riesling')),
      make(4, inVessel('T02'), inVessel('T01'), 1000, 'blend'),
      make(5, inVessel('T01'), inVessel('T03'), 100, 'r'),
    ])
    expect(faults).toEqual([])
    const inVesselShare = (id: string, v: string) =>
      composition(state.contents.get(id)!.parcel, state.receipts).variety.get(v)
    expect(inVesselShare('T01', 'Chardonnay')).toBeCloseTo(0.75, 12)
    expect(inVesselShare('T03', 'Chardonnay')).toBeCloseTo(0.075, 12)
    expect(inVesselShare('T03', 'Riesling')).toBeCloseTo(0.9, 12)
    expect(state.contents.has('T02')).toBe(false)
  })

  it('a year of topping at 0.1 % a week is 5.07 % of another wine', () => {
    // Each week 0.1 % leaves and comes back from elsewhere: 1 - 0.999^52 = 0.05069.
    const weeks = Array.from({ length: 52 }, (_, w) => [
      make(10 + w * 2, inVessel('A1'), outside('loss'), 0.228, 'c', { cause: 'evaporation' }),
      make(11 + w * 2, inVessel('T09'), inVessel('A1'), 0.228, 'c', { cause: 'top' }),
    ]).flat()
    const { state } = replay([
      receive(1, 'A1', 228, receipt('c', 'Chardonnay')),
      receive(2, 'T09', 100, receipt('o', 'Other')),
      ...weeks,
    ])
    expect(composition(state.contents.get('A1')!.parcel, state.receipts).variety.get('Other')).toBeCloseTo(
      1 - 0.999 ** 52,
      9,
    )
  })

  it('50 mg/L of SO2 in half of a blend is 25 mg/L of the whole', () => {
    // 1,000 L x 50 mg/L = 50 g SO2. After blending with as much untreated wine: 50 g / 2,000 L = 25 mg/L.
    const { state } = replay(
      [
        receive(1, 'T01', 1000, receipt('a', 'A')),
        receive(1, 'T02', 1000, receipt('b', 'B')),
        make(5, inVessel('T02'), inVessel('T01'), 1000, 'a'),
      ],
      [add(3, 'T01', 'SO2', 50)],
    )
    expect(addedMgPerL(state.contents.get('T01')!.parcel, 'SO2')).toBeCloseTo(25, 12)
  })

  it('85 % of 6,000 L at 100 % lets 1,058.8 L of other wine in', () => {
    // 6000 / 0.85 - 6000 = 1058.82
    expect(mayStillBlendL(6000, 1, 0.85)).toBeCloseTo(1058.8235, 3)
    expect(mayStillBlendL(6000, 0.8, 0.85)).toBe(0)
    expect(() => mayStillBlendL(-1, 1, 0.85)).toThrow(RangeError)
  })
})

describe('an entry that could not have happened', () => {
  const base = [receive(1, 'T01', 100, receipt('a', 'A'))]
  it.each([
    ['takes more than there is', make(2, inVessel('T01'), inVessel('T02'), 101, 'a'), 'not-so-much-there'],
    ['overfills', make(2, inVessel('T01'), inVessel('A1'), 50, 'a'), 'above-the-limit'],
    ['moves nothing', make(2, inVessel('T01'), inVessel('T02'), 0, 'a'), 'nothing-moved'],
    ['stays where it is', make(2, inVessel('T01'), inVessel('T01'), 5, 'a'), 'same-place'],
    ['touches no vessel', make(2, outside('bought'), outside('sale'), 5, 'a'), 'no-vessel'],
    ['comes from fruit without a receipt', make(2, outside('fruit'), inVessel('T02'), 5, 'a'), 'no-receipt'],
    [
      'takes back what never was',
      make(2, inVessel('T01'), inVessel('T02'), 5, 'a', { reverses: 'zz', reason: 'x' }),
      'reverses-unknown',
    ],
    [
      'takes back without a reason',
      make(2, inVessel('T01'), outside('loss'), 5, 'a', { reverses: base[0]!.id }),
      'no-reason',
    ],
    [
      'counts parts of a millilitre',
      { ...make(2, inVessel('T01'), inVessel('T02'), 5, 'a'), volumeMl: 0.5 },
      'not-whole-millilitres',
    ],
  ] as const)('%s', (_, movement, why) => {
    const { state, faults } = replay([...base, movement], [], { limitMl: (v) => (v === 'A1' ? 40_000 : undefined) })
    expect(faults.map((f) => f.why)).toEqual([why])
    expect(stockMl(state)).toBe(100_000)
  })
})

describe('a late entry', () => {
  it('counts from when it happened, so the past can be asked again', () => {
    const first = [receive(1, 'T01', 1000, receipt('a', 'A')), make(10, inVessel('T01'), inVessel('T02'), 400, 'a')]
    const late = make(5, inVessel('T01'), outside('sample'), 1, 'a')
    expect(stockMl(replay(first, [], { untilMs: at(7) }).state)).toBe(1_000_000)
    expect(stockMl(replay([...first, late], [], { untilMs: at(7) }).state)).toBe(999_000)
  })
})

describe('for any history of 300 movements with late entries and corrections', () => {
  const histories = anyHistory(300)
  const runs = { numRuns: 40 }

  it('no vessel falls below zero or rises above its limit, and nothing is refused', () => {
    fc.assert(
      fc.property(histories, ({ movements, additions }) => {
        const { state, faults } = replay(movements, additions, { limitMl })
        expect(faults).toEqual([])
        for (const [id, c] of state.contents) {
          expect(c.parcel.volumeMl).toBeGreaterThan(0)
          expect(c.parcel.volumeMl).toBeLessThanOrEqual(limitMl(id))
        }
      }),
      runs,
    )
  })

  it('litres in are litres out and stock, to the millilitre, in any period', () => {
    fc.assert(
      fc.property(
        histories,
        fc.integer({ min: 0, max: 300_000 }),
        fc.integer({ min: 0, max: 300_000 }),
        ({ movements }, a, b) => {
          expect(balance(movements, Math.min(a, b), Math.max(a, b) + 1).gapMl).toBe(0)
        },
      ),
      runs,
    )
  })

  it('shares add up to 1, and blending then tracing back names every source', () => {
    fc.assert(
      fc.property(histories, ({ movements }) => {
        const { state } = replay(movements)
        for (const [id, c] of state.contents) {
          const parts = [...shares(c.parcel).values()]
          expect(parts.reduce((x, y) => x + y, 0)).toBeCloseTo(1, 9)
          const receipts = new Set(
            traceBack(movements, id, Number.POSITIVE_INFINITY).flatMap(
              (e) => movements.find((m) => m.id === e.movementId)?.receipt?.id ?? [],
            ),
          )
          for (const [source, share] of shares(c.parcel)) if (share > 1e-9) expect(receipts).toContain(source)
        }
      }),
      { numRuns: 15 },
    )
  })

  it('the order in which entries are read does not matter, and going on from a picture is the same as starting over', () => {
    fc.assert(
      fc.property(histories, fc.integer({ min: 0, max: 300_000 }), ({ movements, additions }, cut) => {
        const whole = replay(movements, additions).state
        expect(replay([...movements].reverse(), [...additions].reverse()).state).toEqual(whole)
        const start = replay(movements, additions, { untilMs: cut }).state
        const after = <T extends { atMs: number; reverses?: string }>(e: T) => e.atMs > cut
        // A correction of something before the cut needs the entry it takes back; such a pair is kept whole here.
        if (
          movements.some(
            (m) => m.atMs > cut && m.reverses && movements.some((o) => o.id === m.reverses && o.atMs <= cut),
          )
        )
          return
        const on = replay(movements.filter(after), additions.filter(after), { start }).state
        expect(stockMl(on)).toBe(stockMl(whole))
        for (const [id, c] of whole.contents) expect(on.contents.get(id)?.parcel.volumeMl).toBe(c.parcel.volumeMl)
      }),
      runs,
    )
  })

  it('what goes forward from a vessel is what comes back to it', () => {
    fc.assert(
      fc.property(anyHistory(80), ({ movements }) => {
        const { state } = replay(movements)
        for (const id of state.contents.keys())
          for (const e of traceBack(movements, id, Number.POSITIVE_INFINITY)) {
            if (e.from.startsWith('outside:')) continue
            expect(traceForward(movements, e.from, e.atMs).map((f) => f.movementId)).toContain(e.movementId)
          }
      }),
      { numRuns: 20 },
    )
  })
})

describe('composition of 200 lots blended from each other', () => {
  it('is what solving the mixing equations with a general linear algebra library gives', () => {
    fc.assert(
      fc.property(fc.infiniteStream(fc.integer({ min: 0, max: 1_000_000 })), (stream) => {
        const draw = () => stream.next().value as number
        const count = 200
        const roots = 20
        // Four generations; each draws so little of the one before that no vessel runs dry (40,000 parts in 100,000 at most).
        const generation = (j: number) => (j < roots ? 0 : 1 + Math.floor(((j - roots) * 3) / (count - roots)))
        const before = (g: number) => (g <= 1 ? roots : roots + Math.ceil(((g - 1) * (count - roots)) / 3))
        const parts: [parent: number, weight: number][][] = []
        const movements: Movement[] = []
        for (let j = 0; j < count; j++) {
          const id = `V${j}`
          const g = generation(j)
          if (g === 0) {
            movements.push({ ...receive(j + 1, id, 1, receipt(`r${j}`, `v${j}`)), volumeMl: 1e15 })
            parts.push([])
            continue
          }
          const chosen = Array.from({ length: 1 + (draw() % 4) }, (): [number, number] => [
            draw() % before(g),
            1 + (draw() % 50),
          ])
          parts.push(chosen)
          for (const [parent, weight] of chosen)
            movements.push({
              ...make(j + 1, inVessel(`V${parent}`), inVessel(id), 1, id),
              volumeMl: weight * 10 ** (15 - 5 * g),
            })
        }
        const { state, faults } = replay(movements)
        expect(faults).toEqual([])
        // x = P x + s: row j holds the share of each parent; s names the root. One column a root.
        const P = Matrix.eye(count, count)
        parts.forEach((chosen, j) => {
          const total = chosen.reduce((sum, [, weight]) => sum + weight, 0)
          for (const [parent, weight] of chosen) P.set(j, parent, P.get(j, parent) - weight / total)
        })
        const S = Matrix.zeros(count, roots)
        for (let r = 0; r < roots; r++) S.set(r, r, 1)
        const X = solve(P, S)
        for (const [id, c] of state.contents) {
          const j = Number(id.slice(1))
          const mine = shares(c.parcel)
          for (let r = 0; r < roots; r++) expect(mine.get(`r${r}`) ?? 0).toBeCloseTo(X.get(j, r), 9)
        }
      }),
      { numRuns: 30 },
    )
  })
})

it('a lot in several vessels is one wine for its shares', () => {
  // 300 L of A and 100 L of half A, half B: (300 + 50) / 400 = 0.875.
  const { state } = replay([
    receive(1, VESSELS[0], 350, receipt('a', 'A')),
    receive(1, VESSELS[1], 50, receipt('b', 'B')),
    make(2, inVessel(VESSELS[0]), inVessel(VESSELS[1]), 50, 'a'),
  ])
  const whole = together([...state.contents.values()].map((c) => c.parcel))
  expect(composition(whole, state.receipts).variety.get('A')).toBeCloseTo(0.875, 12)
})
