/**
 * Ten years of a cellar of 200 tanks and 2,200 barrels, each of which loses wine and is topped once a week: two million
 * movements. With --embedded the database in process and 210 barrels: 200,000.
 *
 *   npm run bench:ledger -- [--years 10] [--barrels 2200] [--embedded] [--url postgres://...] [--json]
 *
 * Fills an empty database by COPY, then asks the questions people ask, 40 times each: median, 95th of 100 and slowest, ms.
 * A database given by --url is kept, and asked as it is where it was filled before.
 */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { sql } from 'drizzle-orm'
import { demoFacts } from '../../api/demo/facts.ts'
import { storeFacts } from '../../api/demo/store.ts'
import { stockAt, vesselLedger } from '../../api/ledger/answers.ts'
import { lookAt } from '../../api/ledger/look.ts'
import { registerOf } from '../../api/ledger/registers.ts'
import { traceBack } from '../../api/ledger/tracing.ts'
import type { Lot, Vessel } from '../../api/protocol/facts.ts'
import { Temporal } from '../../api/time.ts'
import { openDb } from '../../db/open.ts'
import { ask } from '../../db/queries/levels.ts'
import { addLots } from '../../db/queries/lots.ts'
import { addVessels } from '../../db/queries/vessels.ts'
import { startPostgres } from '../helpers/postgres.ts'

const args = process.argv.slice(2)
const embedded = args.includes('--embedded')
const option = (name: string) => (args.includes(`--${name}`) ? Number(args[args.indexOf(`--${name}`) + 1]) : 0)
const years = option('years') || 10
const TANKS = 200
const BARRELS = option('barrels') || (embedded ? 210 : 2_200)
const TIMES = 40
const CELLAR = 'bench'
const START = Temporal.Instant.from('2017-03-01T00:00:00Z')

interface Out {
  readonly movement: string[]
  readonly level: string[]
  readonly receipt: string[]
}

/** Walks the years and writes what the ledger would have written: movements and the pages of their vessels. */
function* walked(): Generator<Out> {
  const held = new Map<string, { ml: number; lot: string; since: string; sinceEntry: number }>()
  let entry = 0
  let out: Out = { movement: [], level: [], receipt: [] }
  const go = (at: string, from: string, to: string, lot: string, ml: number, cause: string, receipt = '\\N') => {
    entry += 1
    const isIn = (place: string) => /^[A-Z]\d*$/.test(place)
    const source = isIn(from) ? held.get(from) : undefined
    const fromLot = source?.lot ?? '\\N'
    const end = (place: string, of: string) => (isIn(place) ? `vessel\t${place}\t${of}` : `${place}\t\\N\t\\N`)
    out.movement.push(
      `${CELLAR}\tm${entry}\t${entry}\t${at}\t${at}\t${end(from, fromLot)}\t${end(to, lot)}\t${ml}\t\\N\t\\N\t\\N\t${cause}\t["alex"]\t${receipt}\t\\N\to${entry}\t\\N\t\\N`,
    )
    if (source) page(from, at, source.ml - ml, source.lot)
    if (isIn(to)) page(to, at, (held.get(to)?.ml ?? 0) + ml, lot)
  }
  const page = (id: string, at: string, after: number, lot: string) => {
    const was = held.get(id)
    const since = was?.ml ? was.since : at
    const sinceEntry = was?.ml ? was.sinceEntry : entry
    out.level.push(
      `${CELLAR}\t${id}\t${at}\t${entry}\tm${entry}\t${was?.ml ?? 0}\t${after}\t${was?.ml ? was.lot : '\\N'}\t${after ? lot : '\\N'}\t${since}\t${sinceEntry}`,
    )
    held.set(id, { ml: after, lot, since, sinceEntry })
  }
  for (let y = 0; y < years; y++) {
    const day = (d: number) => START.add({ hours: (y * 365 + d) * 24 }).toString()
    for (let t = 0; t < TANKS; t++)
      for (const half of [0, 1]) {
        const lot = `y${y}l${2 * t + half}`
        out.receipt.push(`${CELLAR}\t${lot}\tfruit\t${lot}\tvariety ${t % 7}\t${2017 + y}\tblock ${t % 40}\tvalley`)
        go(day(t % 30), 'fruit', `T${t}`, `y${y}l${2 * t}`, 10_000_000, 'press', lot)
      }
    for (let t = 0; t < 10; t++) go(day(31), `T${t}`, 'K', `y${y}l0`, 3_000_000, 'fill')
    for (let b = 0; b < BARRELS; b++) go(day(32), `T${b % TANKS}`, `A${b}`, `y${y}l${2 * (b % TANKS)}`, 220_000, 'fill')
    yield out
    out = { movement: [], level: [], receipt: [] }
    for (let w = 0; w < 46; w++) {
      for (let b = 0; b < BARRELS; b++) {
        const lot = held.get(`A${b}`)!.lot
        go(day(39 + 7 * w), `A${b}`, 'loss', lot, 200, 'evaporation')
        go(day(39 + 7 * w), 'K', `A${b}`, lot, 200, 'top')
      }
      yield out
      out = { movement: [], level: [], receipt: [] }
    }
    const isLast = y === years - 1
    if (isLast) for (let t = 0; t < TANKS; t++) go(day(362), `T${t}`, 'B', 'blend', 50_000, 'blend')
    else {
      for (let b = 0; b < BARRELS; b++)
        go(day(363), `A${b}`, 'bottled', held.get(`A${b}`)!.lot, held.get(`A${b}`)!.ml, 'bottled')
      for (let t = 0; t < TANKS; t++)
        go(day(364), `T${t}`, 'bottled', held.get(`T${t}`)!.lot, held.get(`T${t}`)!.ml, 'bottled')
      go(day(364), 'K', 'bottled', held.get('K')!.lot, held.get('K')!.ml, 'bottled')
    }
    yield out
    out = { movement: [], level: [], receipt: [] }
  }
}

