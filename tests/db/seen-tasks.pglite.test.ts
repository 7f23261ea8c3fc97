import { PGlite } from '@electric-sql/pglite'
import { drizzle } from 'drizzle-orm/pglite'
import { expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { migrateLite } from '../../db/migrate.ts'
import { addCellar } from '../../db/queries/cellars.ts'
import { saveTasks } from '../../db/queries/save-tasks.ts'
import { listSeenTasks } from '../../db/queries/seen-tasks.ts'
import * as schema from '../../db/schema.ts'
import { MORNING, makeTask } from '../helpers/tasks.ts'

it('reads anew where the database was put back to an earlier day while the app goes on', async () => {
  let engine = await PGlite.create()
  const client = new Proxy(engine, {
    get: (_, name) => {
      const value: unknown = Reflect.get(engine, name, engine)
      return typeof value === 'function' ? value.bind(engine) : value
    },
  })
  const db = drizzle(client, { schema })
  await migrateLite(db)
  const { cellar } = demoFacts()
  // As another server of the app writes it.
  const rewrite = (why: string) =>
    engine.query(`update task set rest = jsonb_set(rest, '{why}', to_jsonb($1::text))`, [why])
  const whys = async () => (await listSeenTasks(db, cellar.id)).map((t) => t.rest.why)
  await addCellar(db, cellar, { demo: false, at: MORNING })
  await saveTasks(db, cellar.id, [makeTask('house/rack-juice/1', {})], MORNING)
  const backup = await engine.dumpDataDir('none')
  await rewrite('before')
  expect(await whys()).toEqual(['before'])
  await engine.close()
  // The same number of a transaction is given out again, and the row is written in the same place.
  engine = await PGlite.create({ loadDataDir: backup })
  await rewrite('after')
  expect(await whys()).toEqual(['after'])
  await engine.close()
})
