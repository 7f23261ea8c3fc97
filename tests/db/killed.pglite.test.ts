import { spawn } from 'node:child_process'
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { sql } from 'drizzle-orm'
import { afterAll, describe, expect, it } from 'vitest'
import { openDb } from '../../db/open.ts'
import { makeFolder, rows } from '../helpers/db.ts'

const OPEN = join(import.meta.dirname, '../../db/open.ts')
const folder = mkdtempSync(join(tmpdir(), 'leesway-killed-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))

/** Writes pairs of rows, two a transaction, and says which are stored. Runs until it is killed. */
const WRITER = `
import { sql } from 'drizzle-orm'
import { openDb } from ${JSON.stringify(OPEN)}
const { db } = await openDb({ dataDir: ${JSON.stringify(folder)} })
await db.execute(sql\`create table if not exists pair (n int, half int, primary key (n, half))\`)
const found = await db.execute(sql\`select coalesce(max(n), 0)::int as n from pair\`)
for (let n = found.rows[0].n + 1; ; n++) {
  await db.transaction(async (tx) => {
    await tx.execute(sql\`insert into pair values (\${n}, 1)\`)
    await tx.execute(sql\`insert into pair values (\${n}, 2)\`)
  })
  console.log(n)
}`

/** Lets the writer acknowledge some rows, then kills it in the middle of whatever it does. */
function writeUntilKilled(count: number): Promise<number> {
  const child = spawn(process.execPath, ['--import', 'tsx', '--input-type=module', '--eval', WRITER], {
    stdio: ['ignore', 'pipe', 'inherit'],
  })
  let last = 0
  let heard = 0
  createInterface({ input: child.stdout }).on('line', (line) => {
    last = Number(line)
    if (++heard === count) child.kill('SIGKILL')
  })
  return new Promise((done) => child.once('close', () => done(last)))
}

describe('a process that is killed while it writes', () => {
  it('loses nothing it had acknowledged, leaves no half transaction, and the folder opens again', async () => {
    await makeFolder(folder)
    let written = 0
    for (const count of [7, 41]) {
      written = await writeUntilKilled(count)
      expect(written).toBeGreaterThanOrEqual(count)
      const opened = await openDb({ dataDir: folder })
      const [found] = await rows<{ whole: number; halves: number; top: number }>(
        opened.db,
        sql`select count(*) filter (where half = 1)::int as whole, count(*)::int as halves, max(n)::int as top from pair`,
      )
      // One more than acknowledged may be there: stored, but killed before it could say so.
      expect([written, written + 1]).toContain(found!.top)
      expect(found).toMatchObject({ whole: found!.top, halves: 2 * found!.top })
      await opened.close()
    }
  }, 120_000)
})
