import { and, asc, eq, inArray, sql } from 'drizzle-orm'
import type { Booking, Machine, Vessel, VesselState } from '../../api/protocol/facts.ts'
import type { Result } from '../../api/result.ts'
import { Temporal } from '../../api/time.ts'
import type { BookingJson } from '../json.ts'
import { machine, vessel } from '../schema.ts'
import type { Db } from '../types.ts'
import { appendEntries, canonical, type Entry } from './record.ts'
import { overVersion } from './version.ts'

export type StoredVessel = Vessel & { readonly version: number }

/** State and fills as somebody last said them. */
export interface Said {
  readonly vesselId: string
  readonly state: VesselState
  readonly fills?: number
  /** Absent: before anything in the books. */
  readonly at?: Temporal.Instant
}

export type StoredMachine = Machine & { readonly version: number }

/** Who says what a vessel or a machine is from now on; nobody where a cellar is seeded. */
export interface SaidBy {
  readonly personId: string | null
  readonly at: Temporal.Instant
  readonly words?: string
}

const bookings = (json: readonly BookingJson[]): Booking[] =>
  json.map((b) => ({ fromAt: Temporal.Instant.from(b.fromAt), toAt: Temporal.Instant.from(b.toAt), why: b.why }))

const bookingsJson = (list: readonly Booking[]): BookingJson[] =>
  list.map((b) => ({ fromAt: b.fromAt.toString(), toAt: b.toAt.toString(), why: b.why }))

const vesselFromRow = (row: typeof vessel.$inferSelect): StoredVessel => ({
  id: row.id,
  code: row.code,
  kind: row.kind,
  volumeL: row.volumeL,
  jacket: row.jacket,
  insulated: row.insulated,
  ...(row.minC === null ? {} : { minC: row.minC }),
  pressureBar: row.pressureBar,
  ...(row.row === null ? {} : { row: row.row }),
  ...(row.fills === null ? {} : { fills: row.fills }),
  ...(row.site === null ? {} : { site: row.site }),
  state: row.state,
  bookings: bookings(row.bookings),
  version: row.version,
})

const vesselToRow = (v: Vessel) => ({
  code: v.code,
  kind: v.kind,
  volumeL: v.volumeL,
  jacket: v.jacket,
  insulated: v.insulated,
  minC: v.minC ?? null,
  pressureBar: v.pressureBar,
  row: v.row ?? null,
  fills: v.fills ?? null,
  site: v.site ?? null,
  state: v.state,
  bookings: bookingsJson(v.bookings),
})

const machineFromRow = (row: typeof machine.$inferSelect): StoredMachine => ({
  id: row.id,
  code: row.code,
  kind: row.kind,
  name: row.name,
  capacity: row.capacity,
  ...(row.press ? { press: row.press } : {}),
  ...(row.site === null ? {} : { site: row.site }),
  bookings: bookings(row.bookings),
  version: row.version,
})

const machineToRow = (m: Machine) => ({
  code: m.code,
  kind: m.kind,
  name: m.name,
  capacity: m.capacity,
  press: m.press ?? null,
  site: m.site ?? null,
  bookings: bookingsJson(m.bookings),
})

/** @param ids absent: every vessel of the cellar */
export async function listVessels(db: Db, cellarId: string, ids?: readonly string[]): Promise<StoredVessel[]> {
  if (ids?.length === 0) return []
  const rows = await db
    .select()
    .from(vessel)
    .where(and(eq(vessel.cellarId, cellarId), ids && inArray(vessel.id, [...ids])))
    .orderBy(asc(vessel.id))
  return rows.map(vesselFromRow)
}

/** The same, and until the transaction ends nobody else writes them: for what is worked out from them and written back. */
export async function lockVessels(db: Db, cellarId: string, ids: readonly string[]): Promise<StoredVessel[]> {
  if (ids.length === 0) return []
  const rows = await db
    .select()
    .from(vessel)
    .where(and(eq(vessel.cellarId, cellarId), inArray(vessel.id, [...ids])))
    .orderBy(asc(vessel.id))
    // As an update locks them: rows that only refer to a vessel go on being written.
    .for('no key update')
  return rows.map(vesselFromRow)
}

export async function listSaid(db: Db, cellarId: string, ids: readonly string[]): Promise<Said[]> {
  if (ids.length === 0) return []
  const rows = await db
    .select({ vesselId: vessel.id, state: vessel.saidState, fills: vessel.saidFills, at: vessel.saidAt })
    .from(vessel)
    .where(and(eq(vessel.cellarId, cellarId), inArray(vessel.id, [...ids])))
    .orderBy(asc(vessel.id))
  return rows.map(({ fills, at, ...r }) => ({
    ...r,
    ...(fills === null ? {} : { fills }),
    ...(at === null ? {} : { at }),
  }))
}

