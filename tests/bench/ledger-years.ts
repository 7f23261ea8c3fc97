/**
 * Years of a cellar of 200 tanks and many barrels, each of which loses wine and is topped once a week, as the ledger
 * would have written them. What is in the vessels in the end is worked out here on its own, so that the nightly check
 * compares two computations.
 */
import { sql } from 'drizzle-orm'
import { demoFacts } from '../../api/demo/facts.ts'
import { storeFacts } from '../../api/demo/store.ts'
import type { Lot, Vessel } from '../../api/protocol/facts.ts'
import { Temporal } from '../../api/time.ts'
import type { Opened } from '../../db/open.ts'
import { addLots } from '../../db/queries/lots.ts'
import { addVessels } from '../../db/queries/vessels.ts'

export const CELLAR = 'bench'
export const START = Temporal.Instant.from('2017-03-01T00:00:00Z')
const TANKS = 200
const DOSE_G = 4_000

export interface Size {
  readonly years: number
  readonly barrels: number
}

/** Rows for COPY by table. */
type Out = Record<'movement' | 'level' | 'receipt' | 'addition' | 'content', string[]>

const COLUMNS: Readonly<Record<keyof Out, string>> = {
  receipt: 'cellar_id, id, kind, lot_id, variety, vintage, block, origin',
  movement:
    'cellar_id, id, entry, at, written_at, from_kind, from_vessel_id, from_lot_id, to_kind, to_vessel_id, to_lot_id, volume_ml, planned_ml, measured_before_ml, measured_after_ml, cause, people, receipt_id, task_key, op_id, reverses_id, reason',
  level:
    'cellar_id, vessel_id, at, entry, movement_id, before_ml, after_ml, before_lot_id, after_lot_id, since_at, since_entry',
  addition:
    'cellar_id, id, lot_id, vessel_id, product, amount, unit, batch_no, treated_l, added_at, written_at, person_id',
  content: 'cellar_id, vessel_id, lot_id, volume_ml, since_at, sources_ml, added',
}

const nothing = (): Out => ({ movement: [], level: [], receipt: [], addition: [], content: [] })

interface Held {
  readonly ml: number
  readonly lot: string
  readonly since: string
  readonly sinceEntry: number
  /** Share of each receipt, and grams a millilitre. */
  readonly shares: ReadonlyMap<string, number>
  readonly gPerMl: number
}

