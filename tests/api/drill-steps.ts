/** What an operator does in a drill, with the real processes and commands, on a cellar of one lot. */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { storeFacts } from '../../api/demo/store.ts'
import { Temporal } from '../../api/time.ts'
import { openDb } from '../../db/open.ts'
import { emptyServerDb, makeFolder } from '../helpers/db.ts'
import { freePort } from '../helpers/postgres.ts'
import { answering, ask, enter, kill, type Running, run, startServer } from '../helpers/process.ts'
import { smallFacts } from './make.ts'

export type Place = Readonly<Record<string, string>>

export function createDrill() {
  const folder = mkdtempSync(join(tmpdir(), 'leesway-drill-'))
  const running: Running[] = []
  const drops: (() => Promise<void>)[] = []

  /** An empty place: a folder, or a database beside one. */
  async function place(name: string, kind: 'pglite' | 'postgres'): Promise<Place> {
    const DATA_DIR = join(folder, name)
    if (kind === 'pglite') return { DATA_DIR }
    const { url, drop } = await emptyServerDb()
    drops.push(drop)
    return { DATA_DIR, DATABASE_URL: url }
  }

  /** The facts of one lot, put where the server will find them. */
  async function fill({ DATA_DIR, DATABASE_URL }: Place): Promise<void> {
    const dataDir = join(DATA_DIR!, 'cellar')
    if (!DATABASE_URL) await makeFolder(dataDir)
    const opened = await openDb(DATABASE_URL ? { url: DATABASE_URL } : { dataDir })
    try {
      const at = Temporal.Instant.from('2026-03-01T00:00:00Z')
      await opened.db.transaction((tx) => storeFacts(tx, smallFacts('drill'), { demo: false, at }))
    } finally {
      await opened.close()
    }
  }

  async function start(env: Place) {
    const port = await freePort()
    const server = startServer(['--port', String(port)], env)
    running.push(server)
    await answering(server)
    return { server, port, cookie: await enter(port, server.said()) }
  }

  async function command(args: readonly string[], env: Place): Promise<string> {
    const done = run(['api/ops/commands.ts', ...args], env)
    running.push(done)
    const status = await done.ended
    if (status !== 0) throw new Error(done.said())
    return done.said()
  }

  return {
    folder,
    place,
    fill,
    start,
    /** A server that is expected to end by itself. */
    tryStart: async (env: Place) => {
      const server = startServer(['--port', String(await freePort())], env)
      running.push(server)
      return { status: await server.ended, said: server.said() }
    },
    command,
    end: async () => {
      await kill(running)
      for (const drop of drops) await drop()
      rmSync(folder, { recursive: true, force: true })
    },
  }
}

export const recordTemp = (port: number, cookie: string, value: number) =>
  ask(port, 'POST', '/api/readings', {
    cookie,
    body: { readings: [{ lot: 'L01', kind: 'temp', value, note: 'drill' }] },
  })

export async function temps(port: number, cookie: string): Promise<readonly number[]> {
  const { readings } = (await (await ask(port, 'GET', '/api/readings?lot=L01', { cookie })).json()) as {
    readings: { kind: string; value: number; note?: string }[]
  }
  return readings.filter((r) => r.kind === 'temp' && r.note === 'drill').map((r) => r.value)
}
