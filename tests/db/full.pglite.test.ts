import fs, { mkdtempSync, readlinkSync, rmSync } from 'node:fs'
import { syncBuiltinESMExports } from 'node:module'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { sql } from 'drizzle-orm'
import { afterAll, afterEach, beforeAll, describe, expect, it, vi } from 'vitest'
import { storageProblem } from '../../api/constraints.ts'
import { problemOf } from '../../api/problem.ts'
import { type Opened, openDb } from '../../db/open.ts'
import { makeFolder, rows } from '../helpers/db.ts'

/**
 * A disk that takes nothing more, made by a file system whose writes fail as the kernel's would: Linux alone tells which
 * file a number stands for. The same was done by hand on a small real one.
 */
const folder = mkdtempSync(join(tmpdir(), 'leesway-full-'))
let opened: Opened
beforeAll(async () => {
  await makeFolder(folder)
  opened = await openDb({ dataDir: folder })
  await opened.db.execute(sql`create table written (n int primary key, noise text)`)
}, 60_000)
afterEach(() => vi.restoreAllMocks())
afterAll(async () => {
  await opened.close()
  rmSync(folder, { recursive: true, force: true })
})

/** From now on no file whose path fits takes anything. */
function refuse(path: RegExp, code: 'ENOSPC' | 'EROFS' | 'EIO'): void {
  const failing = (real: (fd: number, ...rest: never[]) => number) =>
    ((fd: number, ...rest: never[]) => {
      if (path.test(readlinkSync(`/proc/self/fd/${fd}`))) throw Object.assign(new Error(code), { code })
      return real(fd, ...rest)
    }) as never
  vi.spyOn(fs, 'writeSync').mockImplementation(failing(fs.writeSync as never))
}

const noise = (n: number) => Array.from({ length: n }, () => Math.random().toString(36).slice(2)).join('')
const write = (n: number) => opened.db.execute(sql`insert into written values (${n}, ${noise(2_000)})`)
const count = async () => (await rows<{ n: number }>(opened.db, sql`select count(*)::int as n from written`))[0]!.n
/** Some log, so that the next file of it has to be made. */
const fill = () => opened.db.execute(sql`select pg_logical_emit_message(true, 'x', repeat('abcdefgh', 100000))`)

describe('a full disk', () => {
  it('refuses what needs a table to grow, answers questions, and takes writes again by itself', async () => {
    let stored = 0
    while (stored < 3) await write(stored++)
    refuse(/\/base\//, 'ENOSPC')
    const refused = await writeUntilRefused(() => write(stored++))
    expect(problemOf(refused)).toEqual(storageProblem('storage-full'))
    expect(await count()).toBe(stored - 1)
    vi.restoreAllMocks()
    await write(stored)
    expect(await count()).toBe(stored)
  })

  it.each(['ENOSPC', 'EROFS', 'EIO'] as const)(
    'that does not take the log either (%s) stops the engine, never the process, and loses nothing told',
    { timeout: 60_000 },
    async (code) => {
      const before = await count()
      await write(10_000 + before)
      refuse(/pg_wal/, code)
      const refused = await writeUntilRefused(fill)
      const why = code === 'ENOSPC' ? 'storage-full' : 'storage-read-only'
      expect(problemOf(refused)).toEqual(storageProblem(why))
      expect(await opened.trouble()).toBe(why)
      await expect(count()).rejects.toMatchObject({ cause: { code } })
      await expect(opened.db.transaction((tx) => tx.execute(sql`select 1`))).rejects.toMatchObject({ code })
      vi.restoreAllMocks()
      await expect.poll(() => count().catch(() => -1), { timeout: 20_000, interval: 100 }).toBe(before + 1)
      expect(await opened.trouble()).toBeUndefined()
      await write(20_000 + before)
      expect(await count()).toBe(before + 2)
    },
  )
})

it('comes back also where the files of the dead engine cannot be closed', { timeout: 60_000 }, async () => {
  const before = await count()
  const isDead = () => vi.mocked(fs.writeSync).mock.results.some((r) => r.type === 'throw')
  refuse(/pg_wal/, 'ENOSPC')
  const close = fs.closeSync
  vi.spyOn(fs, 'closeSync').mockImplementation((fd) => {
    const isOfEngine = readlinkSync(`/proc/self/fd/${fd}`).includes('/pg/')
    close(fd)
    // Only once it is dead: a live one closes files of its own.
    if (isOfEngine && isDead()) throw Object.assign(new Error('EIO'), { code: 'EIO' })
  })
  syncBuiltinESMExports()
  try {
    await writeUntilRefused(fill)
    await new Promise((later) => setTimeout(later, 1_500))
  } finally {
    vi.restoreAllMocks()
    syncBuiltinESMExports()
  }
  await expect.poll(() => count().catch(() => -1), { timeout: 20_000, interval: 100 }).toBe(before)
})

it.each([
  ['ENOSPC', /The disk of .* is full: free 64 MiB/],
  ['EROFS', /The disk of .* cannot be written to/],
] as const)(
  'is not opened on such a disk (%s), says so, and opens again later',
  { timeout: 60_000 },
  async (code, words) => {
    const other = mkdtempSync(join(tmpdir(), 'leesway-full-'))
    await makeFolder(other)
    refuse(new RegExp(other), code)
    syncBuiltinESMExports()
    try {
      await expect(openDb({ dataDir: other })).rejects.toThrow(words)
    } finally {
      vi.restoreAllMocks()
      syncBuiltinESMExports()
    }
    await (await openDb({ dataDir: other })).close()
    rmSync(other, { recursive: true, force: true })
  },
)

async function writeUntilRefused(one: () => Promise<unknown>): Promise<unknown> {
  for (let i = 0; i < 300; i++) {
    try {
      await one()
    } catch (error) {
      return error
    }
  }
  throw new Error('nothing was refused')
}