function* walked({ years, barrels }: Size): Generator<Out> {
  const held = new Map<string, Held>()
  let entry = 0
  let out = nothing()
  const told = () => {
    const rows = out
    out = nothing()
    return rows
  }
  const go = (at: string, from: string, to: string, lot: string, ml: number, cause: string, receipt = '\\N') => {
    entry += 1
    const isIn = (place: string) => /^[A-Z]\d*$/.test(place)
    const source = isIn(from) ? held.get(from) : undefined
    const fromLot = source?.lot ?? '\\N'
    const end = (place: string, of: string) => (isIn(place) ? `vessel\t${place}\t${of}` : `${place}\t\\N\t\\N`)
    out.movement.push(
      `${CELLAR}\tm${entry}\t${entry}\t${at}\t${at}\t${end(from, fromLot)}\t${end(to, lot)}\t${ml}\t\\N\t\\N\t\\N\t${cause}\t["alex"]\t${receipt}\t\\N\to${entry}\t\\N\t\\N`,
    )
    if (source) page(from, at, { ...source, ml: source.ml - ml })
    if (isIn(to)) {
      const was = held.get(to)
      const after = (was?.ml ?? 0) + ml
      const comes = source ?? { shares: new Map([[receipt, 1]]), gPerMl: 0 }
      const shares = new Map([...(was?.ml ? was.shares : [])].map(([id, s]) => [id, (s * (was?.ml ?? 0)) / after]))
      for (const [id, s] of comes.shares) shares.set(id, (shares.get(id) ?? 0) + (s * ml) / after)
      const gPerMl = ((was?.gPerMl ?? 0) * (was?.ml ?? 0) + comes.gPerMl * ml) / after
      page(to, at, { ml: after, lot, shares, gPerMl })
    }
  }
  const page = (id: string, at: string, now: Pick<Held, 'ml' | 'lot' | 'shares' | 'gPerMl'>) => {
    const was = held.get(id)
    const since = was?.ml ? was.since : at
    const sinceEntry = was?.ml ? was.sinceEntry : entry
    out.level.push(
      `${CELLAR}\t${id}\t${at}\t${entry}\tm${entry}\t${was?.ml ?? 0}\t${now.ml}\t${was?.ml ? was.lot : '\\N'}\t${now.ml ? now.lot : '\\N'}\t${since}\t${sinceEntry}`,
    )
    held.set(id, { ...now, since, sinceEntry })
  }
  const dose = (at: string, id: string, name: string) => {
    const there = held.get(id)
    if (!there) return
    out.addition.push(
      `${CELLAR}\t${name}\t${there.lot}\t${id}\tbentonite\t${DOSE_G}\tg\tB1\t${there.ml / 1000}\t${at}\t${at}\talex`,
    )
    held.set(id, { ...there, gPerMl: there.gPerMl + DOSE_G / there.ml })
  }
  for (let y = 0; y < years; y++) {
    const day = (d: number) => START.add({ hours: Math.round((y * 365 + d) * 24) }).toString()
    for (let t = 0; t < TANKS; t++)
      for (const half of [0, 1]) {
        const lot = `y${y}l${2 * t + half}`
        out.receipt.push(`${CELLAR}\t${lot}\tfruit\t${lot}\tvariety ${t % 7}\t${2017 + y}\tblock ${t % 40}\tvalley`)
        go(day(t % 30), 'fruit', `T${t}`, `y${y}l${2 * t}`, 10_000_000, 'press', lot)
      }
    for (let t = 0; t < TANKS; t++) dose(day(30.5), `T${t}`, `y${y}a${t}`)
    for (let t = 0; t < 10; t++) go(day(31), `T${t}`, 'K', `y${y}l0`, 3_000_000, 'fill')
    for (let b = 0; b < barrels; b++) go(day(32), `T${b % TANKS}`, `A${b}`, `y${y}l${2 * (b % TANKS)}`, 220_000, 'fill')
    yield told()
    for (let w = 0; w < 46; w++) {
      for (let b = 0; b < barrels; b++) {
        const lot = held.get(`A${b}`)!.lot
        go(day(39 + 7 * w), `A${b}`, 'loss', lot, 200, 'evaporation')
        go(day(39 + 7 * w), 'K', `A${b}`, lot, 200, 'top')
      }
      yield told()
    }
    const isLast = y === years - 1
    if (isLast) for (let t = 0; t < TANKS; t++) go(day(362), `T${t}`, 'B', 'blend', 50_000, 'blend')
    else {
      for (let b = 0; b < barrels; b++)
        go(day(363), `A${b}`, 'bottled', held.get(`A${b}`)!.lot, held.get(`A${b}`)!.ml, 'bottled')
      for (let t = 0; t < TANKS; t++)
        go(day(364), `T${t}`, 'bottled', held.get(`T${t}`)!.lot, held.get(`T${t}`)!.ml, 'bottled')
      go(day(364), 'K', 'bottled', held.get('K')!.lot, held.get('K')!.ml, 'bottled')
    }
    yield told()
  }
  for (const [id, h] of held) {
    if (h.ml === 0) continue
    const sources = Object.fromEntries([...h.shares].map(([r, s]) => [r, s * h.ml]))
    const added = h.gPerMl > 0 ? { 'g:bentonite': h.gPerMl * h.ml } : {}
    out.content.push(
      `${CELLAR}\t${id}\t${h.lot}\t${h.ml}\t${h.since}\t${JSON.stringify(sources)}\t${JSON.stringify(added)}`,
    )
  }
  yield told()
}

export const lotOf = (id: string): Lot => ({ ...demoFacts().lots[0]!, id, code: id, endedAt: START })

/** Fills an empty database by COPY. */
export async function fillYears(opened: Pick<Opened, 'db' | 'raw'>, size: Size): Promise<void> {
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
      vessel('E', 25_000, 'tank'),
    ],
    by,
  )
  for (let i = 0; i < size.barrels; i += 500)
    await addVessels(
      db,
      CELLAR,
      Array.from({ length: Math.min(500, size.barrels - i) }, (_, b) => vessel(`A${i + b}`, 228, 'barrel')),
      by,
    )
  await addLots(db, CELLAR, [lotOf('blend')], by)
  for (let y = 0; y < size.years; y++)
    await addLots(
      db,
      CELLAR,
      Array.from({ length: 400 }, (_, i) => lotOf(`y${y}l${i}`)),
      by,
    )
  await opened.raw('write', async (raw) => {
    // Rows that fit together by their making need no look-up of every reference.
    await raw.ask('set local session_replication_role = replica')
    const lines = (rows: readonly string[]) =>
      (async function* () {
        yield new TextEncoder().encode(rows.map((r) => `${r}\n`).join(''))
      })()
    for (const out of walked(size))
      for (const table of Object.keys(COLUMNS) as (keyof Out)[])
        if (out[table].length > 0) await raw.copyIn(`copy ${table} (${COLUMNS[table]})`, lines(out[table]))
  })
  await db.execute(sql`analyze`)
}
