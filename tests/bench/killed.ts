/**
 * Kills the server in the middle of its work, over and over: `npm run bench:killed -- [--cycles 200] [--seed 1]`.
 * On the embedded database and on a PostgreSQL: a fifth of the kills falls into the start. After every start what was
 * acknowledged must be there; at the end everything is counted. Then a second process tries for a folder in use.
 */
import type { ChildProcess } from 'node:child_process'
import { randomUUID } from 'node:crypto'
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { parseArgs } from 'node:util'
import { openDb } from '../../db/open.ts'
import { chanceOf } from '../helpers/chance.ts'
import { freePort, startPostgres } from '../helpers/postgres.ts'
import { ask, enter, type Running, sessionOf, startServer } from '../helpers/process.ts'

const WRITERS = 3
const BOOT_SHARE = 0.2
/** Longer than any start on a loaded machine. */
const START_MS = 120_000
/** And than any write. */
const WRITE_MS = 20_000

export interface KillReport {
  readonly kind: 'pglite' | 'postgres'
  readonly cycles: number
  readonly killedInStart: number
  readonly acknowledged: number
  readonly lost: number
  readonly doubled: number
  readonly failedStarts: number
  readonly startMs: { readonly p50: number; readonly p99: number }
}

/** @param url a PostgreSQL with an empty database; absent: the embedded one */
export async function killOverAndOver(cycles: number, seed: number, url?: string): Promise<KillReport> {
  const folder = mkdtempSync(join(tmpdir(), 'leesway-killed-'))
  const env = { DATA_DIR: folder, DATABASE_URL: url, LOG_LEVEL: 'error', NIGHTLY_BACKUP: 'false' }
  const chance = chanceOf(seed)
  const acknowledged = new Set<string>()
  const startMs: number[] = []
  let [killedInStart, failedStarts] = [0, 0]
  let cookie = ''
  try {
    for (let cycle = 0; cycle < cycles; cycle++) {
      const port = await freePort()
      const begunMs = performance.now()
      const server = startServer(['--empty', '--port', String(port)], env)
      if (cycle > 0 && chance.maybe(BOOT_SHARE)) {
        killedInStart++
        await wait(chance.share() * (startMs[0] ?? 2_000))
        await killed(server)
        continue
      }
      if (!(await came(server))) {
        failedStarts++
        console.error(`start ${cycle} failed: ${server.said().slice(-400)}`)
        await killed(server)
        continue
      }
      startMs.push(performance.now() - begunMs)
      if (cycle > 0 && cycle % 25 === 0)
        console.error(`${url ? 'postgres' : 'pglite'}: ${cycle} cycles, ${acknowledged.size} acknowledged`)
      cookie ||= await begin(port, server.said())
      let stopped = false
      const before = acknowledged.size
      const writers = Array.from({ length: WRITERS }, async () => {
        while (!stopped) {
          const id = randomUUID()
          const answer = await ask(port, 'POST', '/api/handovers', {
            cookie,
            body: { id, words: `cycle ${cycle}` },
          }).catch(() => undefined)
          if (answer?.ok) acknowledged.add(id)
          else if (answer) throw new Error(`a write was answered with ${answer.status}: ${await answer.text()}`)
          else return
        }
      })
      await wait(50 + chance.share() * 450)
      // On a busy machine nothing may have been stored yet, and a kill would show nothing.
      for (
        const untilMs = performance.now() + WRITE_MS;
        acknowledged.size === before && performance.now() < untilMs;
      ) {
        await wait(5)
      }
      await killed(server)
      stopped = true
      await Promise.all(writers)
    }
    const { lost, doubled } = await count(acknowledged, url ? { url } : { dataDir: join(folder, 'cellar') })
    const sorted = startMs.toSorted((a, b) => a - b)
    const at = (share: number) =>
      Math.round(sorted[Math.min(sorted.length - 1, Math.floor(sorted.length * share))] ?? 0)
    return {
      kind: url ? 'postgres' : 'pglite',
      cycles,
      killedInStart,
      acknowledged: acknowledged.size,
      lost,
      doubled,
      failedStarts,
      startMs: { p50: at(0.5), p99: at(0.99) },
    }
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}

/** A second server on a folder in use, so many times: how often it was refused by the name of the first. */
export async function refusals(times: number): Promise<number> {
  const folder = mkdtempSync(join(tmpdir(), 'leesway-second-'))
  const holder = startServer(['--empty', '--port', String(await freePort())], { DATA_DIR: folder, LOG_LEVEL: 'error' })
  try {
    if (!(await came(holder))) throw new Error(holder.said())
    let refused = 0
    for (let i = 0; i < times; i++) {
      const second = startServer(['--empty', '--port', '0'], { DATA_DIR: folder, LOG_LEVEL: 'error' })
      const status = await second.ended
      if (status === 1 && second.said().includes(`in use by process ${holder.child.pid}`)) refused++
    }
    return refused
  } finally {
    await killed(holder)
    rmSync(folder, { recursive: true, force: true })
  }
}

const wait = (ms: number) => new Promise((done) => setTimeout(done, ms))

async function killed({ child, ended }: { readonly child: ChildProcess; readonly ended: Promise<number | null> }) {
  child.kill('SIGKILL')
  await ended
}

/** Up means: it says so, and its database answers. */
async function came(server: Running): Promise<boolean> {
  const untilMs = performance.now() + START_MS
  let ended = false
  void server.ended.then(() => {
    ended = true
  })
  while (performance.now() < untilMs && !ended) {
    if (/token=/.test(server.said())) return true
    await wait(20)
  }
  return false
}

/** The first start makes a cellar; its session outlives every kill. */
async function begin(port: number, said: string): Promise<string> {
  const cookie = await enter(port, said)
  const answer = await ask(port, 'POST', '/api/cellar', { cookie, body: CELLAR })
  if (answer.status !== 201) throw new Error(await answer.text())
  return sessionOf(answer)
}

const CELLAR = {
  name: 'Killed cellar',
  owner: 'Ida',
  hemisphere: 'south',
  vintage: 2027,
  zone: 'Pacific/Auckland',
}

async function count(acknowledged: ReadonlySet<string>, where: { url: string } | { dataDir: string }) {
  const opened = await openDb(where)
  try {
    return await opened.raw('read', async (raw) => {
      const rows = await raw.ask<{ id: string; n: number }>('select id, count(*)::int as n from handover group by id')
      const held = new Map(rows.map((r) => [r.id, r.n]))
      return {
        lost: [...acknowledged].filter((id) => !held.has(id)).length,
        doubled: rows.filter((r) => r.n > 1).length,
      }
    })
  } finally {
    await opened.close()
  }
}

async function main(): Promise<void> {
  const { values } = parseArgs({ options: { cycles: { type: 'string' }, seed: { type: 'string' } } })
  const [cycles, seed] = [Number(values.cycles ?? 200), Number(values.seed ?? 1)]
  const reports = [await killOverAndOver(cycles, seed)]
  // A run of hours that is stopped has shown this much.
  console.log(JSON.stringify(reports[0]))
  const server = await startPostgres()
  try {
    reports.push(await killOverAndOver(cycles, seed, server.url))
  } finally {
    await server.stop()
  }
  console.table(reports.map(({ startMs, ...rest }) => ({ ...rest, startP50Ms: startMs.p50, startP99Ms: startMs.p99 })))
  console.log(`a second process on the folder was refused ${await refusals(50)} of 50 times`)
  if (reports.some((r) => r.lost + r.doubled + r.failedStarts > 0)) process.exitCode = 1
}

if (process.argv[1] === import.meta.filename) await main()
