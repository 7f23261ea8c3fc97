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
export function staysByVessel(phases: readonly Phase[]): ReadonlyMap<string, readonly Stay[]> {
  const stays = new Map<string, Stay[]>()
  const inOrder = [...phases].sort((a, b) => a.startAt.epochMilliseconds - b.startAt.epochMilliseconds)
  for (const phase of inOrder) {
    for (const id of phase.vessels) {
      const list = stays.get(id) ?? []
      const last = list.at(-1)
      if (last && last.lotId === phase.lotId && last.toAt.epochMilliseconds >= phase.startAt.epochMilliseconds) {
        const toAt = later(last.toAt, phase.endAt)
        list[list.length - 1] = { ...last, toAt, volumeL: share(phase) }
      } else {
        list.push({
          lotId: phase.lotId,
          lotCode: phase.lotCode,
          volumeL: share(phase),
          fromAt: phase.startAt,
          toAt: phase.endAt,
        })
      }
      stays.set(id, list)
    }
  }
  return stays
}

/** Split evenly over the vessels of a phase: the plan knows no other split. */
const share = (phase: Phase) => Math.round(phase.volumeL / Math.max(1, phase.vessels.length))

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
