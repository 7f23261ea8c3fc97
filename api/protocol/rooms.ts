import type { Hold } from '../schedule/types.ts'
import type { VesselChoice } from './choices.ts'
import type { Vessel, VesselKind } from './facts.ts'
import type { Setting } from './setting.ts'
import { bySite, type Stage, siteAt, siteOf } from './sites.ts'
import { FILL } from './volumes.ts'

/** Wine in one or more vessels, from a task that fills them until one that empties them. */
export interface Body {
  /** `L01/ferment`; the second body of a lot `L01/ferment-2`. */
  readonly hold: string
  readonly label: string
  readonly volumeL: number
  readonly room: Room
  readonly since: { readonly task: string; readonly edge: 'start' | 'end' }
  /** Where the parts of a lot differ: whether this one goes through malolactic. */
  readonly malolactic?: boolean
}

/** A cask is wood: it breathes, and is topped and watched like barrels. */
export const isCask = (s: Setting, body: Body): boolean => {
  const id = chosen(body.room)[0] ?? body.room.candidates[0]
  return s.vessels.some((v) => v.id === id && v.kind === 'cask')
}

/** What the parts of a vessel say of malolactic, for the body made of part `i`. */
export function malolacticOf(s: Setting, i: number): Pick<Body, 'malolactic'> {
  const own = s.choices.vesselParts?.[i]?.malolactic
  return own === undefined ? {} : { malolactic: own }
}

/** Vessels that would do. No candidates: nothing in the cellar holds it, and the plan says so. */
export interface Room {
  readonly candidates: readonly string[]
  readonly count: number
  /** Known for sure, by what was done. */
  readonly units?: readonly string[]
  /** A person wants these; they come first among the candidates, and the plan says when it could not be. */
  readonly wanted?: readonly string[]
  readonly barrels: boolean
  readonly jacket: boolean
  /** Litres of one of them; the usual one where they differ. */
  readonly eachL: number
}

/** A vessel is free this long before it is filled; washing itself is a task. */
const CLEAN_MIN = 15

export function holdOf(s: Setting, body: Body, until: { readonly task: string; readonly edge: 'start' | 'end' }): Hold {
  const { room } = body
  return {
    key: body.hold,
    group: s.lot.code,
    from: body.since,
    to: until,
    candidates: room.candidates,
    count: room.count,
    cleanMin: CLEAN_MIN,
    ...(room.units ? { units: room.units } : {}),
  }
}

export interface RoomWish {
  readonly volumeL: number
  readonly stage: Stage
  /** Share of a vessel that may be filled. */
  readonly fill: number
  readonly kinds: readonly VesselKind[]
  readonly jacket?: boolean
  /** Cold enough for crystals: insulated, or with a jacket at least. */
  readonly cold?: boolean
  /** Part of a lot: pins are dealt out by part. */
  readonly pins?: readonly string[]
  /** What the task that fills it was done with. */
  readonly filledBy?: string
  /** A lot in parts, filled by one task: what the parts before this one have of its vessels. */
  readonly taken?: readonly string[]
  /** A little may be left over for kegs. */
  readonly kegs?: boolean
  /** Not these: the wine comes out of them. */
  readonly not?: readonly string[]
}

const MOST_VESSELS = 8

/** One vessel when one holds it, else two or more alike; the tightest fit first. */
export function roomFor(s: Setting, wish: RoomWish): Room {
  const fit = s.vessels.filter((v) => suits(v, wish))
  const filled = filledWith(s, wish.filledBy)?.filter((id) => kindOf(s, id, wish.kinds))
  const done = filled && wish.taken ? partOf(s, filled, wish.volumeL, wish.taken) : filled
  if (done && done.length > 0) return { ...roomOf(s, done), candidates: done, units: done }
  const wanted = wantedUnits(s, wish)
  const others = nearest(s, fit, wish)
  if (!wanted) return others
  const room = roomOf(s, wanted)
  const alike =
    others.count === wanted.length && !room.barrels
      ? others.candidates.filter((id) => !wanted.includes(id) && sameSite(s, id, wanted[0]))
      : []
  return { ...room, candidates: [...wanted, ...alike], wanted }
}