/** Call inside a transaction: each has its entry in the record. */
export async function addVessels(db: Db, cellarId: string, vessels: readonly Vessel[], by: SaidBy): Promise<void> {
  if (vessels.length === 0) return
  await db
    .insert(vessel)
    .values(
      vessels.map((v) => ({ cellarId, id: v.id, ...vesselToRow(v), saidState: v.state, saidFills: v.fills ?? null })),
    )
  await appendEntries(
    db,
    cellarId,
    vessels.map((v) => ({ ...entryOf('vessel', v.id, vesselToRow(v), by), vesselId: v.id })),
  )
}

/**
 * Saves over the version that was read; `stale` when someone else saved since. Call inside a transaction: what it was
 * and what it is go to the record.
 *
 * @param by a new state or number of fills counts from its moment on
 */
export async function saveVessel(
  db: Db,
  cellarId: string,
  v: Vessel,
  version: number,
  by: SaidBy,
): Promise<Result<number, 'stale' | 'unknown'>> {
  const key = and(eq(vessel.cellarId, cellarId), eq(vessel.id, v.id))
  const row = vesselToRow(v)
  const [before] = await listVessels(db, cellarId, [v.id])
  const isNews = sql`(${vessel.state} <> ${row.state} or ${vessel.fills} is distinct from ${row.fills}::integer)`
  const saved = await overVersion(
    db
      .update(vessel)
      .set({
        ...row,
        saidState: sql`case when ${isNews} then ${row.state} else ${vessel.saidState} end`,
        saidFills: sql`case when ${isNews} then ${row.fills}::integer else ${vessel.saidFills} end`,
        saidAt: sql`case when ${isNews} then ${by.at.toString()}::timestamptz else ${vessel.saidAt} end`,
        version: version + 1,
      })
      .where(and(key, eq(vessel.version, version)))
      .returning({ version: vessel.version }),
    () => db.select({ id: vessel.id }).from(vessel).where(key),
  )
  if (saved.ok && before)
    await appendEntries(
      db,
      cellarId,
      changesOf('vessel', v.id, vesselToRow(before), row, by).map((e) => ({ ...e, vesselId: v.id })),
    )
  return saved
}

/** What follows from wine that moved and work that was done; a form that holds the older version is told. */
export async function saveVesselStates(
  db: Db,
  cellarId: string,
  vessels: readonly Pick<Vessel, 'id' | 'state' | 'fills'>[],
): Promise<void> {
  for (const { id, state, fills } of vessels)
    await db
      .update(vessel)
      .set({ state, fills: fills ?? null, version: sql`${vessel.version} + 1` })
      .where(and(eq(vessel.cellarId, cellarId), eq(vessel.id, id)))
}

export async function listMachines(db: Db, cellarId: string): Promise<StoredMachine[]> {
  return (await db.select().from(machine).where(eq(machine.cellarId, cellarId)).orderBy(asc(machine.id))).map(
    machineFromRow,
  )
}

/** Call inside a transaction: each has its entry in the record. */
export async function addMachines(db: Db, cellarId: string, machines: readonly Machine[], by: SaidBy): Promise<void> {
  if (machines.length === 0) return
  await db.insert(machine).values(machines.map((m) => ({ cellarId, id: m.id, ...machineToRow(m) })))
  await appendEntries(
    db,
    cellarId,
    machines.map((m) => entryOf('machine', m.id, machineToRow(m), by)),
  )
}

/** Saves over the version that was read; `stale` when someone else saved since. Call inside a transaction, as for vessels. */
export async function saveMachine(
  db: Db,
  cellarId: string,
  m: Machine,
  version: number,
  by: SaidBy,
): Promise<Result<number, 'stale' | 'unknown'>> {
  const key = and(eq(machine.cellarId, cellarId), eq(machine.id, m.id))
  const before = (await listMachines(db, cellarId)).find((one) => one.id === m.id)
  const saved = await overVersion(
    db
      .update(machine)
      .set({ ...machineToRow(m), version: version + 1 })
      .where(and(key, eq(machine.version, version)))
      .returning({ version: machine.version }),
    () => db.select({ id: machine.id }).from(machine).where(key),
  )
  if (saved.ok && before)
    await appendEntries(db, cellarId, changesOf('machine', m.id, machineToRow(before), machineToRow(m), by))
  return saved
}

type Row = Readonly<Record<string, unknown>>

const entryOf = (kind: 'vessel' | 'machine', id: string, row: Row, by: SaidBy): Entry => ({
  kind,
  subjectId: id,
  personId: by.personId,
  at: by.at,
  writtenAt: by.at,
  fact: { id, ...row, ...(by.words ? { words: by.words } : {}) },
})

/** What it is now beside what was otherwise; nothing where nothing was. */
function changesOf(kind: 'vessel' | 'machine', id: string, before: Row, now: Row, by: SaidBy): readonly Entry[] {
  const other = Object.keys(now).filter((name) => canonical(before[name] ?? null) !== canonical(now[name] ?? null))
  if (other.length === 0) return []
  // Absent would be left out of the record: what was not there is told as such.
  const was = Object.fromEntries(other.map((name) => [name, before[name] ?? 'none']))
  const entry = entryOf(kind, id, now, by)
  return [{ ...entry, fact: { ...entry.fact, was } }]
}
