import { inOrder, type Movement, vesselOf } from './movement.ts'
import type { LedgerFault } from './replay.ts'

/** A vessel after one movement: litres and lot before and after it. Whole millilitres. */
export interface Level {
  readonly vesselId: string
  readonly movementId: string
  readonly atMs: number
  readonly entry: number
  readonly beforeMl: number
  readonly afterMl: number
  /** Absent: it was, or is, empty. */
  readonly beforeLotId?: string
  readonly afterLotId?: string
  /** The movement since which it has not been empty. */
  readonly sinceMs: number
  readonly sinceEntry: number
}

export interface PageFault {
  readonly movementId: string
  readonly why: LedgerFault
  readonly vesselId: string
  readonly hadMl: number
  readonly askedMl: number
  readonly hadLotId?: string
}

export interface Page {
  readonly levels: readonly Level[]
  /** Movements that could not have happened at this vessel; the page goes on without them. */
  readonly faults: readonly PageFault[]
}

/** What a vessel holds between movements. */
interface Held {
  readonly ml: number
  readonly lotId: string | undefined
  readonly sinceMs: number
  readonly sinceEntry: number
}

/**
 * The page of one vessel: its level after every movement that touches it, in order of time.
 *
 * @param movements those of the vessel that stand; others are passed over
 * @param after     the level it goes on from; absent: it was empty
 * @param limitMl   the most it holds; absent: not checked
 */
export function pageOf(
  vesselId: string,
  movements: readonly Movement[],
  after?: Level,
  limitMl: number = Number.POSITIVE_INFINITY,
): Page {
  const levels: Level[] = []
  const faults: PageFault[] = []
  let held: Held = {
    ml: after?.afterMl ?? 0,
    lotId: after?.afterLotId,
    sinceMs: after?.sinceMs ?? 0,
    sinceEntry: after?.sinceEntry ?? 0,
  }
  for (const m of inOrder(movements)) {
    const goesIn = vesselOf(m.to) === vesselId
    const goesOut = vesselOf(m.from) === vesselId
    if (!goesIn && !goesOut) continue
    const why = refused(m, held, goesIn, goesOut, limitMl)
    if (why) {
      const hadLot = held.lotId === undefined ? {} : { hadLotId: held.lotId }
      faults.push({ movementId: m.id, why, vesselId, hadMl: held.ml, askedMl: m.volumeMl, ...hadLot })
      continue
    }
    const ml = held.ml + (goesIn ? m.volumeMl : 0) - (goesOut ? m.volumeMl : 0)
    const lotId = ml === 0 ? undefined : goesIn ? m.lotId : held.lotId
    const begins = held.ml === 0
    const next: Held = {
      ml,
      lotId,
      sinceMs: begins ? m.atMs : held.sinceMs,
      sinceEntry: begins ? m.entry : held.sinceEntry,
    }
    levels.push({
      vesselId,
      movementId: m.id,
      atMs: m.atMs,
      entry: m.entry,
      beforeMl: held.ml,
      afterMl: ml,
      ...(held.lotId === undefined ? {} : { beforeLotId: held.lotId }),
      ...(lotId === undefined ? {} : { afterLotId: lotId }),
      sinceMs: next.sinceMs,
      sinceEntry: next.sinceEntry,
    })
    held = next
  }
  return { levels, faults }
}

function refused(m: Movement, held: Held, goesIn: boolean, goesOut: boolean, limitMl: number): LedgerFault | null {
  if (goesOut && held.ml < m.volumeMl) return 'not-so-much-there'
  if (goesOut && m.fromLotId !== undefined && m.fromLotId !== held.lotId) return 'another-lot-there'
  // Wine that becomes another lot where it lies does so as a whole: a part of one vessel is no lot.
  if (goesIn && goesOut && held.ml !== m.volumeMl) return 'another-lot-there'
  if (goesIn && !goesOut && held.ml + m.volumeMl > limitMl) return 'above-the-limit'
  return null
}

/** The last level at or before a moment; levels in order of time. */
export function levelAt(levels: readonly Level[], atMs: number): Level | undefined {
  return levels.findLast((l) => l.atMs <= atMs)
}
