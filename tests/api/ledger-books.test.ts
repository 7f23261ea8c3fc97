import { beforeAll, describe, expect, it } from 'vitest'
import type {
  CountWire,
  EnteredWire,
  LossesWire,
  OpeningWire,
  RegisterWire,
  VesselLedgerWire,
  YieldsWire,
} from '../../api/wire.ts'
import { asked } from './ledger-asked.ts'
import { type Call, type Made, makeApp, type ProblemBody } from './make.ts'

let made: Made
let call: Call

beforeAll(async () => {
  made = await makeApp({ lots: ['L01'], now: '2027-03-25T20:00:00Z' })
  call = made.as('winemaker')
})

const { get, check, litresIn, keyOf } = asked(() => call)

describe('finishing a task', () => {
  it('writes its movement against the plan, the plan goes on from it, and an undo takes it back', async () => {
    const press = await keyOf('press')
    const first = await call<{ warnings: string[] }>('POST', `/api/tasks/${press.key}/done`, {
      at: '2027-03-22T05:00:00Z',
      vesselsMoved: [{ to: press.toVessels[0], volumeL: 6000 }],
      additions: [
        {
          product: 'potassium metabisulphite',
          amount: 500,
          unit: 'g',
          batchNo: 'B7',
          treatedL: 6000,
          vessel: press.toVessels[0],
        },
      ],
    })
    expect(first.status, first.text).toBe(200)
    const settled = press.toVessels[0]!
    expect(await litresIn(settled)).toMatchObject({ volumeL: 6000, state: 'full' })
    const rack = await keyOf('rack-juice')
    const [from, to] = [rack.fromVessels[0]!, rack.toVessels[0]!]
    const done = await call('POST', `/api/tasks/${rack.key}/done`, {
      at: '2027-03-23T05:00:00Z',
      volumeL: 5600,
      vessels: [to],
    })
    expect(done.status, done.text).toBe(200)
    // 6,000 L were there, 5,600 L arrived: 400 L stayed as lees, and the tank is empty and dirty.
    expect(await litresIn(to)).toMatchObject({ volumeL: 5600 })
    expect(await litresIn(from)).toMatchObject({ volumeL: 0, state: 'dirty' })
    const answer = await get<VesselLedgerWire>(`/api/ledger/vessels/${to}`)
    const moved = answer.movements.find((m) => m.taskKey === rack.key)!
    expect(moved.plannedL).toBeGreaterThan(0)
    expect(moved.withinTolerance).toBe(Math.abs(5600 - moved.plannedL!) <= moved.plannedL! * 0.01)
    // 500 g in 6,000 L, 400 L of it gone with the lees: 500 / 6 = 83.3333 mg/L either way; x 0.5763 SO2 = 48.03.
    expect(answer.added).toMatchObject([{ product: 'potassium metabisulphite', perL: 83.3333, unit: 'mg/L' }])
    expect(answer.so2.addedMgPerL).toBeCloseTo((500 / 6) * 0.5763, 2)
    // Topped up by the ledger afterwards: what is still to come is planned for what is there.
    const spill = { kind: 'leave', from: to, to: 'loss', cause: 'spill', volumeL: 600, reason: 'hose came off' }
    expect((await call('POST', '/api/ledger/movements', spill)).status).toBe(201)
    expect((await keyOf('inoculate')).volumeL).toBe(5000)
    const broken = await call<ProblemBody>('POST', `/api/tasks/${rack.key}/undo`, {})
    expect([broken.status, broken.body.type]).toEqual([409, 'would-not-stand'])
    const spilt = (await get<VesselLedgerWire>(`/api/ledger/vessels/${to}`)).movements.find((m) => m.cause === 'spill')!
    expect((await call('POST', `/api/ledger/movements/${spilt.id}/correct`, { reason: 'was water' })).status).toBe(201)
    expect((await call('POST', `/api/tasks/${rack.key}/undo`, { reason: 'wrong tank' })).status).toBe(200)
    expect(await litresIn(from)).toMatchObject({ volumeL: 6000 })
    expect(await litresIn(to)).toMatchObject({ volumeL: 0 })
    expect((await check()).faults).toEqual([])
  })

  it('refuses to run a vessel over', async () => {
    const rack = await keyOf('rack-juice')
    const over = await call<ProblemBody>('POST', `/api/tasks/${rack.key}/done`, {
      at: '2027-03-23T06:00:00Z',
      vesselsMoved: [{ from: rack.fromVessels[0], to: 'T05', volumeL: 5000 }],
    })
    expect([over.status, over.body.type]).toEqual([422, 'above-the-limit'])
  })
})