/** Where the wine is; what does not fit there goes where it does. */
function nearest(s: Setting, fit: readonly Vessel[], wish: RoomWish): Room {
  const rooms = bySite(s.cellar, siteAt(s, wish.stage), fit).map((there) => roomAmong(there, wish))
  return rooms.find((room) => room.candidates.length > 0) ?? rooms[0]!
}

const sameSite = (s: Setting, a: string, b: string | undefined): boolean => {
  const at = (id: string | undefined) =>
    siteOf(
      s.cellar,
      s.vessels.find((v) => v.id === id),
    )
  return at(a) === at(b)
}

/** Of the vessels that one task filled with all parts of a lot, as many as hold this part. */
function partOf(s: Setting, filled: readonly string[], volumeL: number, taken: readonly string[]): readonly string[] {
  const own: string[] = []
  let roomL = 0
  for (const id of filled.filter((f) => !taken.includes(f))) {
    if (roomL >= volumeL) break
    own.push(id)
    roomL += s.vessels.find((v) => v.id === id)?.volumeL ?? 0
  }
  return own
}

function roomOf(s: Setting, ids: readonly string[]): Room {
  const vessels = ids.flatMap((id) => s.vessels.find((v) => v.id === id) ?? [])
  return {
    candidates: ids,
    count: ids.length,
    barrels: vessels.some((v) => v.kind === 'barrel' || v.kind === 'puncheon'),
    jacket: vessels.every((v) => v.jacket),
    eachL: vessels[0]?.volumeL ?? 0,
  }
}

/** Under two fifths full, with this much air above: no gas keeps it and the jacket is not reached. Common practice. */
const NEAR_EMPTY = { fill: 0.4, headspaceL: 3000 } as const

const nearEmpty = (v: Vessel, volumeL: number): boolean =>
  v.kind !== 'floating-lid' && volumeL < v.volumeL * NEAR_EMPTY.fill && v.volumeL - volumeL > NEAR_EMPTY.headspaceL

/** What is filled decently; where the cellar has nothing of the kind, what holds it at all. */
function roomAmong(fit: readonly Vessel[], wish: RoomWish): Room {
  const decent = alikeAmong(fit, wish, (v, eachL) => !nearEmpty(v, eachL))
  return decent.candidates.length > 0 ? decent : alikeAmong(fit, wish, () => true)
}

function alikeAmong(fit: readonly Vessel[], wish: RoomWish, decent: (v: Vessel, eachL: number) => boolean): Room {
  for (let count = 1; count <= MOST_VESSELS; count++) {
    const eachL = wish.volumeL / count
    const holding = fit
      .filter((v) => v.volumeL * wish.fill >= eachL && decent(v, eachL))
      .sort((a, b) => waste(a, eachL, wish) - waste(b, eachL, wish) || byCode(a, b))
    const alike =
      count === 1 ? holding : holding.filter((v) => holding.filter((o) => o.kind === v.kind).length >= count)
    if (alike.length < count) continue
    return {
      candidates: alike.map((v) => v.id),
      count,
      barrels: false,
      jacket: alike.slice(0, count).every((v) => v.jacket),
      eachL: alike[0]!.volumeL,
    }
  }
  return { candidates: [], count: 1, barrels: false, jacket: wish.jacket ?? false, eachL: wish.volumeL }
}

function suits(v: Vessel, wish: RoomWish): boolean {
  if (!wish.kinds.includes(v.kind) || wish.not?.includes(v.id)) return false
  if (wish.jacket && !v.jacket) return false
  return !wish.cold || v.jacket || v.insulated
}

