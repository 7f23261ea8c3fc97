import { copyFileSync, cpSync, mkdirSync, mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join, relative } from 'node:path'
import { PGlite } from '@electric-sql/pglite'
import { afterAll, describe, expect, it } from 'vitest'
import { DURABLE_START, DurableFs } from '../../db/durable-fs.ts'
import { makeFolder } from '../helpers/db.ts'

const folder = mkdtempSync(join(tmpdir(), 'leesway-powercut-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))

const open = (dir: string, fs = new DurableFs(dir)) => PGlite.create({ fs, startParams: DURABLE_START })

async function count(dir: string): Promise<number> {
  const lite = await open(dir)
  const answer = await lite.query<{ n: number }>('select count(*)::int as n from written')
  await lite.close()
  return answer.rows[0]!.n
}

describe('a power cut', () => {
  // The worst disk there is: it keeps of every file what was last forced onto it, and nothing else.
  it('loses nothing that was acknowledged', async () => {
    const [disk, cut] = [join(folder, 'disk'), join(folder, 'cut')]
    const live = join(folder, 'pg')
    await makeFolder(folder)
    const fs = new DurableFs(live)
    const lite = await open(live, fs)
    await lite.exec('create table written (n int primary key); checkpoint')
    // As after the first start, when the whole new tree is forced to the disk.
    cpSync(live, disk, { recursive: true })
    fs.onSync = (path) => {
      const kept = join(disk, relative(live, path))
      mkdirSync(dirname(kept), { recursive: true })
      copyFileSync(path, kept)
    }
    for (let n = 1; n <= 30; n++) {
      await lite.query('insert into written values ($1)', [n])
      if (n === 17) cpSync(disk, cut, { recursive: true })
    }
    expect(await count(cut)).toBe(17)
    expect(await count(disk)).toBe(30)
    await lite.close()
  }, 120_000)
})