describe('the books', () => {
  it('balance over any period, in litres and in gallons, on screen and as a file', async () => {
    const body = {
      kind: 'leave',
      from: (await keyOf('press')).toVessels[0],
      to: 'loss',
      cause: 'spill',
      volumeL: 37.854,
    }
    expect(
      (await call<EnteredWire>('POST', '/api/ledger/movements', { ...body, at: '2027-03-24T00:00:00Z' })).status,
    ).toBe(201)
    const period = 'from=2027-03-20&to=2027-03-31'
    const balance = await get<RegisterWire>(`/api/ledger/registers/balance?${period}`)
    // 6,000 in - 37.854 out = 5,962.146.
    expect(balance).toMatchObject({
      closes: true,
      totals: { openingL: 0, inL: 6000, outL: 37.854, closingL: 5962.146, gapL: 0 },
    })
    const gallons = await get<RegisterWire>(`/api/ledger/registers/balance?${period}&unit=gal`)
    // 37.854 / 3.785411784 = 9.99997 -> 10.000
    expect(gallons.rows.find((r) => r.kind === 'loss: spill')).toMatchObject({ volumeL: 10 })
    const additions = await get<RegisterWire>(`/api/ledger/registers/additions?${period}`)
    // 500 g over 60 hL: 8.333 g/hL.
    expect(additions.rows).toMatchObject([
      {
        product: 'potassium metabisulphite',
        batchNo: 'B7',
        amount: 500,
        treatedL: 6000,
        dose: 8.333,
        doseUnit: 'g/hL',
      },
    ])
    for (const name of ['vessels', 'lots', 'composition', 'stock']) {
      expect((await get<RegisterWire>(`/api/ledger/registers/${name}?${period}`)).rows.length, name).toBeGreaterThan(0)
    }
    const file = await call('GET', `/api/ledger/registers/vessels/csv?${period}`)
    expect(file.headers.get('content-type')).toMatch(/^text\/csv/)
    expect(file.text.split('\r\n')[0]).toContain('Before (L)')
    const losses = await get<LossesWire>('/api/ledger/losses?from=2027-03-01&to=2027-03-31')
    expect(losses).toMatchObject({
      months: ['2027-03'],
      totalL: 37.854,
      causes: [{ cause: 'spill', byMonthL: [37.854] }],
    })
    // 6,000 L of 8.8 t: 681.8 L/t.
    expect((await get<YieldsWire>('/api/ledger/yields')).rows).toMatchObject([
      { tonnes: 8.8, pressedL: 6000, pressedLPerT: 681.8, lots: [{ code: 'L01', pressedLPerT: 681.8 }] },
    ])
  })

  it('a count asks for what it cannot explain, then writes the difference', async () => {
    const vessel = (await keyOf('press')).toVessels[0]!
    const lines = [{ vessel, volumeL: 5800 }]
    const look = await call<CountWire>('POST', '/api/ledger/counts?preview=true', { lines })
    expect(look.body).toMatchObject({
      written: false,
      differenceL: -162.146,
      lines: [{ bookL: 5962.146, needsReason: true }],
    })
    const no = await call<ProblemBody>('POST', '/api/ledger/counts', { lines })
    expect([no.status, no.body.type, no.body.errors?.[0]?.pointer]).toEqual([422, 'not-explained', '#/lines/0/reason'])
    const yes = await call<CountWire>('POST', '/api/ledger/counts', {
      lines: [{ ...lines[0], cause: 'leak', reason: 'door wept' }],
    })
    expect(yes.status, yes.text).toBe(201)
    expect((await litresIn(vessel)).volumeL).toBe(5800)
    // 50 L of 5,800 are 0.86 %: within 1 %, no reason needed.
    expect((await call('POST', '/api/ledger/counts', { lines: [{ vessel, volumeL: 5750 }] })).status).toBe(201)
    expect((await litresIn(vessel)).volumeL).toBe(5750)
  })

  it('opening stock is looked at row by row, then written whole', async () => {
    const bad = 'vessel,lot,volumeL,variety\r\nT11,V26,20000,Chardonnay\r\nT99,V26,5,Chardonnay\r\nT12,NEW,100,\r\n'
    const look = await call<OpeningWire>('POST', '/api/ledger/opening?preview=true', bad)
    expect(look.body.rows.map((r) => [r.row, ...r.errors.map((e) => e.column)])).toEqual([
      [2, 'volumeL'],
      [3, 'vessel'],
      [4, 'variety'],
    ])
    expect((await call<ProblemBody>('POST', '/api/ledger/opening?preview=false', bad)).body.type).toBe(
      'table-not-valid',
    )
    const good =
      'vessel;lot;volumeL;variety;vintage;origin\r\nT11;V26;11800,5;Chardonnay;2026;Ostrel\r\nT12;V26;1000;Chardonnay;2026;Ostrel\r\n'
    const written = await call<OpeningWire>('POST', '/api/ledger/opening?preview=false', good)
    expect(written.status, written.text).toBe(200)
    expect(written.body).toMatchObject({ written: true, totalL: 12800.5 })
    const t11 = await get<VesselLedgerWire>('/api/ledger/vessels/T11')
    expect(t11).toMatchObject({ content: { volumeL: 11800.5, lot: { code: 'V26' } } })
    expect(t11.claims.find((c) => c.attribute === 'vintage')).toMatchObject({ value: '2026', share: 1 })
  })

  it('the check finds a dip off the book, and accepts it once the difference is written down with its reason', async () => {
    const move = { kind: 'move', from: 'T12', to: 'T11', volumeL: 40, measuredBeforeL: 950 }
    expect((await call('POST', '/api/ledger/movements', move)).status).toBe(201)
    // 1,000 L by the book, of which 1 % are 10 L: 50 L off.
    const words = 'T12 was dipped at 950 L where the book has 1,000 L.'
    expect(await check()).toMatchObject({
      ok: false,
      faults: [{ rule: 'dip', vesselCode: 'T12', words }],
      accepted: [],
    })
    const leak = { kind: 'leave', from: 'T12', to: 'loss', cause: 'leak', volumeL: 50, reason: 'valve dripped' }
    const { status, body } = await call<EnteredWire>('POST', '/api/ledger/movements', leak)
    expect(status).toBe(201)
    expect(await check()).toMatchObject({
      ok: true,
      faults: [],
      accepted: [{ words, accepted: { movementId: body.movements[0]?.id, words: '50 L gone: valve dripped' } }],
    })
  })

  it('the check finds nothing wrong, and finds what was changed behind its back', async () => {
    expect((await check()).faults).toEqual([])
    const { sql } = await import('drizzle-orm')
    await made.db.execute(
      sql`update content set volume_ml = volume_ml + 1 where cellar_id = ${made.cellarId} and vessel_id = 'T11'`,
    )
    const found = await check()
    expect(found).toMatchObject({ ok: false, faults: [{ rule: 'stored-state', vesselCode: 'T11' }] })
    await expect(
      made.db.execute(sql`update movement set volume_ml = 1 where cellar_id = ${made.cellarId}`),
    ).rejects.toThrow()
  })
})
