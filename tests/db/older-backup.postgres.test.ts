import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { sql } from 'drizzle-orm'
import { afterAll, expect, it } from 'vitest'
import { restoreInto, type Target } from '../../api/ops/restore.ts'
import { openSealed } from '../../api/ops/seal.ts'
import { makeBackup, readBack } from '../../api/ops/store.ts'
import { Temporal } from '../../api/time.ts'
import { appliedTags, knownTags } from '../../db/migrate.ts'
import { openDb } from '../../db/open.ts'
import { emptyServerDb, rows } from '../helpers/db.ts'

const nowAt = Temporal.Instant.from('2027-03-21T17:30:00Z')
const folder = mkdtempSync(join(tmpdir(), 'leesway-older-'))
const drops: (() => Promise<void>)[] = []
afterAll(async () => {
  for (const drop of drops) await drop()
  rmSync(folder, { recursive: true, force: true })
})

async function emptyPlace(): Promise<Target> {
  const { url, drop } = await emptyServerDb()
  drops.push(drop)
  return { url }
}

// The text of a backup is the same from both databases; making a folder at an old edition takes half a minute.
it('a backup of an older edition is restored and then brought up to date', async () => {
  const old = await openDb({ ...(await emptyPlace()), migrations: 1 })
  const path = join(folder, 'old.backup')
  try {
    await old.db.execute(sql`
        insert into cellar (id, name, hemisphere, vintage, zone, units, sugar_unit, language, rates, holidays, created_at)
        values ('old', 'Old cellar', 'south', 2027, 'UTC', 'metric', 'Brix', 'en', '{}', '[]', now())`)
    await makeBackup(old, path, undefined, nowAt)
  } finally {
    await old.close()
  }
  expect((await readBack(path, undefined)).head.migrations).toEqual(knownTags().slice(0, 1))
  const target = await emptyPlace()
  await restoreInto(target, await openSealed(path, undefined))
  const now = await openDb(target)
  try {
    const [found] = await rows<{ name: string }>(now.db, sql`select name from cellar`)
    expect(found).toEqual({ name: 'Old cellar' })
    expect(await now.raw('read', appliedTags)).toEqual(knownTags())
  } finally {
    await now.close()
  }
})
