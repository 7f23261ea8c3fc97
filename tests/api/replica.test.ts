import { describe, expect, it } from 'vitest'
import { type Changes, createChanges } from '../../api/changes.ts'
import { demoFacts } from '../../api/demo/facts.ts'
import { storeFacts } from '../../api/demo/store.ts'
import { quiet } from '../../api/log.ts'
import { fromReplica } from '../../api/ops/replica.ts'
import { exports } from '../../api/routes/export.ts'
import { routes } from '../../api/routes/route.ts'
import { Temporal } from '../../api/time.ts'
import { openReplica } from '../../db/open.ts'
import type { Db } from '../../db/types.ts'
import { inCellar } from '../../db/wall.ts'
import { KIND, ownDb } from '../helpers/db.ts'

const nowAt = Temporal.Instant.from('2027-03-21T18:00:00Z')
const facts = demoFacts()
const cellarId = facts.cellar.id

/** Says which database a request was given. */
function appOn(main: Db, copy: Db, changes: Changes, clock: { ms: number }) {
  const app = routes()
  app.use(async (c, next) => {
    c.set('db', main)
    c.set('log', quiet)
    c.set('now', () => nowAt)
    c.set('who', { cellarId } as never)
    await inCellar(cellarId, next)
  })
  app.use(fromReplica(copy, changes, () => clock.ms))
  app.get('/api/record', (c) => c.text(c.var.db === copy ? 'copy' : 'main'))
  app.get('/api/tasks', (c) => c.text(c.var.db === copy ? 'copy' : 'main'))
  app.post('/api/readings', (c) => c.text(c.var.db === copy ? 'copy' : 'main'))
  return app.route('/', exports)
}

const answering = { execute: async () => [] } as unknown as Db
const gone = { execute: () => Promise.reject(new Error('gone')) } as unknown as Db

describe('reading from a copy of the database', () => {
  const ask = async (app: ReturnType<typeof appOn>, path: string, method = 'GET') =>
    (await app.request(path, { method })).text()

  it('is for bulk only, and never before a change has had time to arrive', async () => {
    const clock = { ms: 1_000_000 }
    const changes = createChanges()
    const main = {} as Db
    const app = appOn(main, answering, changes, clock)
    expect(await ask(app, '/api/record'), 'nothing is known of this cellar yet').toBe('main')
    clock.ms += 31_000
    expect(await ask(app, '/api/record')).toBe('copy')
    expect(await ask(app, '/api/tasks')).toBe('main')
    expect(await ask(app, '/api/readings', 'POST')).toBe('main')
    expect(await ask(app, '/api/record')).toBe('main')
    clock.ms += 31_000
    expect(await ask(app, '/api/record')).toBe('copy')
    // Written through another server: it tells.
    changes.publish({ cellarId, revision: 2, id: 'elsewhere' })
    expect(await ask(app, '/api/record')).toBe('main')
  })

  it('goes on from the main database while the copy is gone', async () => {
    const clock = { ms: 1_000_000 }
    const app = appOn({} as Db, gone, createChanges(), clock)
    await ask(app, '/api/record')
    clock.ms += 31_000
    expect(await ask(app, '/api/record')).toBe('main')
  })
})

describe.runIf(KIND === 'postgres')('a copy that can only be read', () => {
  it('answers an export whole, behind the wall of its cellar', async () => {
    const own = await ownDb()
    const readOnly = new URL(own.url!)
    readOnly.searchParams.set('default_transaction_read_only', 'on')
    const copy = openReplica(readOnly.toString(), 'leesway_app')
    try {
      await own.db.transaction((tx) => storeFacts(tx, facts, { demo: true, at: nowAt }))
      const clock = { ms: 1_000_000 }
      const app = appOn(undefined as never, copy.db, createChanges(), clock)
      await app.request('/api/record')
      clock.ms += 31_000
      const answer = await app.request('/api/export.json')
      const body = (await answer.json()) as { lots: unknown[] }
      expect([answer.status, body.lots.length]).toEqual([200, facts.lots.length])
      await expect(inCellar(cellarId, () => copy.db.execute('delete from reading'))).rejects.toThrow()
    } finally {
      await copy.close()
      await own.close()
    }
  })
})