const dataDir = mkdtempSync(join(tmpdir(), 'ledger-bench-'))
const given = args.includes('--url') ? args[args.indexOf('--url') + 1] : undefined
const server = embedded || given ? undefined : await startPostgres()
const url = given ?? server?.url
const opened = await openDb(url ? { url } : { dataDir })
const { db } = opened
const facts = demoFacts()
const vessel = (code: string, volumeL: number, kind: Vessel['kind']): Vessel => ({
  ...facts.vessels[0]!,
  id: code,
  code,
  volumeL,
  kind,
  bookings: [],
})
const lot = (id: string): Lot => ({ ...facts.lots[0]!, id, code: id, endedAt: START })
async function fill(): Promise<void> {
  await storeFacts(
    db,
    { ...facts, cellar: { ...facts.cellar, id: CELLAR }, vessels: [], lots: [] },
    { demo: false, at: START },
  )
  const by = { personId: null, at: START }
  await addVessels(
    db,
    CELLAR,
    [
      ...Array.from({ length: TANKS }, (_, i) => vessel(`T${i}`, 25_000, 'tank')),
      vessel('K', 40_000, 'tank'),
      vessel('B', 40_000, 'tank'),
    ],
    by,
  )
  for (let i = 0; i < BARRELS; i += 500)
    await addVessels(
      db,
      CELLAR,
      Array.from({ length: Math.min(500, BARRELS - i) }, (_, b) => vessel(`A${i + b}`, 228, 'barrel')),
      by,
    )
  await addLots(db, CELLAR, [lot('blend')], by)
  for (let y = 0; y < years; y++)
    await addLots(
      db,
      CELLAR,
      Array.from({ length: 400 }, (_, i) => lot(`y${y}l${i}`)),
      by,
    )

  await opened.raw('write', async (raw) => {
    // Rows that fit together by their making need no look-up of every reference.
    await raw.ask('set local session_replication_role = replica')
    const lines = (rows: readonly string[]) =>
      (async function* () {
        yield new TextEncoder().encode(rows.map((r) => `${r}\n`).join(''))
      })()
    for (const out of walked()) {
      if (out.receipt.length > 0)
        await raw.copyIn(
          'copy receipt (cellar_id, id, kind, lot_id, variety, vintage, block, origin)',
          lines(out.receipt),
        )
      await raw.copyIn(
        'copy movement (cellar_id, id, entry, at, written_at, from_kind, from_vessel_id, from_lot_id, to_kind, to_vessel_id, to_lot_id, volume_ml, planned_ml, measured_before_ml, measured_after_ml, cause, people, receipt_id, task_key, op_id, reverses_id, reason)',
        lines(out.movement),
      )
      await raw.copyIn(
        'copy level (cellar_id, vessel_id, at, entry, movement_id, before_ml, after_ml, before_lot_id, after_lot_id, since_at, since_entry)',
        lines(out.level),
      )
    }
  })
  await db.execute(sql`analyze`)
}

