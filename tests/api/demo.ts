/** The invented cellar, whole, on a real database, with its own people signed in. */
import { createApp } from '../../api/app.ts'
import { startSession } from '../../api/auth.ts'
import { createChanges } from '../../api/changes.ts'
import { demoFacts } from '../../api/demo/facts.ts'
import { type Lived, liveThrough } from '../../api/demo/seed.ts'
import { storeFacts } from '../../api/demo/store.ts'
import { replan } from '../../api/replan.ts'
import { Temporal } from '../../api/time.ts'
import type { TaskWire } from '../../api/wire.ts'
import { savePlan } from '../../db/queries/plans.ts'
import type { Db } from '../../db/types.ts'
import { freshId, rolledBack, sharedDb } from '../helpers/db.ts'
import { type Call, caller, ORIGIN } from './make.ts'

export interface Demo {
  readonly app: ReturnType<typeof createApp>
  readonly db: Db
  readonly cellarId: string
  /** Alex is the owner, Sam the winemaker, Kim a hand, Noor the lab. */
  readonly as: (person: string) => Call
  readonly setNow: (at: string) => void
  readonly tasks: () => Promise<readonly TaskWire[]>
  readonly task: (key: string) => Promise<TaskWire>
  /** One story told on this cellar and taken back: whatever it writes is rolled back, and the clock with it. */
  readonly aside: <T>(story: (demo: Demo) => Promise<T>) => Promise<T>
}

const ZONE = 'Pacific/Auckland'

/** `2027-03-22T06:30` on the cellar's clock as a moment. */
export const wall = (text: string): string =>
  Temporal.PlainDateTime.from(text).toZonedDateTime(ZONE).toInstant().toString()

/** A moment as `03-22 06:30` on the cellar's clock. */
export const local = (at: string): string =>
  Temporal.Instant.from(at)
    .toZonedDateTimeISO(ZONE)
    .toPlainDateTime()
    .toString({ smallestUnit: 'minute' })
    .slice(5)
    .replace('T', ' ')

const lives = new Map<string, Lived>()

/** A vintage lived through is the same for every test that begins at the same moment. */
function livedUntil(at: string): Lived {
  const known = lives.get(at) ?? liveThrough(demoFacts(), Temporal.Instant.from(at))
  lives.set(at, known)
  return known
}

/** @param at wall time of the cellar from which the story goes on */
export async function makeDemo(at = '2027-03-22T06:30', given?: Db): Promise<Demo> {
  const db = given ?? (await sharedDb())
  const cellarId = freshId('ostrel')
  const nowAt = Temporal.Instant.from(wall(at))
  const { facts, past, plan } = livedUntil(nowAt.toString())
  // Names and ids are as in the story; only the cellar's own id is another for each test.
  await db.transaction(async (tx) => {
    await storeFacts(tx, { ...facts, cellar: { ...facts.cellar, id: cellarId } }, { demo: true, at: nowAt })
    await savePlan(tx, cellarId, past, nowAt)
    await savePlan(tx, cellarId, plan, nowAt)
  })
  // As the server does when it starts.
  await replan(db, cellarId, nowAt)
  const cookies = new Map<string, string>()
  for (const p of facts.people) {
    const person = { cellarId, id: p.id, name: p.name, role: p.role, language: 'en' }
    cookies.set(p.id, `session=${(await startSession(db, person, 'test', nowAt)).secret}`)
  }
  return demoOn(db, cellarId, cookies, nowAt)
}

function demoOn(db: Db, cellarId: string, cookies: ReadonlyMap<string, string>, fromAt: Temporal.Instant): Demo {
  let nowAt = fromAt
  const app = createApp({ db, now: () => nowAt, changes: createChanges(), baseUrl: ORIGIN, demo: true })
  const as = (person: string) => caller(app, cookies.get(person))
  return {
    app,
    db,
    cellarId,
    as,
    setNow: (text) => {
      nowAt = Temporal.Instant.from(wall(text))
    },
    tasks: async () => (await as('alex')<{ tasks: TaskWire[] }>('GET', '/api/tasks')).body.tasks,
    task: async (key) => (await as('alex')<TaskWire>('GET', `/api/tasks/${key}`)).body,
    aside: (story) => rolledBack(db, (tx) => story(demoOn(tx, cellarId, cookies, nowAt))),
  }
}
