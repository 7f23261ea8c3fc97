import type { Changes } from '../../api/changes.ts'
import { demoFacts } from '../../api/demo/facts.ts'
import { quiet } from '../../api/log.ts'
import { fromReplica } from '../../api/ops/replica.ts'
import { exports } from '../../api/routes/export.ts'
import { routes } from '../../api/routes/route.ts'
import { Temporal } from '../../api/time.ts'
import type { Db } from '../../db/types.ts'
import { inCellar } from '../../db/wall.ts'

export const nowAt = Temporal.Instant.from('2027-03-21T18:00:00Z')
export const facts = demoFacts()
export const cellarId = facts.cellar.id

/** Says which database a request was given. */
export function appOn(main: Db, copy: Db, changes: Changes, clock: { ms: number }) {
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
