import { beforeAll, describe, expect, it } from 'vitest'
import { readWhole } from '../../api/ledger/rebuild.ts'
import type {
  ContentWire,
  EnteredWire,
  LotLedgerWire,
  LotsEnteredWire,
  MovementsWire,
  StockWire,
  TaskWire,
  TraceWire,
  VesselLedgerWire,
} from '../../api/wire.ts'
import { listContents } from '../../db/queries/contents.ts'
import { listLevels } from '../../db/queries/levels.ts'
import { type Call, type Made, makeApp, type ProblemBody } from './make.ts'

let made: Made
let call: Call

beforeAll(async () => {
  made = await makeApp({ lots: ['L01', 'L02', 'L05', 'L06'], now: '2027-03-25T20:00:00Z' })
  call = made.as('winemaker')
})

const T0 = '2027-03-20T'
const post = async (body: object, query = '') => {
  const answer = await call<EnteredWire>('POST', `/api/ledger/movements${query}`, body)
  expect(answer.status, answer.text).toBe(201)
  return answer.body
}
const refused = async (body: object) => (await call<ProblemBody>('POST', '/api/ledger/movements', body)).body
const vessel = async (id: string, at = '') =>
  (await call<VesselLedgerWire>('GET', `/api/ledger/vessels/${id}${at ? `?at=${at}` : ''}`)).body
const stock = async (at = '') => (await call<StockWire>('GET', `/api/ledger/stock${at ? `?at=${at}` : ''}`)).body
const litresIn = (contents: readonly ContentWire[], code: string) =>
  contents.find((c) => c.vessel.code === code)?.volumeL

/** What is stored beside the movements must be what the movements say. */
async function storedIsReplayed(): Promise<void> {
  const whole = await readWhole(made.db, made.cellarId)
  expect(whole.faults).toEqual([])
  const levels = await listLevels(made.db, made.cellarId)
  const replayed = [...whole.pages.entries()].sort(([a], [b]) => (a < b ? -1 : 1)).flatMap(([, page]) => page)
  expect(levels).toEqual(replayed)
  const contents = await listContents(made.db, made.cellarId)
  expect(contents.map((c) => [c.vesselId, c.lotId, c.volumeMl])).toEqual(
    [...whole.state.contents]
      .map(([id, c]) => [id, c.lotId, c.parcel.volumeMl])
      .sort((a, b) => (a[0]! < b[0]! ? -1 : 1)),
  )
  for (const c of contents) {
    const parcel = whole.state.contents.get(c.vesselId)!.parcel
    for (const [id, ml] of parcel.sourcesMl) expect(c.sourcesMl[id] ?? 0).toBeCloseTo(ml, 3)
    for (const [product, amount] of parcel.additionsG) expect(c.added[product] ?? 0).toBeCloseTo(amount, 6)
  }
}

