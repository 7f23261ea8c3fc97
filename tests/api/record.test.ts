import { randomUUID } from 'node:crypto'
import { and, eq, sql } from 'drizzle-orm'
import { beforeAll, describe, expect, it } from 'vitest'
import { checkRecord } from '../../api/record/check.ts'
import { lineOf } from '../../api/record/log.ts'
import type { TrialWire } from '../../api/trials/bodies.ts'
import type { LotWire, MachineWire, TaskWire, VesselWire } from '../../api/wire.ts'
import { listEntriesAfter } from '../../db/queries/record.ts'
import { reading, recordEntry } from '../../db/schema.ts'
import { type Call, type Made, makeApp } from './make.ts'

let made: Made
let call: Call

beforeAll(async () => {
  made = await makeApp()
  call = made.as('winemaker')
})

const check = () => checkRecord(made.db, made.cellarId)

describe('the record', () => {
  it('has every fact in the order of writing, with who, when and the operation, and fits together', async () => {
    const { tasks } = (await call<{ tasks: TaskWire[] }>('GET', '/api/tasks?lot=L01')).body
    const key = tasks[0]!.key
    const before = await check()
    const opId = randomUUID()
    await call('POST', `/api/tasks/${key}/note`, {
      opId,
      note: 'smells clean',
      readings: [{ kind: 'temp', value: 14 }],
      additions: [{ product: 'bentonite', amount: 10, unit: 'g', treatedL: 100 }],
    })
    const entries = await listEntriesAfter(made.db, made.cellarId, before.entries, 10)
    const nobody = { people: new Map(), lots: new Map(), vessels: new Map(), tasks: new Map() }
    expect(entries.map((e) => lineOf(e, nobody).words)).toEqual([
      'Note: smells clean',
      'temp 14 °C',
      'bentonite 10 g in 100 L',
    ])
    const fresh = entries.map((e) => [e.kind, e.personId, e.opId, e.taskKey])
    expect(fresh).toEqual([
      ['note', 'winemaker', opId, key],
      ['reading', 'winemaker', opId, key],
      ['addition', 'winemaker', opId, key],
    ])
    expect(await check()).toMatchObject({ entries: before.entries + 3, faults: [] })
  })

  it('has a lot changed, a language chosen, people read in from a table and a trial adopted, each with who did it', async () => {
    const before = await check()
    const { lots } = (await call<{ lots: LotWire[] }>('GET', '/api/lots')).body
    const { id: _i, code: _c, ...lot } = lots[0]!
    const changed = await call('PUT', `/api/lots/${lots[0]!.id}`, {
      name: 'Upper rows',
      variety: lot.variety,
      block: lot.block,
      place: lot.place,
      pickOn: lot.pickOn,
      fruit: lot.fruit,
      version: lot.version,
    })
    expect(changed.status).toBe(200)
    expect((await made.as('hand')('PUT', '/api/me/language', { language: 'it' })).status).toBe(204)
    const people = 'name,role,skills,weekdays,from,to\r\nEve,hand,pump,mon tue,06:00,14:30\r\n'
    expect((await call('POST', '/api/import/people?preview=false', people)).status).toBe(200)
    const span = { fromAt: '2027-03-25T19:00:00Z', toAt: '2027-03-26T06:00:00Z' }
    const changes = [{ kind: 'away', person: 'hand', ...span, reason: 'leave' }]
    const { trial } = (await call<{ trial: TrialWire }>('POST', '/api/trials', { changes })).body
    const adopted = await call('POST', `/api/trials/${trial.id}/adopt`, {
      version: trial.version,
    })
    expect(adopted.status, adopted.text).toBe(200)
    const fresh = await listEntriesAfter(made.db, made.cellarId, before.entries, 10)
    expect(fresh.map((e) => [e.kind, e.personId])).toEqual([
      ['lot', 'winemaker'],
      ['person', 'hand'],
      ['person', 'winemaker'],
      ['person', 'winemaker'],
      ['trial', 'winemaker'],
    ])
    expect([fresh[0]!.subjectId, fresh[1]!.subjectId, fresh[3]!.subjectId, fresh[4]!.subjectId]).toEqual([
      lots[0]!.id,
      'hand',
      'hand',
      trial.id,
    ])
    expect(fresh[2]!.payload).toContain('"name":"Eve"')
    expect((await check()).faults).toEqual([])
  })

  it('has a vessel that got another name, a machine booked out and a tank from a table, with what was before', async () => {
    const before = await check()
    const { vessels } = (await call<{ vessels: VesselWire[] }>('GET', '/api/vessels')).body
    const { id, now: _n, next: _x, ...tank } = vessels.find((v) => v.code === 'T16')!
    const renamed = { ...tank, code: 'T16B', volumeL: tank.volumeL + 100 }
    expect((await call('PUT', `/api/vessels/${id}`, renamed)).status).toBe(200)
    // Saved as it is: nothing was said.
    expect((await call('PUT', `/api/vessels/${id}`, { ...renamed, version: tank.version + 1 })).status).toBe(200)
    const { machines } = (await call<{ machines: MachineWire[] }>('GET', '/api/machines')).body
    const { id: machineId, ...chiller } = machines.find((m) => m.kind === 'chiller')!
    const out = { fromAt: '2027-04-01T00:00:00Z', toAt: '2027-04-01T06:00:00Z', why: 'service' }
    const booked = { ...chiller, bookings: [...chiller.bookings, out] }
    expect((await call('PUT', `/api/machines/${machineId}`, booked)).status).toBe(200)
    const table = 'code,kind,volumeL\r\nT99,tank,3000\r\n'
    const read = await call('POST', '/api/import/vessels?preview=false', table)
    expect(read.status, read.text).toBe(200)
    const fresh = await listEntriesAfter(made.db, made.cellarId, before.entries, 10)
    expect(fresh.map((e) => [e.kind, e.subjectId, e.vesselId, e.personId])).toEqual([
      ['vessel', id, id, 'winemaker'],
      ['machine', machineId, null, 'winemaker'],
      ['vessel', fresh[2]!.subjectId, fresh[2]!.subjectId, 'winemaker'],
    ])
    const names = { people: new Map(), lots: new Map(), vessels: new Map(), tasks: new Map() }
    const words = fresh.map((e) => lineOf(e, names).words)
    expect(words[0]).toBe(
      `Vessel T16B, ${tank.kind}, ${tank.volumeL + 100} L; was called T16; litres ${tank.volumeL + 100}, was ${tank.volumeL}`,
    )
    expect(words[1]).toContain('booked out 2027-04-01T00:00:00Z to 2027-04-01T06:00:00Z (service), was never')
    expect(words[2]).toBe('Vessel T99, tank, 3000 L, new: from a table')
    expect((await check()).faults).toEqual([])
  })

  it('names the entry whose row was changed behind the application’s back', async () => {
    const [row] = await made.db.select().from(reading).where(eq(reading.cellarId, made.cellarId))
    const set = (value: number) =>
      made.db
        .update(reading)
        .set({ value })
        .where(and(eq(reading.cellarId, made.cellarId), eq(reading.id, row!.id)))
    await set(11)
    const { faults } = await check()
    expect(faults.map((f) => [f.rule, f.words])).toEqual([['row', 'value of the reading was 14, is 11']])
    await set(14)
    expect((await check()).faults).toEqual([])
  })

  it('takes no change and no removal of an entry', async () => {
    const mine = eq(recordEntry.cellarId, made.cellarId)
    await expect(made.db.update(recordEntry).set({ payload: '{}' }).where(mine)).rejects.toThrow()
    await expect(made.db.delete(recordEntry).where(mine)).rejects.toThrow()
    expect((await check()).faults).toEqual([])
  })

  it('shows what even the owner of the database did to it', async () => {
    await made.db
      .transaction(async (tx) => {
        await tx.execute(sql`set local role none`)
        await tx.execute(sql`alter table record_entry disable trigger record_entry_stands`)
        const mine = and(eq(recordEntry.cellarId, made.cellarId), eq(recordEntry.entry, 2))
        await tx.update(recordEntry).set({ payload: '{}' }).where(mine)
        const changed = await checkRecord(tx, made.cellarId)
        expect(changed.faults.map((f) => [f.entry, f.rule])).toContainEqual([2, 'payload'])
        await tx.delete(recordEntry).where(mine)
        const removed = await checkRecord(tx, made.cellarId)
        expect(removed.faults[0]).toEqual({ entry: 3, rule: 'chain', words: 'Entry 2 is missing' })
        throw new Error('rolled back')
      })
      .catch((error: unknown) => expect(String(error)).toContain('rolled back'))
  })

  it('keeps its order when several write at once', async () => {
    const readings = (value: number) => ({ readings: [{ lot: 'L01', kind: 'temp', value, opId: randomUUID() }] })
    await Promise.all([12, 13, 14, 15].map((value) => call('POST', '/api/readings', readings(value))))
    expect((await check()).faults).toEqual([])
  })
})
