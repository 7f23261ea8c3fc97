import { type ChildProcess, spawn } from 'node:child_process'
import { existsSync, mkdtempSync, readdirSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { sql } from 'drizzle-orm'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { FolderInUse, lockFolder } from '../../db/lock.ts'
import { type Opened, openDb } from '../../db/open.ts'
import { makeFolder, rows } from '../helpers/db.ts'

const folder = mkdtempSync(join(tmpdir(), 'leesway-durable-'))
let opened: Opened
beforeAll(async () => {
  await makeFolder(folder)
  opened = await openDb({ dataDir: folder })
})
afterAll(async () => {
  await opened.close()
  rmSync(folder, { recursive: true, force: true })
})

describe('a folder on disk', () => {
  it('forces every commit to the disk before it is acknowledged', async () => {
    await opened.db.execute(sql`create table written (n int primary key)`)
    for (let n = 0; n < 20; n++) {
      const before = opened.syncs()
      await opened.db.execute(sql`insert into written values (${n})`)
      expect(opened.syncs()).toBeGreaterThan(before)
    }
  })

  it('forces nothing for a question', async () => {
    const before = opened.syncs()
    await opened.db.execute(sql`select count(*) from written`)
    expect(opened.syncs()).toBe(before)
  })

  it('runs with fsync on', async () => {
    expect(await rows(opened.db, sql`show fsync`)).toEqual([{ fsync: 'on' }])
  })

  it('is refused to a second opener, who is told who holds it', async () => {
    const failure = await openDb({ dataDir: folder }).catch((e: unknown) => e)
    expect(failure).toBeInstanceOf(FolderInUse)
    expect((failure as FolderInUse).holder).toBe(String(process.pid))
    expect((failure as FolderInUse).message).toContain(folder)
  })
})

describe('a folder that was closed', () => {
  it('opens again with what was written, and migrates twice without harm', async () => {
    await opened.close()
    opened = await openDb({ dataDir: folder })
    expect(await rows(opened.db, sql`select count(*)::int as n from written`)).toEqual([{ n: 20 }])
  })

  it('is moved aside and made again when its making was cut off', async () => {
    await opened.close()
    rmSync(join(folder, 'pg', 'leesway-whole'))
    opened = await openDb({ dataDir: folder })
    expect(await rows(opened.db, sql`select to_regclass('written')::text as name`)).toEqual([{ name: null }])
    expect(readdirSync(folder).sort()).toEqual(['pg', 'pg.unfinished-1'])
    expect(existsSync(join(folder, 'pg', 'leesway-whole'))).toBe(true)
  })
})

describe('the lock', () => {
  const dir = mkdtempSync(join(tmpdir(), 'leesway-lock-'))
  afterAll(() => rmSync(dir, { recursive: true, force: true }))

  it('names the process that holds it, and is free again when that one is killed', async () => {
    const holder = await startHolder(dir)
    const failure = await lockFolder(dir).catch((e: unknown) => e)
    expect((failure as FolderInUse).holder).toBe(String(holder.pid))
    await killed(holder)
    const unlock = await lockFolder(dir)
    await unlock()
  })

  it('is one lock for two names of one folder', async () => {
    const unlock = await lockFolder(dir)
    await expect(lockFolder(join(dir, '..', dir.split('/').at(-1)!))).rejects.toThrow(FolderInUse)
    await unlock()
  })
})

function startHolder(dir: string): Promise<ChildProcess> {
  const lock = join(import.meta.dirname, '../../db/lock.ts')
  const code = `import { lockFolder } from ${JSON.stringify(lock)}; await lockFolder(${JSON.stringify(dir)}); console.log('held'); setInterval(() => {}, 1000)`
  const child = spawn(process.execPath, ['--import', 'tsx', '--input-type=module', '--eval', code], {
    stdio: ['ignore', 'pipe', 'inherit'],
  })
  return new Promise((done, fail) => {
    child.stdout!.once('data', () => done(child))
    child.once('exit', (status) => fail(new Error(`the holder ended with ${status}`)))
  })
}

const killed = (child: ChildProcess) =>
  new Promise<void>((done) => {
    child.removeAllListeners('exit')
    child.once('exit', () => done())
    child.kill('SIGKILL')
  })
