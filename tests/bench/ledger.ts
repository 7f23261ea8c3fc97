/**
 * Ten years of a cellar of 200 tanks and 2,200 barrels, each of which loses wine and is topped once a week: two million
 * movements. With --embedded the database in process and 210 barrels: 200,000.
 *
 *   npm run bench:ledger -- [--years 10] [--barrels 2200] [--embedded] [--url postgres://...] [--folder ...] [--times 40] [--check] [--json]
 *
 * Fills an empty database by COPY, then asks the questions people ask, 40 times each, and writes what they write in a
 * transaction that is undone: median, 95th of 100 and slowest, ms. --check runs the nightly check on it, which must find
 * nothing, then plants one fault of each kind a database can hold and runs it again. A database given by --url, or an
 * embedded one by --folder, is kept, and asked as it is where it was filled before.
 */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { sql } from 'drizzle-orm'
import { stockAt, vesselLedger } from '../../api/ledger/answers.ts'
import { checkLedger } from '../../api/ledger/check.ts'
import { type Draft, reversalOf } from '../../api/ledger/draft.ts'
import { tried } from '../../api/ledger/entry.ts'
import { lookAt } from '../../api/ledger/look.ts'
import { post } from '../../api/ledger/post.ts'
import { registerOf } from '../../api/ledger/registers.ts'
import { bookTick } from '../../api/ledger/tick.ts'
import { traceBack, traceForward } from '../../api/ledger/tracing.ts'
import { Temporal } from '../../api/time.ts'
import { openDb } from '../../db/open.ts'
import { ask } from '../../db/queries/ask.ts'
import { listMovements } from '../../db/queries/movements.ts'
import type { Db } from '../../db/types.ts'
import { startPostgres } from '../helpers/postgres.ts'
import { CELLAR, fillYears, lotOf, START } from './ledger-years.ts'

const args = process.argv.slice(2)
const embedded = args.includes('--embedded')
const word = (name: string) => (args.includes(`--${name}`) ? args[args.indexOf(`--${name}`) + 1] : undefined)
const years = Number(word('years') ?? 10)
const barrels = Number(word('barrels') ?? (embedded ? 210 : 2_200))
const TIMES = Number(word('times') ?? 40)

const kept = word('folder')
const dataDir = kept ?? mkdtempSync(join(tmpdir(), 'ledger-bench-'))
const server = embedded || word('url') ? undefined : await startPostgres()
const url = word('url') ?? server?.url
const opened = await openDb(url ? { url } : { dataDir })
const { db } = opened

const fillStart = performance.now()
const [known] = await ask<{ n: number }>(db, sql`select count(*)::int as n from movement`)
if (known?.n === 0) await fillYears(opened, { years, barrels })
const filledS = Math.round((performance.now() - fillStart) / 1000)
const [stored] = await ask<{ n: number }>(db, sql`select count(*)::int as n from movement`)

const end = START.add({ hours: years * 365 * 24 })
const middle = START.add({ hours: Math.floor((years - 0.5) * 365) * 24 })
const month = end.toZonedDateTimeISO('UTC').toPlainDate().subtract({ months: 2 }).with({ day: 1 })
const look = () => lookAt(db, CELLAR)
const by = (i: number) => ({ opId: `bench${i}`, writtenAt: end })
let writes = 0

/** Writes and takes it back with its transaction. */
const undone = (work: (tx: Db, i: number) => Promise<unknown>) => tried(db, true, (tx) => work(tx, ++writes))

async function posted(tx: Db, i: number, drafts: readonly Draft[]): Promise<void> {
  const done = await post(tx, CELLAR, drafts, by(i))
  if (!done.ok) throw new Error(`refused: ${JSON.stringify(done.why)}`)
}

