/** Names and sizes that every answer of the ledger needs, read once a request. */

import { findCellar } from '../../db/queries/cellars.ts'
import { listQuarantined, type QuarantineRow } from '../../db/queries/contents.ts'
import { type LotNamed, listLotNames, listVesselNames, type VesselNamed } from '../../db/queries/ledger-names.ts'
import { listPeople } from '../../db/queries/people.ts'
import type { Db } from '../../db/types.ts'
import type { LotRefWire, VesselRefWire } from '../ledger-wire.ts'
import { problem } from '../problem.ts'
import type { Names } from './refused.ts'

export interface Look extends Names {
  readonly cellarId: string
  readonly zone: string
  readonly vessels: ReadonlyMap<string, VesselNamed>
  readonly lots: ReadonlyMap<string, LotNamed>
  readonly person: (id: string) => string
  readonly quarantined: ReadonlyMap<string, QuarantineRow>
}

export async function lookAt(db: Db, cellarId: string): Promise<Look> {
  const cellar = await findCellar(db, cellarId)
  const vessels = new Map((await listVesselNames(db, cellarId)).map((v) => [v.id, v]))
  const lots = new Map((await listLotNames(db, cellarId)).map((l) => [l.id, l]))
  const people = new Map((await listPeople(db, cellarId)).map((p) => [p.id, p.name]))
  return {
    cellarId,
    zone: cellar?.zone ?? 'UTC',
    vessels,
    lots,
    person: (id) => people.get(id) ?? id,
    quarantined: new Map((await listQuarantined(db, cellarId)).map((q) => [q.lotId, q])),
    vessel: (id) => vessels.get(id)?.code ?? id,
    lot: (id) => lots.get(id)?.code ?? id,
  }
}

export const lotRef = (look: Look, id: string): LotRefWire => {
  const lot = look.lots.get(id)
  return { id, code: lot?.code ?? id, name: lot?.name ?? id }
}

export const vesselRef = (look: Look, id: string): VesselRefWire => {
  const v = look.vessels.get(id)
  return { id, code: v?.code ?? id, kind: v?.kind ?? 'tank', capacityL: v?.volumeL ?? 0 }
}

/** By code or id. @throws 404 */
export function vesselFor(look: Look, name: string): VesselNamed {
  const found = look.vessels.get(name) ?? [...look.vessels.values()].find((v) => v.code === name)
  if (!found) throw problem(404, 'unknown-vessel', `There is no vessel ${name}`)
  return found
}

export function lotFor(look: Look, name: string): LotNamed {
  const found = look.lots.get(name) ?? [...look.lots.values()].find((l) => l.code === name)
  if (!found) throw problem(404, 'unknown-lot', `There is no lot ${name}`)
  return found
}
