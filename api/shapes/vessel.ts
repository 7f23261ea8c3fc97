import type { StoredVessel } from '../../db/queries/vessels.ts'
import type { Phase } from '../protocol/types.ts'
import type { Temporal } from '../time.ts'
import type { VesselWire } from '../wire.ts'
import { bookingsToWire } from './cellar.ts'

/** A stay of one lot in one vessel: phases of the same lot that follow each other there. */
interface Stay {
  readonly lotId: string
  readonly lotCode: string
  readonly volumeL: number
  readonly fromAt: Temporal.Instant
  readonly toAt: Temporal.Instant
}

/** Stays by vessel id, in order of time. */
export function staysByVessel(
  phases: readonly Phase[],
  vessels: readonly Pick<StoredVessel, 'id' | 'volumeL'>[],
): ReadonlyMap<string, readonly Stay[]> {
  const sizes = new Map(vessels.map((v) => [v.id, v.volumeL]))
  const stays = new Map<string, Stay[]>()
  const inOrder = [...phases].sort((a, b) => a.startAt.epochMilliseconds - b.startAt.epochMilliseconds)
  for (const phase of inOrder) {
    for (const id of phase.vessels) {
      const list = stays.get(id) ?? []
      const last = list.at(-1)
      if (last && last.lotId === phase.lotId && last.toAt.epochMilliseconds >= phase.startAt.epochMilliseconds) {
        const toAt = later(last.toAt, phase.endAt)
        list[list.length - 1] = { ...last, toAt, volumeL: share(phase, id, sizes) }
      } else {
        list.push({
          lotId: phase.lotId,
          lotCode: phase.lotCode,
          volumeL: share(phase, id, sizes),
          fromAt: phase.startAt,
          toAt: phase.endAt,
        })
      }
      stays.set(id, list)
    }
  }
  return stays
}

/** Split over the vessels of a phase by their size, as they are filled. */
function share(phase: Phase, id: string, sizes: ReadonlyMap<string, number>): number {
  const all = phase.vessels.reduce((litres, one) => litres + (sizes.get(one) ?? 0), 0)
  return Math.round(all > 0 ? (phase.volumeL * (sizes.get(id) ?? 0)) / all : 0)
}

const later = (a: Temporal.Instant, b: Temporal.Instant) => (a.epochMilliseconds >= b.epochMilliseconds ? a : b)

export function vesselToWire(
  v: StoredVessel,
  stays: readonly Stay[],
  lotNames: ReadonlyMap<string, string>,
  nowAt: Temporal.Instant,
): VesselWire {
  const nowMs = nowAt.epochMilliseconds
  const now = stays.find((s) => s.fromAt.epochMilliseconds <= nowMs && nowMs < s.toAt.epochMilliseconds)
  return {
    id: v.id,
    code: v.code,
    kind: v.kind,
    volumeL: v.volumeL,
    jacket: v.jacket,
    insulated: v.insulated,
    pressureBar: v.pressureBar,
    ...(v.row === undefined ? {} : { row: v.row }),
    ...(v.fills === undefined ? {} : { fills: v.fills }),
    ...(v.site === undefined ? {} : { site: v.site }),
    state: now ? 'full' : v.state === 'full' ? 'dirty' : v.state,
    now: now
      ? {
          lotCode: now.lotCode,
          lotName: lotNames.get(now.lotId) ?? now.lotCode,
          volumeL: now.volumeL,
          sinceAt: now.fromAt.toString(),
          freeAt: now.toAt.toString(),
        }
      : null,
    next: stays
      .filter((s) => s.fromAt.epochMilliseconds > nowMs)
      .map((s) => ({ lotCode: s.lotCode, fromAt: s.fromAt.toString(), toAt: s.toAt.toString() })),
    bookings: bookingsToWire(v.bookings),
    version: v.version,
  }
}
