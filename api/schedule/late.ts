import type { Booking } from './bookings.ts'
import type { Ground } from './build.ts'
import type { Slot } from './desk.ts'
import { crossedBy, latestBeside } from './neighbours.ts'
import { factOf } from './network.ts'

/** Work that should be as late as it may moves right, the last first, up to what comes after it. */
export function moveLate(
  ground: Ground,
  slots: Slot[],
  find: (i: number, fromMin: number, untilMin: number, back?: boolean) => Slot | undefined,
  book: (i: number, slot: Slot) => void,
  free: (i: number) => void,
  settleHolds: (i: number) => readonly Booking[],
): void {
  const { model, target } = ground
  const late = [...model.tasks.keys()]
    .filter((i) => model.tasks[i]!.bias === 'late' && factOf(model, i) === undefined && target[i] === undefined)
    .sort((a, b) => slots[b]!.startMin - slots[a]!.startMin || b - a)
  for (const i of late) {
    const old = slots[i]!
    const until = latestBeside(model, slots, i)
    if (!(until < Infinity) || until <= old.startMin) continue
    free(i)
    const found = find(i, old.startMin + 1, until, true)
    const slot = found && crossedBy(model, slots, i, found).length === 0 ? found : old
    book(i, slot)
    slots[i] = slot
    if (slot === old) continue
    if (settleHolds(i).length === 0) continue
    free(i)
    book(i, old)
    slots[i] = old
    settleHolds(i)
  }
}
