import { inOrder, type Movement, vesselOf } from './movement.ts'

export interface TraceEdge {
  readonly movementId: string
  readonly atMs: number
  readonly from: string
  readonly to: string
  readonly volumeMl: number
  readonly lotId: string
  readonly cause: string
}

const end = (m: Movement, side: 'from' | 'to'): string => {
  const vesselId = vesselOf(m[side])
  return vesselId ?? `outside:${'outside' in m[side] ? m[side].outside : ''}`
}

const edge = (m: Movement): TraceEdge => ({
  movementId: m.id,
  atMs: m.atMs,
  from: end(m, 'from'),
  to: end(m, 'to'),
  volumeMl: m.volumeMl,
  lotId: m.lotId,
  cause: m.cause,
})

/**
 * Every movement that brought wine, however little, to a vessel by a moment: how did it get there.
 * Walks back in time; a vessel counts only from when it was last empty.
 */
export function traceBack(movements: readonly Movement[], vesselId: string, atMs: number): TraceEdge[] {
  const ordered = inOrder(movements).filter((m) => m.atMs <= atMs)
  const volumeAfter = runningVolumes(ordered)
  const wanted = new Map<string, number>([[vesselId, ordered.length]])
  const found: TraceEdge[] = []
  for (let i = ordered.length - 1; i >= 0; i--) {
    const m = ordered[i]!
    const to = vesselOf(m.to)
    if (to === undefined || !wanted.has(to)) {
      forgetEmptied(wanted, m, volumeAfter[i]!)
      continue
    }
    found.push(edge(m))
    const from = vesselOf(m.from)
    if (from !== undefined && !wanted.has(from)) wanted.set(from, i)
    if (volumeAfter[i]!.toBefore === 0) wanted.delete(to)
  }
  return found.reverse()
}

/** Every movement that carried wine of a vessel on from a moment: where did it go. */
export function traceForward(movements: readonly Movement[], vesselId: string, fromMs: number): TraceEdge[] {
  const ordered = inOrder(movements)
  const volumeAfter = runningVolumes(ordered)
  const carrying = new Set([vesselId])
  const found: TraceEdge[] = []
  ordered.forEach((m, i) => {
    if (m.atMs < fromMs) return
    const from = vesselOf(m.from)
    const to = vesselOf(m.to)
    if (from !== undefined && carrying.has(from)) {
      found.push(edge(m))
      if (to !== undefined) carrying.add(to)
      if (volumeAfter[i]!.fromAfter === 0) carrying.delete(from)
    }
  })
  return found
}

interface Volumes {
  readonly toBefore: number
  readonly fromAfter: number
}

function runningVolumes(ordered: readonly Movement[]): Volumes[] {
  const ml = new Map<string, number>()
  return ordered.map((m) => {
    const from = vesselOf(m.from)
    const to = vesselOf(m.to)
    const toBefore = to === undefined ? 0 : (ml.get(to) ?? 0)
    if (from !== undefined) ml.set(from, (ml.get(from) ?? 0) - m.volumeMl)
    if (to !== undefined) ml.set(to, toBefore + m.volumeMl)
    return { toBefore, fromAfter: from === undefined ? 0 : (ml.get(from) ?? 0) }
  })
}

/** Going back in time past the moment a wanted vessel was emptied, what was in it before is another wine. */
function forgetEmptied(wanted: Map<string, number>, m: Movement, volumes: Volumes): void {
  const from = vesselOf(m.from)
  if (from !== undefined && wanted.has(from) && volumes.fromAfter === 0) wanted.delete(from)
}