describe('the ledger over HTTP', () => {
  it('takes wine in, moves it, and knows every moment in between', async () => {
    await post({ kind: 'receive', to: 'T09', lot: 'L01', volumeL: 6160, at: `${T0}05:00:00Z` })
    const moved = await post({ kind: 'move', from: 'T09', to: 'T01', volumeL: 5790, lossL: 370, at: `${T0}20:00:00Z` })
    expect(moved.movements.map((m) => [m.from.beforeL, m.from.afterL, m.volumeL, m.to.kind])).toEqual([
      [6160, 370, 5790, 'vessel'],
      [370, 0, 370, 'lees'],
    ])
    expect(litresIn((await stock()).contents, 'T01')).toBe(5790)
    expect(litresIn((await stock()).contents, 'T09')).toBe(0)
    const then = await stock(`${T0}12:00:00Z`)
    expect([litresIn(then.contents, 'T09'), litresIn(then.contents, 'T01'), then.totalL]).toEqual([6160, 0, 6160])
    const now = await vessel('T01')
    expect(now.content).toMatchObject({ state: 'full', lot: { code: 'L01' }, volumeL: 5790 })
    expect(now.composition.variety).toEqual([{ value: 'Sauvignon Blanc', share: 1, volumeL: 5790 }])
    expect((await vessel('T09')).content.state).toBe('dirty')
    await storedIsReplayed()
  })

  it('refuses what cannot be, and writes nothing', async () => {
    const before = await stock()
    expect(await refused({ kind: 'move', from: 'T01', to: 'T02', volumeL: 5791 })).toMatchObject({
      status: 422,
      type: 'not-so-much-there',
    })
    expect(await refused({ kind: 'receive', to: 'T01', lot: 'L01', volumeL: 711 })).toMatchObject({
      status: 422,
      type: 'above-the-limit',
    })
    expect(await refused({ kind: 'receive', to: 'T01', lot: 'L02', volumeL: 1 })).toMatchObject({
      status: 409,
      type: 'another-lot-there',
    })
    expect(await refused({ kind: 'move', from: 'T02', to: 'T03' })).toMatchObject({ status: 422, type: 'not-valid' })
    expect(await stock()).toEqual(before)
  })

  it('shows the shares of a blend before and after, looks without writing, and bars a lot in quarantine', async () => {
    await post({ kind: 'receive', to: 'T10', lot: 'L02', volumeL: 2000, at: `${T0}06:00:00Z` })
    const body = { kind: 'move', from: 'T10', to: 'T01', volumeL: 310, cause: 'top', at: `${T0}21:00:00Z` }
    expect(await refused(body)).toMatchObject({ status: 409, type: 'another-lot-there' })
    await call('POST', '/api/ledger/lots/L02/quarantine', { on: true, reason: 'vinegar' })
    expect(await refused({ ...body, intoOther: true })).toMatchObject({ status: 409, type: 'quarantined' })
    await call('POST', '/api/ledger/lots/L02/quarantine', { on: false, reason: 'clean again' })
    const look = await post({ ...body, intoOther: true }, '?preview=true')
    expect(look.written).toBe(false)
    const t01 = look.contents.find((c) => c.content.vessel.code === 'T01')!
    // 310 of 6,100 L come from the top block: 0.0508.
    expect(t01.composition.block.map((p) => Number(p.share.toFixed(6)))).toEqual([0.94918, 0.05082])
    expect(t01.before?.block).toHaveLength(1)
    expect(litresIn((await stock()).contents, 'T01')).toBe(5790)
    await post({ ...body, intoOther: true })
    expect(litresIn((await stock()).contents, 'T01')).toBe(6100)
    await storedIsReplayed()
  })

  it('puts a late entry in its place, refuses one that breaks a later one, and takes a wrong one back', async () => {
    // 1 L sampled out of T09 before it was racked: then 6,160 L cannot have left it.
    const sample = { kind: 'leave', from: 'T09', to: 'sample', volumeL: 1, at: `${T0}10:00:00Z` }
    expect(await refused(sample)).toMatchObject({ status: 409, type: 'would-not-stand' })
    await post({ kind: 'leave', from: 'T01', to: 'sample', volumeL: 1, at: `${T0}20:30:00Z` })
    expect(litresIn((await stock(`${T0}20:45:00Z`)).contents, 'T01')).toBe(5789)
    expect(litresIn((await stock()).contents, 'T01')).toBe(6099)
    await storedIsReplayed()
    const { movements } = (await call<MovementsWire>('GET', '/api/ledger/movements?vessel=T10')).body
    const top = movements.find((m) => m.cause === 'top')!
    const corrected = await call<EnteredWire>('POST', `/api/ledger/movements/${top.id}/correct`, {
      reason: 'it went to T02',
      instead: { kind: 'move', from: 'T10', to: 'T02', volumeL: 310, cause: 'rack' },
    })
    expect(corrected.status, corrected.text).toBe(201)
    expect((await vessel('T01')).composition.block).toHaveLength(1)
    expect(await vessel('T02')).toMatchObject({ content: { volumeL: 310, lot: { code: 'L02' } } })
    expect(
      (await call<ProblemBody>('POST', `/api/ledger/movements/${top.id}/correct`, { reason: 'x' })).body.type,
    ).toBe('already-corrected')
    await storedIsReplayed()
  })

  it('counts a resent entry once', async () => {
    const body = { opId: crypto.randomUUID(), kind: 'leave', from: 'T02', to: 'sample', volumeL: 0.75 }
    const [one, two] = [await post(body), await post(body)]
    expect(two.movements.map((m) => m.id)).toEqual(one.movements.map((m) => m.id))
    expect((await vessel('T02')).content.volumeL).toBe(309.25)
  })
})

