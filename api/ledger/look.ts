/** Names and sizes that answers of the ledger need: what an answer names is read once it is known, and no more. */

import type { HTTPException } from 'hono/http-exception'
import {
  findHouse,
  type KeptApart,
  type LotNamed,
  listNames,
  type VesselNamed,
  type Wanted,
} from '../../db/queries/ledger-names.ts'
import type { Db } from '../../db/types.ts'
import type { LotRefWire, VesselRefWire } from '../ledger-wire.ts'
import { problem } from '../problem.ts'
import type { Refusal } from './draft.ts'
import { type Names, refusalProblem } from './refused.ts'

export interface Look extends Names {
  readonly cellarId: string
  readonly zone: string
  /** Those read so far. @throws at one that nobody read: it would be told by its id */
  readonly vessels: Known<VesselNamed>
  readonly lots: Known<LotNamed>
  readonly person: (id: string) => string
  readonly quarantined: ReadonlyMap<string, KeptApart>
}

/** Rows by id, as far as they were asked for. */
class Known<T extends { readonly id: string; readonly code: string }> {
  readonly #rows = new Map<string, T>()
  readonly #byCode = new Map<string, T>()
  readonly #asked = new Set<string>()
  #isWhole = false

  get(id: string): T | undefined {
    if (!this.#isWhole && !this.#asked.has(id)) throw new Error(`${id} is named before it was read`)
    return this.#rows.get(id)
  }

  /** By code or id; an id goes first. */
  find(name: string): T | undefined {
    return this.get(name) ?? this.#byCode.get(name)
  }

  all(): readonly T[] {
    if (!this.#isWhole) throw new Error('only some of them were read')
    return [...this.#rows.values()]
  }

  /** Those of a wish that are not known yet. */
  unread(wish: Wish): Wanted {
    if (this.#isWhole || wish === undefined) return []
    if (wish === 'all') return 'all'
    return [...new Set(wish)].flatMap((id) => (typeof id === 'string' && !this.#asked.has(id) ? [id] : []))
  }

  take(wanted: Wanted, rows: readonly T[]): void {
    for (const row of rows) {
      this.#rows.set(row.id, row)
      this.#byCode.set(row.code, row)
      this.#asked.add(row.id)
    }
    if (wanted === 'all') this.#isWhole = true
    else for (const id of wanted) this.#asked.add(id)
  }
}

/** Ids or codes; those that are none are passed over. */
type Wish = Iterable<string | null | undefined> | 'all' | undefined

export interface ToName {
  readonly vessels?: Wish
  readonly lots?: Wish
}

export async function lookAt(db: Db, cellarId: string, toName: ToName = {}): Promise<Look> {
  const house = await findHouse(db, cellarId)
  const vessels = new Known<VesselNamed>()
  const lots = new Known<LotNamed>()
  const people = new Map(house?.people.map((p) => [p.id, p.name]))
  const look: Look = {
    cellarId,
    zone: house?.zone ?? 'UTC',
    vessels,
    lots,
    person: (id) => people.get(id) ?? id,
    quarantined: new Map(house?.quarantined.map((q) => [q.lotId, q])),
    vessel: (id) => vessels.get(id)?.code ?? id,
    lot: (id) => lots.get(id)?.code ?? id,
  }
  await readNames(db, look, toName)
  return look
}

/** Reads what an answer is about to name: one question, or none where all of it is known. */
export async function readNames(db: Db, look: Look, { vessels, lots }: ToName): Promise<void> {
  const wanted = { vessels: look.vessels.unread(vessels), lots: look.lots.unread(lots) }
  const found = await listNames(db, look.cellarId, wanted)
  look.vessels.take(wanted.vessels, found.vessels)
  look.lots.take(wanted.lots, found.lots)
}

/** Why the ledger says no, with the names it takes. */
export async function refusedIn(db: Db, look: Look, why: Refusal): Promise<HTTPException> {
  await readNames(db, look, { vessels: [why.vesselId], lots: [why.hadLotId] })
  return refusalProblem(why, look)
}

export const lotRef = (look: Look, id: string): LotRefWire => {
  const lot = look.lots.get(id)
  return { id, code: lot?.code ?? id, name: lot?.name ?? id }
}

export const vesselRef = (look: Look, id: string): VesselRefWire => {
  const v = look.vessels.get(id)
  return { id, code: v?.code ?? id, kind: v?.kind ?? 'tank', capacityL: v?.volumeL ?? 0 }
}

/** By code or id, of those read. @throws 404 */
export function vesselFor(look: Look, name: string): VesselNamed {
  const found = look.vessels.find(name)
  if (!found) throw problem(404, 'unknown-vessel', `There is no vessel ${name}`)
  return found
}

export function lotFor(look: Look, name: string): LotNamed {
  const found = look.lots.find(name)
  if (!found) throw problem(404, 'unknown-lot', `There is no lot ${name}`)
  return found
}
