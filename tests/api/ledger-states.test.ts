import { sql } from 'drizzle-orm'
import { beforeAll, describe, expect, it } from 'vitest'
import { followVessels } from '../../api/ledger/states.ts'
import type { WorkLogWire } from '../../api/routes/record.ts'
import { Temporal } from '../../api/time.ts'
import type { EnteredWire, TaskWire, VesselWire } from '../../api/wire.ts'
import { listVessels, saveVessel } from '../../db/queries/vessels.ts'
import { KIND } from '../helpers/db.ts'
import { gate } from '../helpers/gate.ts'
import { asked } from './ledger-asked.ts'
import { type Call, type Made, makeApp } from './make.ts'

let made: Made
let call: Call

beforeAll(async () => {
  made = await makeApp({ lots: ['L01'], now: '2027-03-25T20:00:00Z' })
  call = made.as('winemaker')
})

const { get, check, litresIn, keyOf } = asked(() => call)
/** What a phone kept and sends now. */
const phone = async (operation: Readonly<Record<string, unknown>>) => {
  const sent = {
    schema: 1,
    author: 'winemaker',
    cellar: made.cellarId,
    occurredAt: '2027-03-25T19:00:00Z',
    clockOffsetMs: 0,
  }
  const operations = [{ ...sent, ...operation }]
  const answer = await call<{ answers: unknown[] }>('POST', '/api/operations', {
    deviceId: '00000000-0000-4000-8000-000000000001',
    operations,
  })
  expect(answer.status, answer.text).toBe(200)
  return answer.body.answers[0]
}

describe('vessels follow wine and work', () => {
  it('taken back from a phone takes the wine back as well', async () => {
    const press = await keyOf('press')
    const pressed = { at: '2027-03-22T05:00:00Z', vesselsMoved: [{ to: press.toVessels[0], volumeL: 6000 }] }
    expect((await call('POST', `/api/tasks/${press.key}/done`, pressed)).status).toBe(200)
    const rack = await keyOf('rack-juice')
    const [from, to] = [rack.fromVessels[0]!, rack.toVessels[0]!]
    const volumeL = Math.round(rack.volumeL!)
    const done = '00000000-0000-4000-8000-0000000000a1'
    const told = await phone({ opId: done, kind: 'done', taskKey: rack.key, value: { volumeL, vessels: [to] } })
    expect(told).toMatchObject({ state: 'stored' })
    expect((await litresIn(to)).volumeL).toBe(volumeL)
    const undo = {
      opId: '00000000-0000-4000-8000-0000000000a2',
      kind: 'undo',
      taskKey: rack.key,
      value: {},
      base: { told: done },
    }
    expect(await phone(undo)).toMatchObject({ state: 'stored' })
    expect(await litresIn(to)).toMatchObject({ volumeL: 0 })
    expect(await litresIn(from)).toMatchObject({ volumeL: 6000, state: 'full' })
    // A tenth less than planned is more than the 1 % of a tank: kept, and somebody should look.
    const short = {
      opId: '00000000-0000-4000-8000-0000000000a3',
      kind: 'done',
      taskKey: rack.key,
      value: { volumeL: Math.round(volumeL * 0.9), vessels: [to] },
    }
    expect(await phone(short)).toMatchObject({ state: 'check', words: expect.stringMatching(/measured against/) })
    expect((await check()).faults).toEqual([])
  })

  it('a lot gets another name, and the record says from what, and why', async () => {
    const renamed = await call('POST', '/api/ledger/lots/L01/rename', { name: 'Hill crisp', reason: 'label chosen' })
    expect([renamed.status, renamed.body.lot]).toMatchObject([200, { name: 'Hill crisp' }])
    const { lines } = await get<WorkLogWire>('/api/record?from=2027-03-25&to=2027-03-26')
    expect(lines.find((e) => e.kind === 'rename')?.words).toMatch(/ is called Hill crisp: label chosen/)
  })

  it('washing leaves a tank sanitised, emptying dirty, and an undo what it was before', async () => {
    const wash = (await get<{ tasks: TaskWire[] }>('/api/tasks?lot=L01')).tasks.find(
      (t) => t.step === 'clean-tank' && !['done', 'skipped', 'cancelled'].includes(t.state),
    )!
    const tank = 'T15'
    const state = async () => (await litresIn(tank)).state
    const first = await state()
    const washed = { at: '2027-03-25T10:00:00Z', vessels: [tank] }
    expect((await call('POST', `/api/tasks/${wash.key}/done`, washed)).status).toBe(200)
    expect(await state()).toBe('sanitised')
    const fill = { kind: 'receive', lot: 'L01', bought: true, to: tank, volumeL: 100, at: '2027-03-25T11:00:00Z' }
    const filled = await call<EnteredWire>('POST', '/api/ledger/movements', fill)
    expect(filled.status, filled.text).toBe(201)
    expect(await state()).toBe('full')
    const sold = { kind: 'leave', from: tank, to: 'sale', volumeL: 100, at: '2027-03-25T12:00:00Z' }
    const left = await call<EnteredWire>('POST', '/api/ledger/movements', sold)
    expect(left.status, left.text).toBe(201)
    expect(await state()).toBe('dirty')
    for (const one of [left, filled])
      expect(
        (await call('POST', `/api/ledger/movements/${one.body.movements[0]!.id}/correct`, { reason: 'not so' })).status,
      ).toBe(201)
    expect(await state()).toBe('sanitised')
    expect((await call('POST', `/api/tasks/${wash.key}/undo`, {})).status).toBe(200)
    expect(await state()).toBe(first)
  })

  it('a barrel has held one wine more once it is empty, and one less when that is taken back', async () => {
    const barrel = async () =>
      (await get<{ vessels: VesselWire[] }>('/api/vessels')).vessels.find((v) => v.code === 'E8')!
    const before = await barrel()
    const fill = { kind: 'receive', lot: 'L01', bought: true, to: 'E8', volumeL: 200, at: '2027-03-25T11:00:00Z' }
    expect((await call('POST', '/api/ledger/movements', fill)).status).toBe(201)
    expect((await barrel()).fills).toBe(before.fills)
    const sold = { kind: 'leave', from: 'E8', to: 'sale', volumeL: 200, at: '2027-03-25T12:00:00Z' }
    const left = await call<EnteredWire>('POST', '/api/ledger/movements', sold)
    expect(left.status, left.text).toBe(201)
    expect((await barrel()).fills).toBe(before.fills! + 1)
    // Said by hand: counted from there on.
    const now = await barrel()
    const { now: _n, next: _x, id, ...said } = now
    const put = await call('PUT', `/api/vessels/${id}`, { ...said, fills: 9, state: 'out-of-service' })
    expect(put.status, put.text).toBe(200)
    const back = await call('POST', `/api/ledger/movements/${left.body.movements[0]!.id}/correct`, { reason: 'not so' })
    expect(back.status).toBe(201)
    expect(await barrel()).toMatchObject({ fills: 9 })
  })
})

