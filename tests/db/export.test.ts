import { getTableName, is } from 'drizzle-orm'
import { PgTable } from 'drizzle-orm/pg-core'
import { describe, expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { storeFacts } from '../../api/demo/store.ts'
import { addLoginLink, addSession } from '../../db/queries/access.ts'
import { savePasswordHash } from '../../db/queries/accounts.ts'
import { EXPORT_NAMES, exportAll } from '../../db/queries/export.ts'
import { addFeed } from '../../db/queries/feeds.ts'
import { savePlan } from '../../db/queries/plans.ts'
import { recordReadings } from '../../db/queries/records.ts'
import * as schema from '../../db/schema.ts'
import type { Db } from '../../db/types.ts'
import { withDb } from '../helpers/db.ts'
import { MORNING, makePlan, makeTask } from '../helpers/tasks.ts'

const facts = demoFacts()
const cellarId = facts.cellar.id
const SECRET = 'never-to-be-seen'
/** What is left out on purpose: it would let somebody in. */
const SECRET_TABLES = ['account', 'challenge', 'feed', 'login_link', 'passkey', 'recovery_code', 'session']

async function fill(db: Db): Promise<void> {
  await storeFacts(db, facts, { demo: true, at: MORNING })
  const later = MORNING.add({ hours: 1 })
  const who = { cellarId, personId: 'sam', createdAt: MORNING, expiresAt: later }
  await addSession(db, { ...who, tokenHash: `${SECRET}-session`, seenAt: MORNING, client: SECRET })
  await addLoginLink(db, { ...who, tokenHash: `${SECRET}-link` })
  await savePasswordHash(db, cellarId, 'sam', SECRET, MORNING)
  const feed = {
    cellarId,
    id: 'f',
    kind: 'cellar',
    subject: '',
    name: SECRET,
    personId: 'sam',
    language: 'en',
  } as const
  await addFeed(db, { ...feed, tokenHash: `${SECRET}-feed`, alarmMin: {}, createdAt: MORNING })
  const reading = { id: 'r1', lotId: 'L01', kind: 'brix', value: 21.6, takenAt: MORNING } as const
  await recordReadings(db, cellarId, [reading], MORNING)
  await savePlan(db, cellarId, makePlan([makeTask('L01/rack-juice/1')]), MORNING)
}

describe('an export', () => {
  it('holds every row of the cellar, and none of another', async () => {
    await withDb(async (db) => {
      await fill(db)
      const other = { ...facts, cellar: { ...facts.cellar, id: 'other', name: 'Elsewhere' } }
      await storeFacts(db, other, { demo: false, at: MORNING })
      const all = await exportAll(db, cellarId)
      expect(Object.fromEntries(EXPORT_NAMES.map((name) => [name, all[name].length]))).toEqual({
        cellar: 1,
        people: 6,
        vessels: 80,
        machines: facts.machines.length,
        protocols: 0,
        lots: 12,
        choiceVersions: 12,
        readings: 1,
        additions: 0,
        receipts: 0,
        movements: 0,
        levels: 0,
        contents: 0,
        quarantines: 0,
        stockCounts: 0,
        ledgerChecks: 0,
        taskFacts: 0,
        troubles: 0,
        troubleAnswers: 0,
        handovers: 0,
        handoverReads: 0,
        photos: 0,
        operations: 0,
        // The answers of twelve lots, and the reading.
        // The cellar and its lots; each vessel and each machine that was put in.
        recordEntries: 13 + 80 + facts.machines.length,
        tasks: 1,
        phases: 0,
        plan: 1,
        trials: 0,
        proposals: 0,
      })
      expect(JSON.stringify(all)).not.toContain('Elsewhere')
    })
  })

  it('writes moments and days as ISO text', async () => {
    await withDb(async (db) => {
      await fill(db)
      const all = await exportAll(db, cellarId)
      expect(all.readings[0]).toMatchObject({ id: 'r1', takenAt: '2027-03-21T19:00:00Z', note: null })
      expect(all.lots[0]).toMatchObject({ code: 'L01', pickOn: '2027-03-11' })
      expect(JSON.parse(JSON.stringify(all))).toEqual(all)
    })
  })

  it('lets no secret out', async () => {
    await withDb(async (db) => {
      await fill(db)
      expect(JSON.stringify(await exportAll(db, cellarId))).not.toContain(SECRET)
    })
  })

  it('forgets no table', () => {
    const tables = Object.values(schema).filter((t) => is(t, PgTable))
    expect(tables.length).toBe(EXPORT_NAMES.length + SECRET_TABLES.length)
    expect(tables.map((t) => getTableName(t))).toEqual(expect.arrayContaining(SECRET_TABLES))
  })
})
