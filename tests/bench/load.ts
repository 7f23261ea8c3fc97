/**
 * What people's screens ask, 50 times a second, of a cellar with 20,000 tasks:
 * `npm run bench:load -- [--seconds 60 | --minutes 15] [--database pglite|postgres|both]`. The server is a process of its own.
 * Tasks are the invented cellar's, copied under other lots and shifted by days, so that a day holds what a big cellar's does.
 */
import { type ChildProcess, fork } from 'node:child_process'
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { parseArgs } from 'node:util'
import { serve } from '@hono/node-server'
import autocannon from 'autocannon'
import { createApp } from '../../api/app.ts'
import { startSession } from '../../api/auth.ts'
import { createChanges } from '../../api/changes.ts'
import { DEMO_CELLAR_ID } from '../../api/demo/facts.ts'
import { seedDemo } from '../../api/demo/seed.ts'
import { replan } from '../../api/replan.ts'
import { Temporal } from '../../api/time.ts'
import { openDb } from '../../db/open.ts'
import { listPeople } from '../../db/queries/people.ts'
import { freePort, startPostgres } from '../helpers/postgres.ts'
import { ask } from '../helpers/process.ts'

const NOW = Temporal.Instant.from('2027-03-22T20:00:00Z')
const COPIES = 13
const RATE = 50
/** One feed may be read 120 times in five minutes; more is taken for a loop. */
const FEEDS = 60
/** Those who lead read the whole cellar's, the others their own. */
const WHOLE_FEEDS = 4

interface Ready {
  readonly cookie: string
  readonly tasks: number
  readonly people: readonly string[]
}

/** The server's side: everything in this process but the load. */
async function serveLoaded(where: { url?: string; dataDir?: string }, port: number): Promise<void> {
  const opened = await openDb(where)
  await seedDemo(opened.db, { nowAt: NOW, ownDates: true })
  await replan(opened.db, DEMO_CELLAR_ID, NOW)
  const tasks = await opened.raw('write', async (raw) => {
    const columns = (
      await raw.ask<{ column_name: string }>(
        `select column_name from information_schema.columns where table_name = 'task' and table_schema = 'public'`,
      )
    ).map((c) => c.column_name)
    const copied = columns
      .map((name) => {
        if (name === 'key') return `replace(key, lot_code || '/', lot_code || '-' || n || '/')`
        if (name === 'lot_code') return `lot_code || '-' || n`
        if (name === 'start_at' || name === 'end_at')
          return `${name} + make_interval(days => (n - ${COPIES / 2}::int) * 2)`
        return name
      })
      .join(', ')
    await raw.ask(
      `insert into task (${columns.join(', ')}) select ${copied} from task, generate_series(1, ${COPIES}) n where lot_id is not null`,
    )
    const [found] = await raw.ask<{ n: number }>('select count(*)::int as n from task')
    return found?.n ?? 0
  })
  const people = await listPeople(opened.db, DEMO_CELLAR_ID)
  const lead = people.find((p) => p.role !== 'viewer')!
  const session = await startSession(opened.db, { cellarId: DEMO_CELLAR_ID, id: lead.id }, 'load', NOW)
  // The clock goes on, or what a feed may be read in five minutes would be used up once for all.
  const begunMs = performance.now()
  const now = () => NOW.add({ milliseconds: Math.round(performance.now() - begunMs) })
  const app = createApp({ db: opened.db, now, changes: createChanges(), demo: true })
  serve({ fetch: app.fetch, hostname: '127.0.0.1', port })
  process.on('message', () => process.send?.({ rss: process.memoryUsage().rss, cpu: process.cpuUsage() }))
  process.send?.({ cookie: `session=${session.secret}`, tasks, people: people.map((p) => p.id) } satisfies Ready)
}

interface Sample {
  readonly atS: number
  readonly rssMiB: number
}

