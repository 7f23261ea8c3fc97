import { sql } from 'drizzle-orm'
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

/** Every vessel in order of id, as short rows: there may be thousands. */
export function listVesselNames(db: Db, cellarId: string): Promise<VesselNamed[]> {
  return ask<VesselNamed>(
    db,
    sql`select id, code, kind, volume_l as "volumeL", fills, state from vessel where cellar_id = ${cellarId} order by id`,
  )
}

/** A lot without its answers: what books and names need. */
export type LotNamed = Pick<Lot, 'id' | 'code' | 'name' | 'variety' | 'block' | 'place' | 'vintage'> & {
  /** `2027-03-22T05:00:00Z` */
  readonly endedAt: string | null
}

/** Every lot of every year, as short rows. */
export function listLotNames(db: Db, cellarId: string): Promise<LotNamed[]> {
  return ask<LotNamed>(
    db,
    sql`select id, code, name, variety, block, place, vintage,
               to_char(ended_at at time zone 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS"Z"') as "endedAt"
        from lot where cellar_id = ${cellarId}`,
  )
}
