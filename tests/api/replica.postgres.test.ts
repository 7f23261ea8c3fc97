import { describe, expect, it } from 'vitest'
import { createChanges } from '../../api/changes.ts'
import { storeFacts } from '../../api/demo/store.ts'
import { openReplica } from '../../db/open.ts'
import { inCellar } from '../../db/wall.ts'
import { ownDb } from '../helpers/db.ts'
import { appOn, cellarId, facts, nowAt } from './replica-app.ts'

describe('a copy that can only be read', () => {
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
