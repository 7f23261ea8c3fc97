import type { Ground } from './build.ts'
import type { Desk, Slot } from './desk.ts'
import { startFrom } from './lag.ts'
import { factOf } from './network.ts'

/** Pushed work looks for a free place this far on before it takes one that others have booked. */
const FAR_MIN = 30 * 1440

/**
 * The last word: work that stands before what must come first is pushed behind it, and so on down the line. A longest
 * lag may break by that and is reported; fruit that is pressed before it has come would be nonsense.
 */
export function pushBehind(
  { model, off }: Pick<Ground, 'model' | 'off'>,
  slots: Slot[],
  desk: Pick<Desk, 'find' | 'force' | 'book' | 'free'>,
  settleHolds: (i: number) => void,
): void {
  const bound = (i: number): number =>
    model.into[i]!.reduce((most, k) => {
      const l = model.links[k]!
      if (!l.hard || off.minOff[k]) return most
      const prev = slots[l.prev]!
      return Math.max(most, startFrom(l, l.fromEnd ? prev.endMin : prev.startMin, model.working))
    }, -Infinity)
  const early = (i: number) => factOf(model, i) === undefined && slots[i]!.startMin < bound(i)
  const queue = [...model.tasks.keys()].filter(early).sort((a, b) => slots[a]!.startMin - slots[b]!.startMin)
  for (let left = 4 * model.tasks.length; queue.length > 0 && left > 0; left--) {
    const i = queue.shift()!
    if (!early(i)) continue
    const from = bound(i)
    desk.free(i)
    const slot =
      desk.find(i, from, from + FAR_MIN) ?? desk.find(i, from, from + FAR_MIN, false, 'units') ?? desk.force(i, from)
    desk.book(i, slot)
    slots[i] = slot
    settleHolds(i)
    queue.push(...model.outOf[i]!.map((k) => model.links[k]!.next).filter(early))
  }
}