/** The topping of a barrel so many weeks before the year's last. */
async function topping(vesselId: string, weeksAgo: number) {
  const at = START.add({ hours: ((years - 1) * 365 + 39 + 7 * (45 - weeksAgo)) * 24 })
  const rows = await listMovements(db, CELLAR, { vesselId, fromAt: at, toAt: at.add({ hours: 1 }) })
  const row = rows.find((r) => r.cause === 'top')
  if (!row) throw new Error(`${vesselId} was not topped on ${at}`)
  return row
}

const top = (at: Temporal.Instant): Draft => ({
  at,
  from: { vesselId: 'K', lotId: `y${years - 1}l0` },
  to: { vesselId: 'A77', lotId: `y${years - 1}l154` },
  volumeMl: 200,
  cause: 'top',
  people: ['alex'],
})

const period = { fromOn: month, toOn: month.add({ months: 1 }).subtract({ days: 1 }), unit: 'L' as const }
interface Question {
  readonly what: string
  readonly goalMs?: number
  /** Absent: as many as all. */
  readonly times?: number
  readonly ask: () => Promise<unknown>
}
const QUESTIONS: readonly Question[] = [
  { what: 'contents of a topped barrel now', goalMs: 50, ask: async () => vesselLedger(db, await look(), 'A77', end) },
  {
    what: 'contents of a topped barrel on a date',
    goalMs: 50,
    ask: async () => vesselLedger(db, await look(), 'A77', middle),
  },
  { what: 'contents of every vessel on a date', ask: async () => stockAt(db, await look(), middle) },
  {
    what: 'trace of a blend with 400 sources',
    goalMs: 200,
    ask: async () => {
      const trace = await traceBack(db, await look(), { vesselId: 'B' }, end)
      if (trace.sources.length !== 400) throw new Error(`${trace.sources.length} sources`)
    },
  },
  {
    what: 'trace of a tank forward, into its barrels and the blend',
    ask: async () => traceForward(db, await look(), { lotId: `y${years - 1}l20` }, undefined, end),
  },
  {
    what: 'trace forward of the wine that topped every barrel for a year',
    times: 3,
    ask: async () => traceForward(db, await look(), { lotId: `y${years - 1}l0` }, undefined, end),
  },
  {
    what: 'register of a month, by vessel',
    goalMs: 1000,
    ask: async () => registerOf(db, await look(), 'vessels', period),
  },
  {
    what: 'volume balance of a month',
    goalMs: 1000,
    ask: async () => registerOf(db, await look(), 'balance', period),
  },
  { what: 'a topping written now', ask: () => undone((tx, i) => posted(tx, i, [top(end)])) },
  {
    what: 'a tick that racks a tank into an empty one',
    ask: () =>
      undone((tx, i) =>
        bookTick(
          tx,
          CELLAR,
          {
            lot: lotOf(`y${years - 1}l20`),
            taskKey: 'bench/rack-gross/1',
            step: 'rack-gross',
            at: end,
            people: ['alex'],
            plannedFrom: ['T10'],
            plannedTo: ['E'],
            plannedL: 17_500,
            vessels: ['E'],
            volumeL: 17_400,
            parts: [],
          },
          by(i),
        ),
      ),
  },
  {
    what: 'a topping of half a year ago taken back: all that was topped since is worked out anew',
    times: 1,
    ask: async () => {
      const wrong = await topping('A77', 26)
      await undone((tx, i) => posted(tx, i, [reversalOf(wrong, 'bench')]))
    },
  },
]
const tenth = (ms: number) => Math.round(ms * 10) / 10
const cpuMs = (since: NodeJS.CpuUsage) => {
  const { user, system } = process.cpuUsage(since)
  return (user + system) / 1_000
}
const rows = []
for (const { what, goalMs, times = TIMES, ask } of QUESTIONS) {
  if (times > 1) await ask()
  const took: number[] = []
  const cpu = process.cpuUsage()
  for (let i = 0; i < times; i++) {
    const at = performance.now()
    await ask()
    took.push(performance.now() - at)
  }
  const used = cpuMs(cpu)
  took.sort((a, b) => a - b)
  rows.push({
    what,
    goalMs: goalMs ?? null,
    medianMs: tenth(took[Math.floor(times / 2)]!),
    p95Ms: tenth(took[Math.ceil(times * 0.95) - 1]!),
    slowestMs: tenth(took[times - 1]!),
    cpuMs: tenth(used / times),
  })
}