/** Kinds come in the order wished; a near-empty tank is a bad tank, but a floating lid goes down with its wine. */
function waste(v: Vessel, volumeL: number, wish: RoomWish): number {
  const empty = v.kind === 'floating-lid' ? 0 : Math.max(0, v.volumeL * wish.fill - volumeL) / v.volumeL
  return empty + 0.4 * wish.kinds.indexOf(v.kind)
}

/** What is sure or wished of a room: the next body of the lot looks elsewhere. */
export const chosen = (room: Room): readonly string[] => room.units ?? room.wanted ?? []

/** What a person pinned, where it holds the wine. */
function wantedUnits(s: Setting, wish: RoomWish): readonly string[] | undefined {
  const pins = (wish.pins ?? []).filter((id) => kindOf(s, id, wish.kinds) && !wish.not?.includes(id))
  const pinFill = wish.fill === FILL.ferment ? FILL.barrelMost : wish.fill
  const got: string[] = []
  let roomL = 0
  for (const id of pins) {
    if (roomL >= wish.volumeL - 1e-6) break
    got.push(id)
    roomL += (s.vessels.find((v) => v.id === id)?.volumeL ?? 0) * pinFill
  }
  // What a row of wood does not take goes to kegs, as long as it is little.
  const wood = got.some((id) => kindOf(s, id, ['barrel', 'puncheon']))
  return got.length > 0 && roomL >= wish.volumeL * (wood && wish.kegs ? 1 - KEG_SHARE : 1) - 1e-6 ? got : undefined
}

/** The most that may be left over for kegs. Common practice: a keg or two a lot. */
const KEG_SHARE = 0.1

/** Vessels named when the task was done, started or pinned. */
function filledWith(s: Setting, key: string | undefined): readonly string[] | undefined {
  const tick = key === undefined ? undefined : s.ticks.get(key)
  const fact = tick?.done ?? tick?.started ?? tick?.pin
  const named = fact?.vessels?.filter((id) => s.vessels.some((v) => v.id === id))
  if (named && named.length > 0) return named
  const moved = s.transfers.filter((t) => t.taskKey === key && key !== undefined).flatMap((t) => t.toVesselId ?? [])
  return moved.length > 0 ? [...new Set(moved)] : undefined
}

const kindOf = (s: Setting, id: string, kinds: readonly VesselKind[]): boolean =>
  s.vessels.some((v) => v.id === id && kinds.includes(v.kind))

const byCode = (a: Vessel, b: Vessel): number => (a.code < b.code ? -1 : 1)

/** Kinds that answer a choice of fermenting vessel, best first. */
export const KINDS_FOR: Readonly<Record<VesselChoice, readonly VesselKind[]>> = {
  'jacketed-tank': ['tank', 'floating-lid', 'pressure-tank', 'cold-tank'],
  'pressure-tank': ['pressure-tank'],
  'unjacketed-tank': ['floating-lid', 'tank'],
  'new-barrel': ['barrel'],
  'used-barrel': ['barrel'],
  puncheon: ['puncheon'],
  cask: ['cask'],
  concrete: ['concrete'],
  amphora: ['amphora'],
  'open-tank': ['open-tank'],
}

export const SETTLING_KINDS: readonly VesselKind[] = ['tank', 'floating-lid', 'pressure-tank', 'cold-tank']
export const STORING_KINDS: readonly VesselKind[] = ['tank', 'floating-lid', 'pressure-tank', 'concrete', 'cold-tank']
export const COLD_KINDS: readonly VesselKind[] = ['cold-tank', 'tank', 'pressure-tank', 'floating-lid']
export const MUST_KINDS: readonly VesselKind[] = ['open-tank', 'tank', 'floating-lid']

export const isWood = (choice: VesselChoice): boolean =>
  choice === 'new-barrel' || choice === 'used-barrel' || choice === 'puncheon'

/** Only a jacket stops a ferment (S59). */
export const canStop = (choice: VesselChoice): boolean => choice === 'jacketed-tank' || choice === 'pressure-tank'

