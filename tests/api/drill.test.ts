import { mkdtempSync, readdirSync, rmSync, statSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { emptyServerDb, KIND } from '../helpers/db.ts'
import { freePort } from '../helpers/postgres.ts'
import { answering, ask, enter, kill, type Running, run, startServer } from '../helpers/process.ts'

/**
 * The drills an operator does: a backup beside a server that takes writes, its restoration elsewhere, and the move from
 * the folder to a server database. With the real processes and commands.
 */
const BACKUP_PASSPHRASE = 'forty years of lees'

let folder = ''
const running: Running[] = []
const drops: (() => Promise<void>)[] = []

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'leesway-drill-'))
})
afterAll(async () => {
  await kill(running)
  for (const drop of drops) await drop()
  rmSync(folder, { recursive: true, force: true })
})

const place = async (name: string): Promise<Readonly<Record<string, string>>> => {
  const DATA_DIR = join(folder, name)
  if (KIND !== 'postgres') return { DATA_DIR }
  const { url, drop } = await emptyServerDb()
  drops.push(drop)
  return { DATA_DIR, DATABASE_URL: url }
}

async function started(env: Readonly<Record<string, string>>, args: readonly string[] = []) {
  const port = await freePort()
  const server = startServer([...args, '--port', String(port)], env)
  running.push(server)
  await answering(server)
  return { server, port, cookie: await enter(port, server.said()) }
}

async function command(args: readonly string[], env: Readonly<Record<string, string>>): Promise<string> {
  const done = run(['api/ops/commands.ts', ...args], env)
  running.push(done)
  const status = await done.ended
  if (status !== 0) throw new Error(done.said())
  return done.said()
}

const temps = async (port: number, cookie: string): Promise<readonly number[]> => {
  const { readings } = (await (await ask(port, 'GET', '/api/readings?lot=L01', { cookie })).json()) as {
    readings: { kind: string; value: number; note?: string }[]
  }
  return readings.filter((r) => r.kind === 'temp' && r.note === 'drill').map((r) => r.value)
}

describe('a restore drill', () => {
  it('brings back what was acknowledged before a backup made under writes, and lets no old session in', {
    timeout: 400_000,
  }, async () => {
    const from = await place('from')
    const source = await started(from)
    const record = async (value: number) => {
      const body = { readings: [{ lot: 'L01', kind: 'temp', value, note: 'drill' }] }
      const answer = await ask(source.port, 'POST', '/api/readings', { cookie: source.cookie, body })
      expect(answer.status, await answer.text()).toBe(201)
    }
    for (const value of [10, 10.5, 11]) await record(value)
    const file = join(folder, 'drill.backup.age')
    let writing = true
    const writer = (async () => {
      for (let value = 12; writing; value += 0.1) await record(Math.round(value * 10) / 10)
    })()
    const said = await command(['backup', '--to', file], { ...from, BACKUP_PASSPHRASE })
    writing = false
    await writer
    expect(said).toMatch(/Backup made and read back: .*\n\d+ bytes, \d+ rows/)
    expect(statSync(file).mode & 0o777).toBe(0o600)
    await expect(command(['backup', '--to', file], { ...from, BACKUP_PASSPHRASE })).rejects.toThrow('written over')
    await expect(command(['restore', file], { ...from, BACKUP_PASSPHRASE: 'fifty years of lees' })).rejects.toThrow(
      'does not open',
    )
    await expect(command(['restore', file], { ...from, BACKUP_PASSPHRASE })).rejects.toThrow(
      KIND === 'postgres' ? 'not empty' : 'holds a cellar',
    )
    source.server.child.kill('SIGKILL')
    await source.server.ended

    const to = await place('to')
    expect(await command(['restore', file], { ...to, BACKUP_PASSPHRASE })).toMatch(/Restored .* \d+ rows/)
    const restored = await started(to)
    const found = await temps(restored.port, restored.cookie)
    expect(found.slice(0, 3)).toEqual([10, 10.5, 11])
    // Whatever else came along was written in order, without a gap.
    expect(found.slice(3)).toEqual(found.slice(3).map((_, i) => Math.round((12 + i * 0.1) * 10) / 10))
    expect((await ask(restored.port, 'GET', '/api/plan', { cookie: source.cookie })).status).toBe(401)
  })
})

describe.runIf(KIND === 'postgres')('a move from the folder to a server database', () => {
  it('counts every row, refuses a folder in use, and closes the folder behind it', { timeout: 400_000 }, async () => {
    const DATA_DIR = join(folder, 'moving')
    const before = await started({ DATA_DIR })
    const body = { readings: [{ lot: 'L01', kind: 'temp', value: 14.5, note: 'drill' }] }
    expect((await ask(before.port, 'POST', '/api/readings', { cookie: before.cookie, body })).status).toBe(201)
    const { url, drop } = await emptyServerDb()
    drops.push(drop)
    await expect(command(['move', '--to', url], { DATA_DIR })).rejects.toThrow(
      `in use by process ${before.server.child.pid}`,
    )
    before.server.child.kill('SIGTERM')
    expect(await before.server.ended).toBe(0)
    expect(await command(['move', '--to', url], { DATA_DIR })).toMatch(/12 {2}lot\n[\s\S]*Moved \d+ rows/)
    await expect(command(['move', '--to', url], { DATA_DIR })).rejects.toThrow('was moved')
    const again = startServer(['--port', String(await freePort())], { DATA_DIR })
    running.push(again)
    expect(await again.ended).toBe(1)
    expect(again.said()).toContain('was moved to a server database')
    const after = await started({ DATA_DIR: join(folder, 'unused'), DATABASE_URL: url })
    expect(await temps(after.port, after.cookie)).toEqual([14.5])
    expect(readdirSync(folder)).not.toContain('unused')
  })
})
