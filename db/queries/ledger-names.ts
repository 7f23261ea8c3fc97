import { type SQL, sql } from 'drizzle-orm'
import type { Lot, VesselKind, VesselState } from '../../api/protocol/facts.ts'
import { Temporal } from '../../api/time.ts'
import type { Db } from '../types.ts'
import { ask, ms } from './ask.ts'

/** A vessel as the books name it. */
export interface VesselNamed {
  readonly id: string
  readonly code: string
  readonly kind: VesselKind
  readonly volumeL: number
  readonly fills: number | null
  readonly state: VesselState
}

/** By id or code; or every one there is. */
export type Wanted = readonly string[] | 'all'

/** Two look-ups by key however many there are: an `or` of both would read the whole table. */
const among = (wanted: Wanted, columns: SQL, rest: SQL): SQL => {
  if (wanted === 'all') return sql`select ${columns} ${rest}`
  const list = sql`any(array(select jsonb_array_elements_text(${JSON.stringify(wanted)}::jsonb)))`
  return sql`select ${columns} ${rest} and id = ${list} union select ${columns} ${rest} and code = ${list}`
}

/** A lot without its answers: what books and names need. */
export type LotNamed = Pick<Lot, 'id' | 'code' | 'name' | 'variety' | 'block' | 'place' | 'vintage'> & {
  /** `2027-03-22T05:00:00Z` */
  readonly endedAt: string | null
}

/** Vessels in order of id and lots of any year, as short rows and in one question: there may be thousands. */
export async function listNames(
  db: Db,
  cellarId: string,
  wanted: { readonly vessels: Wanted; readonly lots: Wanted },
): Promise<{ readonly vessels: readonly VesselNamed[]; readonly lots: readonly LotNamed[] }> {
  if (wanted.vessels.length === 0 && wanted.lots.length === 0) return { vessels: [], lots: [] }
  const vesselColumns = sql`id, code, kind, volume_l as "volumeL", fills, state`
  const lotColumns = sql`id, code, name, variety, block, place, vintage,
    to_char(ended_at at time zone 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS"Z"') as "endedAt"`
  const all = (of: Wanted, columns: SQL, rest: SQL) =>
    of.length === 0 ? sql`'[]'::json` : sql`(select json_agg(n) from (${among(of, columns, rest)} order by id) n)`
  const [found] = await ask<{ vessels: VesselNamed[] | null; lots: LotNamed[] | null }>(
    db,
    sql`select ${all(wanted.vessels, vesselColumns, sql`from vessel where cellar_id = ${cellarId}`)} as vessels,
               ${all(wanted.lots, lotColumns, sql`from lot where cellar_id = ${cellarId}`)} as lots`,
  )
  return { vessels: found?.vessels ?? [], lots: found?.lots ?? [] }
}

/** A lot kept apart, as the books tell it. */
export interface KeptApart {
  readonly id: string
  readonly lotId: string
  readonly since: Temporal.Instant
  readonly personId: string | null
  readonly reason: string
}

export interface House {
  readonly zone: string
  readonly people: readonly { readonly id: string; readonly name: string }[]
  readonly quarantined: readonly KeptApart[]
}

/** What every answer of the ledger looks at: the cellar's zone, everybody's name, and lots kept apart now. */
export async function findHouse(db: Db, cellarId: string): Promise<House | undefined> {
  const [found] = await ask<{
    zone: string
    people: House['people'] | null
    quarantined: (Omit<KeptApart, 'since'> & { readonly since: number })[] | null
  }>(
    db,
    sql`select c.zone,
               (select json_agg(p) from (select id, name from person where cellar_id = c.id order by id) p) as people,
               (select json_agg(q) from (
                 select id, lot_id as "lotId", ${ms(sql`since`)} as since, person_id as "personId", reason
                 from quarantine where cellar_id = c.id and lifted_at is null order by quarantine.since, id) q
               ) as quarantined
        from cellar c where c.id = ${cellarId}`,
  )
  if (!found) return undefined
  const { zone, people, quarantined } = found
  return {
    zone,
    people: people ?? [],
    quarantined: (quarantined ?? []).map((q) => ({ ...q, since: Temporal.Instant.fromEpochMilliseconds(q.since) })),
  }
}