/** One fault of each kind that rows can hold; balance and shares are held by what is worked out, and tested there. */
const PLANTS: readonly string[] = [
  `insert into movement (cellar_id, id, entry, at, written_at, from_kind, from_vessel_id, from_lot_id, to_kind, volume_ml, cause, people, op_id) values
    ('${CELLAR}', 'p1', 1000000001, '${end}', '${end}', 'vessel', 'B', 'blend', 'loss', 90000000, 'spill', '[]', 'p'),
    ('${CELLAR}', 'p2', 1000000002, '${end}', '${end}', 'vessel', 'B', 'y0l0', 'loss', 1, 'spill', '[]', 'p')`,
  `insert into movement (cellar_id, id, entry, at, written_at, from_kind, to_kind, to_vessel_id, to_lot_id, volume_ml, cause, people, op_id) values
    ('${CELLAR}', 'p3', 1000000003, '${end}', '${end}', 'gain', 'vessel', 'B', 'blend', 90000000, 'gauge', '[]', 'p')`,
  `update movement set cause = ' ' where cellar_id = '${CELLAR}' and id = 'm1000'`,
  `update movement set measured_after_ml = 228000 where cellar_id = '${CELLAR}' and entry = (select max(entry) from movement where cellar_id = '${CELLAR}' and cause = 'top')`,
  `insert into addition (cellar_id, id, lot_id, vessel_id, product, amount, unit, treated_l, added_at, written_at, person_id) values ('${CELLAR}', 'pa', 'blend', 'B', ' ', 0, 'g', 1, '${end}', '${end}', 'alex')`,
  `update content set volume_ml = volume_ml + 1 where cellar_id = '${CELLAR}' and vessel_id = 'T3'`,
  `update level set after_ml = after_ml + 1 where cellar_id = '${CELLAR}' and vessel_id = 'A5' and entry = (select min(entry) from level where cellar_id = '${CELLAR}' and vessel_id = 'A5')`,
]
const RULES = ['above-limit', 'addition', 'below-zero', 'cause', 'dip', 'entry', 'levels', 'stored-state']

async function checked() {
  const cpu = process.cpuUsage()
  const at = performance.now()
  const found = await checkLedger(db, CELLAR, () => Temporal.Now.instant())
  const [wallS, cpuS] = [(performance.now() - at) / 1000, cpuMs(cpu) / 1000]
  return {
    movements: found.movements,
    wallS: tenth(wallS),
    cpuS: tenth(cpuS),
    mostMB: Math.round(process.resourceUsage().maxRSS / 1024),
    faults: found.faults.map((f) => f.rule).sort(),
    words: found.faults.map((f) => f.words),
  }
}

async function bothChecks() {
  const clean = await checked()
  await opened.raw('write', async (raw) => {
    await raw.ask('set local session_replication_role = replica')
    for (const plant of PLANTS) await raw.ask(plant)
  })
  const planted = await checked()
  if (clean.faults.length > 0) throw new Error(`a clean book has faults: ${clean.words.slice(0, 5).join(' ')}`)
  if (planted.faults.join() !== RULES.join())
    throw new Error(`found ${planted.faults.join()}: ${planted.words.join(' ')}`)
  return { clean, planted }
}

const told = { database: embedded ? 'embedded' : 'server', movements: stored?.n, years, filledS, rows }
if (args.includes('--json')) console.log(JSON.stringify(told, null, 1))
else {
  console.log(`${told.database}: ${told.movements} movements of ${years} years, filled in ${filledS} s`)
  console.table(rows)
}
if (args.includes('--check')) console.log(JSON.stringify(await bothChecks(), null, 1))
await opened.close()
await server?.stop()
if (!kept) rmSync(dataDir, { recursive: true, force: true })