describe('lots that part and join', () => {
  it('a split gives children the wine, the shares and the rest of the plan; the parent ends', async () => {
    const split = await call<LotsEnteredWire>('POST', '/api/ledger/lots/split', {
      lot: 'L02',
      children: [
        { code: 'L02a', name: 'Big part', vessels: ['T10'] },
        { code: 'L02b', name: 'Small part', vessels: ['T02'] },
      ],
    })
    expect(split.status, split.text).toBe(201)
    expect(split.body.ended.map((l) => l.code)).toEqual(['L02'])
    const child = (await call<LotLedgerWire>('GET', '/api/ledger/lots/L02a')).body
    expect(child).toMatchObject({ volumeL: 1690, parents: [{ lot: { code: 'L02' }, share: 1 }] })
    const tasks = (await call<{ tasks: TaskWire[] }>('GET', '/api/tasks?lot=L02')).body.tasks
    const open = tasks.filter((t) => !['cancelled', 'done', 'skipped'].includes(t.state))
    expect(open).toEqual([])
    expect(tasks.find((t) => t.state === 'cancelled')?.cancelReason).toMatch(/L02 became L02a, L02b/)
    const theirs = (await call<{ tasks: TaskWire[] }>('GET', `/api/tasks?lot=${split.body.lots[0]!.id}`)).body.tasks
    expect(theirs.length).toBeGreaterThan(10)
    await storedIsReplayed()
  })

  it('a merge keeps every share, and tracing back returns every source', async () => {
    await post({ kind: 'receive', to: 'T14', lot: 'L05', volumeL: 644, at: `${T0}07:00:00Z` })
    await post({ kind: 'receive', to: 'T13', lot: 'L06', volumeL: 425, at: `${T0}07:30:00Z` })
    const merge = await call<LotsEnteredWire>('POST', '/api/ledger/lots/merge', {
      code: 'TAI',
      name: 'Taille blend',
      vessels: ['T14'],
      moves: [{ from: 'T13', to: 'T14' }],
    })
    expect(merge.status, merge.text).toBe(201)
    const id = merge.body.lots[0]!.id
    const trace = (await call<TraceWire>('GET', '/api/ledger/trace?lot=TAI')).body
    // 644 + 425 = 1,069 L.
    expect(trace.totalL).toBe(1069)
    const shares = Object.fromEntries(trace.sources.map((s) => [s.receiptId, s.share]))
    expect(shares.L05).toBeCloseTo(644 / 1069, 12)
    expect(shares.L06).toBeCloseTo(425 / 1069, 12)
    expect(trace.nodes.map((n) => [n.id, n.rank])).toEqual([
      [`lot:${id}`, 0],
      ['lot:L05', 1],
      ['lot:L06', 1],
      ['receipt:L05', 2],
      ['receipt:L06', 2],
    ])
    const forward = (await call<TraceWire>('GET', '/api/ledger/trace?lot=L06&direction=forward')).body
    expect(forward.reached.map((r) => [r.content.vessel.code, r.volumeL, Number(r.share.toFixed(6))])).toEqual([
      ['T14', 425, 0.397568],
    ])
    await storedIsReplayed()
  })
})