/** Barrels for a volume at the fill of a ferment, all of one size; new ones for the new share. */
export function barrelRoom(
  s: Setting,
  wish: {
    readonly volumeL: number
    readonly choice: VesselChoice
    readonly pins?: readonly string[]
    readonly filledBy?: string
    /** What other parts of the lot lie in: no barrel is counted twice. */
    readonly rows?: readonly Room[]
  },
): Room {
  const kind: VesselKind = wish.choice === 'puncheon' ? 'puncheon' : 'barrel'
  const isNew = (v: Vessel) => (v.fills ?? 0) === 0
  const fit = s.vessels
    .filter((v) => v.kind === kind && (kind === 'puncheon' || isNew(v) === (wish.choice === 'new-barrel')))
    .sort((a, b) => (a.fills ?? 0) - (b.fills ?? 0) || byRow(a, b))
  const done = filledWith(s, wish.filledBy)?.filter((id) => fit.some((v) => v.id === id))
  if (done && done.length > 0) return { ...roomOf(s, done), units: done }
  const pins = (wish.pins ?? []).filter((id) => fit.some((v) => v.id === id))
  const wanted = wantedBarrels(s, wish.volumeL, kind, pins)
  if (wanted) {
    const room = roomOf(s, wanted)
    const alike = fit
      .filter((v) => v.volumeL === room.eachL && !wanted.includes(v.id) && sameSite(s, v.id, wanted[0]))
      .map((v) => v.id)
    return { ...room, candidates: [...wanted, ...alike], wanted }
  }
  const sizes = [...new Set(fit.map((v) => v.volumeL))].sort((a, b) => a - b)
  for (const there of bySite(s.cellar, siteAt(s, 'ferment'), fit))
    for (const eachL of sizes) {
      const count = barrelCount(wish.volumeL, eachL)
      const alike = there.filter((v) => v.volumeL === eachL)
      const others = (wish.rows ?? []).filter((r) => r.candidates.some((id) => alike.some((v) => v.id === id)))
      if (count > 0 && alike.length - others.reduce((n, r) => n + r.count, 0) >= count)
        return { candidates: alike.map((v) => v.id), count, barrels: true, jacket: false, eachL }
    }
  const usualL = sizes[0] ?? 228
  return { candidates: [], count: barrelCount(wish.volumeL, usualL), barrels: true, jacket: false, eachL: usualL }
}

/** Pins of one size: as many as are filled well, not all that were named. */
function wantedBarrels(s: Setting, volumeL: number, kind: VesselKind, pins: readonly string[]) {
  const eachL = roomOf(s, pins).eachL
  const count = barrelCount(volumeL, eachL || 1)
  const alike = pins.every((id) => s.vessels.some((v) => v.id === id && v.volumeL === eachL))
  if (pins.length > 0 && alike && count <= pins.length) return pins.slice(0, count)
  return wantedUnits(s, { stage: 'ferment', volumeL, fill: FILL.barrelMost, kinds: [kind], pins })
}

/** Over 92 % full barrels in kegs: what the barrels take once the foam is over. */
const BARREL_KEG_SHARE = 1 - FILL.barrelMost

/** As many as are 88 to 92 % full of the volume, the little that is over in kegs; one more where it is not little. */
export const barrelCount = (volumeL: number, eachL: number): number => {
  const usual = Math.round(volumeL / (eachL * FILL.barrelFerment))
  const overL = volumeL - usual * eachL * FILL.barrelMost
  return Math.max(1, overL <= BARREL_KEG_SHARE * volumeL ? usual : Math.ceil(volumeL / (eachL * FILL.barrelMost)))
}

/** Litres in each barrel; what passes 92 % ferments in kegs beside them and tops them later. */
export const litresEach = (volumeL: number, room: Room): number =>
  Math.min(volumeL / room.count, room.eachL * FILL.barrelMost)

const byRow = (a: Vessel, b: Vessel): number => {
  const rows = (a.row ?? '').localeCompare(b.row ?? '', 'en')
  return rows || a.code.localeCompare(b.code, 'en', { numeric: true })
}