const fillStart = performance.now()
const [known] = await ask<{ n: number }>(db, sql`select count(*)::int as n from movement`)
if (known?.n === 0) await fill()
const filledS = Math.round((performance.now() - fillStart) / 1000)
const [stored] = await ask<{ n: number }>(db, sql`select count(*)::int as n from movement`)

const end = START.add({ hours: years * 365 * 24 })
const middle = START.add({ hours: Math.floor((years - 0.5) * 365) * 24 })
const month = end.toZonedDateTimeISO('UTC').toPlainDate().subtract({ months: 2 }).with({ day: 1 })
const look = () => lookAt(db, CELLAR)
const QUESTIONS: readonly (readonly [name: string, goalMs: number, ask: () => Promise<unknown>])[] = [
  ['contents of a topped barrel now', 50, async () => vesselLedger(db, await look(), 'A77', end)],
  ['contents of a topped barrel on a date', 50, async () => vesselLedger(db, await look(), 'A77', middle)],
  ['contents of every vessel on a date', 1000, async () => stockAt(db, await look(), middle)],
  [
    'trace of a blend with 400 sources',
    200,
    async () => {
      const trace = await traceBack(db, await look(), { vesselId: 'B' }, end)
      if (trace.sources.length !== 400) throw new Error(`${trace.sources.length} sources`)
    },
  ],
  [
    'register of a month, by vessel',
    1000,
    async () =>
      registerOf(db, await look(), 'vessels', {
        fromOn: month,
        toOn: month.add({ months: 1 }).subtract({ days: 1 }),
        unit: 'L',
      }),
  ],
  [
    'volume balance of a month',
    1000,
    async () =>
      registerOf(db, await look(), 'balance', {
        fromOn: month,
        toOn: month.add({ months: 1 }).subtract({ days: 1 }),
        unit: 'L',
      }),
  ],
]
const tenth = (ms: number) => Math.round(ms * 10) / 10
const rows = []
for (const [what, goalMs, ask] of QUESTIONS) {
  await ask()
  const times: number[] = []
  const cpu = process.cpuUsage()
  for (let i = 0; i < TIMES; i++) {
    const at = performance.now()
    await ask()
    times.push(performance.now() - at)
  }
  const { user, system } = process.cpuUsage(cpu)
  times.sort((a, b) => a - b)
  rows.push({
    what,
    goalMs,
    medianMs: tenth(times[TIMES / 2]!),
    p95Ms: tenth(times[Math.ceil(TIMES * 0.95) - 1]!),
    slowestMs: tenth(times[TIMES - 1]!),
    cpuMs: tenth((user + system) / 1_000 / TIMES),
  })
}
const told = { database: embedded ? 'embedded' : 'server', movements: stored?.n, years, filledS, rows }
if (args.includes('--json')) console.log(JSON.stringify(told, null, 1))
else {
  console.log(`${told.database}: ${told.movements} movements of ${years} years, filled in ${filledS} s`)
  console.table(rows)
}
await opened.close()
await server?.stop()
rmSync(dataDir, { recursive: true, force: true })
