import { sql } from 'drizzle-orm'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { createApp } from '../../api/app.ts'
import { startSession } from '../../api/auth.ts'
import { createChanges } from '../../api/changes.ts'
import { storeFacts } from '../../api/demo/store.ts'
import { replan } from '../../api/replan.ts'
import { isDue, rollOn } from '../../api/rolling.ts'
import { Temporal } from '../../api/time.ts'
import { openDb } from '../../db/open.ts'
import { findPlanRevision } from '../../db/queries/plans.ts'
import type { Db } from '../../db/types.ts'
import { acrossCellars } from '../../db/wall.ts'
import { clashes, doubleBooked, type StoredPlan } from '../helpers/bookings.ts'
import { KIND, ownDb, type TestDb } from '../helpers/db.ts'
import { type Call, caller, NOW, ORIGIN, smallFacts } from './make.ts'

const never = (id: string, error: unknown) => {
  throw new Error(`${id} was not planned`, { cause: error })
}

const ZONE = 'Pacific/Auckland'
const at = (wall: string) => Temporal.PlainDateTime.from(wall).toZonedDateTime(ZONE).toInstant()

describe('whether the clock asks for a new plan', () => {
  it.each([
    ['an hour has gone by', '2027-03-22T08:00', '2027-03-22T09:00', true],
    ['it is not an hour yet', '2027-03-22T08:00', '2027-03-22T08:59', false],
    ['two in the morning went by', '2027-03-22T01:50', '2027-03-22T02:05', true],
    ['two in the morning is still to come', '2027-03-22T01:30', '2027-03-22T01:55', false],
    ['it was planned after two', '2027-03-22T02:01', '2027-03-22T02:30', false],
    // On 4 April the clock goes back from 03:00 to 02:00: two in the morning is one moment all the same.
    ['the clock went back meanwhile', '2027-04-04T01:50', '2027-04-04T02:10', true],
  ])('%s', (_, planned, now, due) => {
    expect(isDue(at(planned), at(now), ZONE)).toBe(due)
  })
})

/** Two servers on one database, as behind a proxy. The embedded database has one process only: there it is one twice. */
describe('two servers', () => {
  let first: TestDb
  let second: { readonly db: Db; readonly close: () => Promise<void> }
  const cellarId = 'yard'
  const nowAt = Temporal.Instant.from(NOW)
  let calls: readonly Call[]

  beforeAll(async () => {
    first = await ownDb()
    second = first.url ? await openDb({ url: first.url }) : { db: first.db, close: async () => {} }
    await first.db.transaction((tx) => storeFacts(tx, smallFacts(cellarId, ['L03', 'L04']), { demo: false, at: nowAt }))
    await replan(first.db, cellarId, nowAt)
    const person = { cellarId, id: 'winemaker', name: 'w', role: 'winemaker' as const, language: 'en' }
    const { secret } = await startSession(first.db, person, 'test', nowAt)
    calls = [first.db, second.db].map((db) =>
      caller(createApp({ db, now: () => nowAt, changes: createChanges(), baseUrl: ORIGIN }), `session=${secret}`),
    )
  })
  afterAll(async () => {
    await second.close()
    await first.close()
  })

  it('plan a cellar once when the clock asks both at the same moment', async () => {
    for (let hour = 1; hour <= 5; hour++) {
      const laterAt = nowAt.add({ hours: 2 * hour })
      const done = await Promise.all([rollOn(first.db, laterAt, never), rollOn(second.db, laterAt, never)])
      expect(done.flat().filter((c) => c.cellarId === cellarId)).toHaveLength(1)
      expect((await findPlanRevision(first.db, cellarId))?.plannedAt.toString()).toBe(laterAt.toString())
    }
  })

  it('plan the others where one cellar cannot be planned, and say which', async () => {
    // Comes before the good one: cellars are looked at in the order of their ids.
    const brokenId = 'a-broken-one'
    await first.db.transaction((tx) => storeFacts(tx, smallFacts(brokenId, ['L03']), { demo: false, at: nowAt }))
    await acrossCellars(() =>
      first.db.execute(sql`update choice_version set choices = '{}'::jsonb where cellar_id = ${brokenId}`),
    )
    const laterAt = nowAt.add({ hours: 12 })
    const failed: string[] = []
    const done = await rollOn(first.db, laterAt, (id) => failed.push(id))
    expect(failed).toEqual([brokenId])
    expect(done.map((c) => c.cellarId)).toEqual([cellarId])
  })

  it('never promise a person, a press or a tank twice, however they race', async () => {
    const lot = 'L03'
    const clashes: string[] = []
    // RACE_ROUNDS=100 is the long form.
    const rounds = Number(process.env.RACE_ROUNDS ?? (KIND === 'postgres' ? 30 : 10))
    for (let round = 0; round < rounds; round++) {
      const startAt = nowAt.add({ hours: 14 + (round % 7) }).toString()
      const [pin, read] = await Promise.all([
        calls[round % 2]!('POST', `/api/tasks/${lot}/load-press/1/pin`, { startAt }),
        calls[(round + 1) % 2]!('POST', '/api/readings', {
          readings: [{ lot: 'L04', kind: 'brix', value: 21 + (round % 10) / 10 }],
        }),
      ])
      expect([pin.status, read.status]).toEqual([200, 201])
      if (round % 10 === 9) clashes.push(...doubleBooked((await calls[0]!<StoredPlan>('GET', '/api/plan')).body))
    }
    expect(clashes).toEqual([])
  }, 600_000)
})

it('the look for double bookings sees two lots on one press, and a lot beside itself is none', () => {
  const span = (lot: string, from: number, to: number) => ({ key: `${lot}/press/1`, lot, from, to })
  expect(clashes([span('L01', 0, 60), span('L02', 59, 90)])).toEqual(['L01/press/1 L02/press/1'])
  expect(clashes([span('L01', 0, 60), span('L02', 60, 90), span('L01', 30, 60)])).toEqual([])
})
