import { describe, expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { storeFacts } from '../../api/demo/store.ts'
import { addLoginLink, addSession, findSession, removeExpired, useLoginLink } from '../../db/queries/access.ts'
import { addFeed, findFeedState, listFeeds, renewFeed, revokeFeed } from '../../db/queries/feeds.ts'
import { knownOps, listReadings, listTaskFacts, recordReadings, recordTaskFacts } from '../../db/queries/records.ts'
import type { Db } from '../../db/types.ts'
import { withDb } from '../helpers/db.ts'
import { MORNING } from '../helpers/tasks.ts'

const facts = demoFacts()
const cellarId = facts.cellar.id
const KEY = 'L01/rack-juice/1'
const hour = (n: number) => MORNING.add({ hours: n })

const inCellar = <T>(test: (db: Db) => Promise<T>) =>
  withDb(async (db) => {
    await storeFacts(db, facts, { demo: true, at: MORNING })
    return test(db)
  })

/** The constraint a statement ran into. The failed statement is undone alone, so the test goes on. */
async function wall(db: Db, write: (tx: Db) => Promise<unknown>): Promise<string | undefined> {
  const failure = await db
    .transaction((tx) => write(tx))
    .then(
      () => undefined,
      (e: unknown) => e,
    )
  const cause =
    failure instanceof Error ? (failure.cause as { constraint?: string; constraint_name?: string }) : undefined
  return cause?.constraint ?? cause?.constraint_name
}

describe('what people did to tasks', () => {
  it('is stored once, however often the same operation is sent', async () => {
    await inCellar(async (db) => {
      const sent = { id: 'f1', opId: 'op-1', taskKey: KEY, kind: 'done', at: MORNING } as const
      expect(await recordTaskFacts(db, cellarId, [sent], MORNING)).toEqual(['f1'])
      expect(await recordTaskFacts(db, cellarId, [{ ...sent, id: 'f2' }], hour(1))).toEqual([])
      expect((await listTaskFacts(db, cellarId)).map((f) => f.id)).toEqual(['f1'])
      expect(await knownOps(db, cellarId, ['op-1', 'op-2'])).toEqual(new Set(['op-1']))
    })
  })

  it('may carry the same operation id in another cellar', async () => {
    await inCellar(async (db) => {
      await storeFacts(db, { ...facts, cellar: { ...facts.cellar, id: 'other' } }, { demo: false, at: MORNING })
      const sent = { id: 'f1', opId: 'op-1', taskKey: KEY, kind: 'start', at: MORNING } as const
      expect(await recordTaskFacts(db, cellarId, [sent], MORNING)).toEqual(['f1'])
      expect(await recordTaskFacts(db, 'other', [sent], MORNING)).toEqual(['f1'])
    })
  })

  it('comes back in the order it was written, then told', async () => {
    await inCellar(async (db) => {
      const told = (id: string, h: number) => ({ id, taskKey: KEY, kind: 'note', at: hour(h) }) as const
      await recordTaskFacts(db, cellarId, [told('b', 2)], hour(5))
      await recordTaskFacts(db, cellarId, [told('a', 9), told('c', 1)], hour(4))
      expect((await listTaskFacts(db, cellarId, KEY)).map((f) => f.id)).toEqual(['c', 'a', 'b'])
    })
  })

  it('can only be taken back by naming an entry that is there', async () => {
    await inCellar(async (db) => {
      const undo = { id: 'f9', taskKey: KEY, kind: 'undo', at: MORNING } as const
      expect(await wall(db, (tx) => recordTaskFacts(tx, cellarId, [undo], MORNING))).toBe('task_fact_undo')
      const stray = { ...undo, undoesId: 'never' }
      expect(await wall(db, (tx) => recordTaskFacts(tx, cellarId, [stray], MORNING))).toBe('task_fact_undoes_fk')
    })
  })
})

describe('a reading', () => {
  const reading = { id: 'r1', lotId: 'L01', kind: 'density', value: 1060, takenAt: MORNING } as const

  it.each([Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY])('of %d is refused', async (value) => {
    await inCellar(async (db) => {
      expect(await wall(db, (tx) => recordReadings(tx, cellarId, [{ ...reading, value }], MORNING))).toBe(
        'reading_value',
      )
    })
  })

  it('of a lot or vessel the cellar does not have is refused', async () => {
    await inCellar(async (db) => {
      const ofLot = { ...reading, lotId: 'L99' }
      const ofVessel = { ...reading, vesselId: 'T99' }
      expect(await wall(db, (tx) => recordReadings(tx, cellarId, [ofLot], MORNING))).toBe('reading_lot_fk')
      expect(await wall(db, (tx) => recordReadings(tx, cellarId, [ofVessel], MORNING))).toBe('reading_vessel_fk')
    })
  })

  it('is listed by the time it was taken, of one lot or all', async () => {
    await inCellar(async (db) => {
      await recordReadings(
        db,
        cellarId,
        [
          { ...reading, id: 'late', takenAt: hour(2) },
          { ...reading, id: 'early' },
          { ...reading, id: 'other', lotId: 'L02', takenAt: hour(1) },
        ],
        MORNING,
      )
      expect((await listReadings(db, cellarId)).map((r) => r.id)).toEqual(['early', 'other', 'late'])
      expect((await listReadings(db, cellarId, 'L01')).map((r) => r.id)).toEqual(['early', 'late'])
    })
  })
})

describe('a one-time link', () => {
  const link = { tokenHash: 'h', cellarId, personId: 'sam', createdAt: MORNING, expiresAt: hour(24) }

  it('works once', async () => {
    await inCellar(async (db) => {
      await addLoginLink(db, link)
      expect(await useLoginLink(db, 'h', hour(1))).toEqual({ madeBy: null, cellarId, personId: 'sam' })
      expect(await useLoginLink(db, 'h', hour(1))).toBeUndefined()
    })
  })

  it('does not work after its day, and is then cleared away', async () => {
    await inCellar(async (db) => {
      await addLoginLink(db, link)
      expect(await useLoginLink(db, 'h', hour(24))).toBeUndefined()
      await removeExpired(db, hour(25))
      expect(await useLoginLink(db, 'h', hour(1))).toBeUndefined()
    })
  })
})

describe('a session', () => {
  it('says who, with the role of this moment, until it ends', async () => {
    await inCellar(async (db) => {
      const row = {
        tokenHash: 's',
        cellarId,
        personId: 'noor',
        createdAt: MORNING,
        seenAt: MORNING,
        expiresAt: hour(2),
      }
      await addSession(db, { ...row, client: '' })
      expect(await findSession(db, 's', hour(1))).toMatchObject({ personId: 'noor', role: 'lab' })
      expect(await findSession(db, 's', hour(2))).toBeUndefined()
      expect(await findSession(db, 'x', hour(1))).toBeUndefined()
    })
  })
})

describe('a feed', () => {
  it('is found by its address only, and is dead at once when renewed or revoked', async () => {
    await inCellar(async (db) => {
      const feed = { cellarId, id: 'feed-1', kind: 'person', subject: 'sam', name: 'Sam', personId: 'sam' } as const
      await addFeed(db, { ...feed, tokenHash: 'first', language: 'en', alarmMin: {}, createdAt: MORNING })
      expect((await findFeedState(db, 'first'))?.feed.id).toBe('feed-1')
      expect(await renewFeed(db, cellarId, 'feed-1', 'second')).toBe(true)
      expect(await findFeedState(db, 'first')).toBeUndefined()
      expect(await revokeFeed(db, 'other', 'feed-1', hour(1))).toBe(false)
      expect(await revokeFeed(db, cellarId, 'feed-1', hour(1))).toBe(true)
      expect(await findFeedState(db, 'second')).toBeUndefined()
      expect(await listFeeds(db, cellarId)).toEqual([])
    })
  })
})
