import { describe, expect, it } from 'vitest'
import { createChanges } from '../../api/changes.ts'
import type { Db } from '../../db/types.ts'
import { appOn, cellarId } from './replica-app.ts'

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