async function measure(kind: 'pglite' | 'postgres', seconds: number, url?: string) {
  const folder = mkdtempSync(join(tmpdir(), 'leesway-load-'))
  const port = await freePort()
  const where = url ? { url } : { dataDir: join(folder, 'cellar') }
  const child = fork(import.meta.filename, ['--serve', JSON.stringify({ where, port })], {
    execArgv: ['--import', 'tsx'],
  })
  try {
    const { cookie, tasks, people } = await heard<Ready>(child)
    const feeds: { path: string; etag: string }[] = []
    for (let i = 0; i < FEEDS; i++) {
      const subject = people[i % people.length]!
      const body = i < WHOLE_FEEDS ? { kind: 'cellar' } : { kind: 'person', subject }
      feeds.push(await feedOf(port, cookie, body))
    }
    const day = '/api/tasks?from=2027-03-22T11:00:00Z&to=2027-03-23T11:00:00Z'
    const month = '/api/season?from=2027-03-08T11:00:00Z&to=2027-04-07T11:00:00Z'
    const count = async (path: string) =>
      ((await (await ask(port, 'GET', path, { cookie })).json()) as { tasks: unknown[] }).tasks.length
    const [dayTasks, monthTasks] = [await count(day), await count(month)]
    const samples: Sample[] = []
    const begunMs = performance.now()
    const watch = setInterval(() => {
      void figures(child).then((f) =>
        samples.push({ atS: (performance.now() - begunMs) / 1000, rssMiB: f.rss / 1024 ** 2 }),
      )
    }, 2_000)
    const before = await figures(child)
    // Side by side, as screens and phones ask: many lists and feeds, now and then a season.
    const rate = (share: number) => Math.round(RATE * share)
    const load = (requests: autocannon.Request[], share: number) =>
      autocannon({
        url: `http://127.0.0.1:${port}`,
        connections: 4,
        overallRate: rate(share),
        duration: seconds,
        requests,
      })
    const [list, season, again] = await Promise.all([
      load([{ path: day, headers: { cookie } }], 0.6),
      load([{ path: month, headers: { cookie } }], 0.02),
      load(
        feeds.map(({ path, etag }) => ({ path, headers: { 'if-none-match': etag } })),
        0.38,
      ),
    ])
    clearInterval(watch)
    const used = await figures(child)
    const row = (what: string, r: autocannon.Result) => ({
      database: kind,
      what,
      'p50 ms': r.latency.p50,
      'p99 ms': r.latency.p99,
      answered: r.requests.total,
      'not 2xx/3xx': r.non2xx - (what.includes('304') ? (r['3xx'] ?? 0) : 0),
      errors: r.errors,
    })
    console.table([
      row(`day list, ${dayTasks} tasks`, list),
      row(`timeline month, ${monthTasks} tasks`, season),
      row('feed 304', again),
    ])
    const cpuS = (used.cpu.user + used.cpu.system - before.cpu.user - before.cpu.system) / 1e6
    console.log(
      `${kind}: ${tasks} tasks, ${seconds} s at ${RATE}/s, server CPU ${((100 * cpuS) / seconds).toFixed(0)} % of a core, ` +
        `memory ${Math.round(samples.at(-1)?.rssMiB ?? 0)} MiB, slope ${slope(samples).toFixed(1)} MiB/h over the second half`,
    )
  } finally {
    child.kill('SIGKILL')
    rmSync(folder, { recursive: true, force: true })
  }
}

const heard = <T>(child: ChildProcess) =>
  new Promise<T>((done, fail) => {
    const ended = (code: number | null) => fail(new Error(`the server ended with ${code}`))
    child.once('exit', ended)
    child.once('message', (message) => {
      child.off('exit', ended)
      done(message as T)
    })
  })

const figures = (child: ChildProcess) => {
  const answer = heard<{ rss: number; cpu: NodeJS.CpuUsage }>(child)
  child.send('figures')
  return answer
}

async function feedOf(port: number, cookie: string, of: object): Promise<{ path: string; etag: string }> {
  const made = await ask(port, 'POST', '/api/feeds', { cookie, body: { ...of, showDoses: false } })
  const said = (await made.json()) as { url?: string; address?: string }
  const path = new URL((said.url ?? said.address)!).pathname
  const read = await ask(port, 'GET', path)
  return { path, etag: read.headers.get('etag')! }
}

/** Least squares over the second half, when caches are warm. MiB an hour. */
function slope(samples: readonly Sample[]): number {
  const late = samples.slice(Math.floor(samples.length / 2))
  const mean = (of: (s: Sample) => number) => late.reduce((sum, s) => sum + of(s), 0) / Math.max(1, late.length)
  const [t, m] = [mean((s) => s.atS), mean((s) => s.rssMiB)]
  const over = late.reduce((sum, s) => sum + (s.atS - t) * (s.rssMiB - m), 0)
  const under = late.reduce((sum, s) => sum + (s.atS - t) ** 2, 0)
  return under === 0 ? 0 : (3600 * over) / under
}

const { values } = parseArgs({
  options: {
    serve: { type: 'string' },
    seconds: { type: 'string' },
    minutes: { type: 'string' },
    database: { type: 'string' },
  },
})
if (values.serve) {
  const { where, port } = JSON.parse(values.serve) as { where: { url?: string; dataDir?: string }; port: number }
  await serveLoaded(where, port)
} else {
  const seconds = values.minutes ? 60 * Number(values.minutes) : Number(values.seconds ?? 60)
  const database = values.database ?? 'both'
  if (database !== 'postgres') await measure('pglite', seconds)
  if (database !== 'pglite') {
    const server = await startPostgres()
    try {
      await measure('postgres', seconds, server.url)
    } finally {
      await server.stop()
    }
  }
}
