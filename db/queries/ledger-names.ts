import { type SQL, sql } from 'drizzle-orm'
import type { Lot, VesselKind, VesselState } from '../../api/protocol/facts.ts'
import type { Db } from '../types.ts'
import { ask } from './levels.ts'

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

/** Vessels in order of id, as short rows: there may be thousands. */
export async function listVesselNames(db: Db, cellarId: string, wanted: Wanted): Promise<VesselNamed[]> {
  if (wanted.length === 0) return []
  const columns = sql`id, code, kind, volume_l as "volumeL", fills, state`
  return ask<VesselNamed>(
    db,
    sql`${among(wanted, columns, sql`from vessel where cellar_id = ${cellarId}`)} order by id`,
  )
}

/** A lot without its answers: what books and names need. */
export type LotNamed = Pick<Lot, 'id' | 'code' | 'name' | 'variety' | 'block' | 'place' | 'vintage'> & {
  /** `2027-03-22T05:00:00Z` */
  readonly endedAt: string | null
}

/** Lots of any year, as short rows. */
export async function listLotNames(db: Db, cellarId: string, wanted: Wanted): Promise<LotNamed[]> {
  if (wanted.length === 0) return []
  const columns = sql`id, code, name, variety, block, place, vintage,
    to_char(ended_at at time zone 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS"Z"') as "endedAt"`
  return ask<LotNamed>(db, among(wanted, columns, sql`from lot where cellar_id = ${cellarId}`))
}
