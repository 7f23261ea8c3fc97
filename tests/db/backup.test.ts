import { mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { sql } from 'drizzle-orm'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { DEMO_CELLAR_ID, demoFacts } from '../../api/demo/facts.ts'
import { seedDemo } from '../../api/demo/seed.ts'
import { NotEmpty, restoreInto, type Target } from '../../api/ops/restore.ts'
import { openSealed } from '../../api/ops/seal.ts'
import { makeBackup, readBack } from '../../api/ops/store.ts'
import { Temporal } from '../../api/time.ts'
import { BadBackup } from '../../db/backup/format.ts'
import { withSnapshot } from '../../db/backup/snapshot.ts'
import { knownTags } from '../../db/migrate.ts'
import { type Opened, openDb } from '../../db/open.ts'
import { exportAll } from '../../db/queries/export.ts'
import { emptyServerDb, KIND, makeFolder, rows } from '../helpers/db.ts'

const nowAt = Temporal.Instant.from('2027-03-21T17:30:00Z')
const PASSPHRASE = 'nineteen quiet barrels'
/** The format's own 18 takes a second each time; the format is the same. */
const WORK = 10

const folder = mkdtempSync(join(tmpdir(), 'leesway-backup-'))
const drops: (() => Promise<void>)[] = []

/** Text that has broken copies before: the format's own signs, line ends, quotes, other scripts. */
const AWKWARD = 'tab\tback\\slash \\N \\. line\nend "quoted" \'so\' 0.1+0.2 Ä 桶 🍷'

let n = 0
async function emptyPlace(): Promise<Target> {
  if (KIND === 'pglite') return { dataDir: join(folder, `place-${++n}`) }
  const { url, drop } = await emptyServerDb()
  drops.push(drop)
  return { url }
}

async function place(): Promise<Target> {
  const target = await emptyPlace()
  if ('dataDir' in target) await makeFolder(target.dataDir)
  return target
}

let source: Opened
beforeAll(async () => {
  source = await openDb(await place())
  await seedDemo(source.db, { nowAt })
  await source.db.execute(sql`update lot set name = ${AWKWARD} where code = 'L01'`)
  await source.db.execute(sql`
    insert into session (token_hash, cellar_id, person_id, created_at, seen_at, expires_at, client)
    select 'digest', cellar_id, id, now(), now(), now() + interval '1 day', 'test' from person limit 1`)
}, 120_000)
afterAll(async () => {
  await source.close()
  for (const drop of drops) await drop()
  rmSync(folder, { recursive: true, force: true })
})

const made = async (name: string, passphrase: string | undefined = PASSPHRASE) => {
  const path = join(folder, name)
  await makeBackup(source, path, passphrase, nowAt, WORK)
  return path
}

/** All copied rows as text, table by table: the head and foot name the moment and the kind. */
async function everything(opened: Opened): Promise<string> {
  const parts: Uint8Array[] = []
  await withSnapshot(opened, nowAt.toString(), async (stream) => {
    for await (const part of stream) parts.push(part)
  })
  return Buffer.concat(parts).toString('utf8').split('\n').slice(1, -2).join('\n')
}

describe('a backup', () => {
  it('brings every row back as it was, under the passphrase only', async () => {
    const path = await made('whole.backup.age')
    expect(statSync(path).mode & 0o777).toBe(0o600)
    expect(readFileSync(path).subarray(0, 21).toString()).toBe('age-encryption.org/v1')
    const target = await emptyPlace()
    await restoreInto(target, await openSealed(path, PASSPHRASE))
    const restored = await openDb(target)
    try {
      const [before, after] = [await exportAll(source.db, DEMO_CELLAR_ID), await exportAll(restored.db, DEMO_CELLAR_ID)]
      expect(after.lots).toHaveLength(demoFacts().lots.length)
      expect(after).toEqual(before)
      expect(after.lots.find((l) => l.code === 'L01')!.name).toBe(AWKWARD)
      expect(await everything(restored)).toBe(await everything(source))
      // Nobody is signed in by a restored database.
      expect(await rows(source.db, sql`select count(*)::int as n from session`)).toEqual([{ n: 1 }])
      expect(await rows(restored.db, sql`select count(*)::int as n from session`)).toEqual([{ n: 0 }])
    } finally {
      await restored.close()
    }
    await expect(openSealed(path, 'eighteen quiet barrels')).rejects.toThrow(BadBackup)
    await expect(openSealed(path, undefined)).rejects.toThrow('BACKUP_PASSPHRASE')
  })

  it('is refused where it was cut, changed, or is something else', async () => {
    const sealed = await made('sealed.backup.age')
    const plain = await made('plain.backup', undefined)
    for (const path of [sealed, plain]) {
      const bytes = readFileSync(path)
      const variants = [bytes.subarray(0, bytes.length - 40), bytes.subarray(0, Math.floor(bytes.length / 2))]
      for (const at of [Math.floor(bytes.length / 2), bytes.length - 9]) {
        const flipped = Buffer.from(bytes)
        flipped[at] = flipped[at]! ^ 1
        variants.push(flipped)
      }
      for (const variant of variants) {
        const bad = join(folder, 'bad')
        writeFileSync(bad, variant)
        await expect(readBack(bad, PASSPHRASE)).rejects.toThrow(BadBackup)
      }
    }
    writeFileSync(join(folder, 'bad'), 'lot,variety\n')
    await expect(readBack(join(folder, 'bad'), PASSPHRASE)).rejects.toThrow('not a backup')
  })

  it('never writes over records, and a failed one leaves the place as it was', async () => {
    const path = await made('again.backup.age')
    const target = await place()
    const held = await openDb(target)
    await seedDemo(held.db, { nowAt })
    const before = await everything(held)
    await held.close()
    await expect(restoreInto(target, await openSealed(path, PASSPHRASE))).rejects.toThrow(NotEmpty)
    // Fails at its very end, when every table has been filled.
    const fails = restoreInto(target, await openSealed(path, PASSPHRASE), {
      aside: true,
      after: async () => {
        throw new Error('not proven')
      },
    })
    await expect(fails).rejects.toThrow('dataDir' in target ? 'not proven' : 'not empty')
    const still = await openDb(target)
    expect(await everything(still)).toBe(before)
    await still.close()
  })

  it('of a newer edition is refused before anything is touched', async () => {
    const text = JSON.stringify({ format: 'leesway-backup', version: 1, migrations: [...knownTags(), '9999_later'] })
    async function* newer() {
      yield Buffer.from(`${text}\n`)
    }
    await expect(restoreInto(await emptyPlace(), newer())).rejects.toThrow('Update first')
  })
})