/** Two connections: the embedded database has one, so nothing can come between there. */
const onServer = () => {
  it('what somebody says of a vessel while it follows the wine is not written over', async () => {
    const { db, cellarId } = made
    const at = Temporal.Instant.from('2027-03-25T20:00:00Z')
    const tank = async () => (await listVessels(db, cellarId)).find((v) => v.code === 'T16')!
    const fill = { kind: 'receive', lot: 'L01', bought: true, to: 'T16', volumeL: 100, at: '2027-03-25T11:00:00Z' }
    expect((await call('POST', '/api/ledger/movements', fill)).status).toBe(201)
    const sold = { kind: 'leave', from: 'T16', to: 'sale', volumeL: 100, at: '2027-03-25T12:00:00Z' }
    expect((await call('POST', '/api/ledger/movements', sold)).status).toBe(201)
    const { id, state } = await tank()
    expect(state).toBe('dirty')
    // Something is left to follow: the books say dirty.
    await db.execute(sql`update vessel set state = 'clean' where cellar_id = ${cellarId} and id = ${id}`)
    const { version, ...said } = await tank()
    const written = gate()
    const followed = gate()
    const saying = db.transaction(async (tx) => {
      const by = { personId: 'winemaker', at }
      expect((await saveVessel(tx, cellarId, { ...said, state: 'out-of-service' }, version, by)).ok).toBe(true)
      written.open()
      await followed.opened
    })
    await written.opened
    const following = db.transaction((tx) => followVessels(tx, cellarId, [id]))
    await new Promise((later) => setTimeout(later, 500))
    followed.open()
    await Promise.all([saying, following])
    expect((await tank()).state).toBe('out-of-service')
  })
}
if (KIND === 'postgres') describe('two at one vessel', onServer)
