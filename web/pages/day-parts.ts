import type { TaskWire } from '../../api/wire.ts'
import { byText } from '../by-code.ts'
import { inWalkingOrder } from '../floor/walk.ts'
import { addDays, msOf, startOfDay } from '../format.ts'

const isOpen = (task: TaskWire) => !['done', 'skipped', 'cancelled'].includes(task.state)

export interface DayParts {
  readonly late: readonly TaskWire[]
  readonly underway: readonly TaskWire[]
  readonly before: readonly TaskWire[]
  readonly rest: readonly TaskWire[]
  readonly done: readonly TaskWire[]
}

/** Late first; then what is being done; then what may not wait until the next morning; then the rest by window and walking order. */
export function partsOfDay(tasks: readonly TaskWire[], on: string, zone: string, nowMs: number): DayParts {
  const startMs = msOf(startOfDay(on, zone))
  const endMs = msOf(startOfDay(addDays(on, 1), zone))
  const touches = (task: TaskWire) => msOf(task.startAt) < endMs && msOf(task.endAt) > startMs
  const inOrder = [...tasks].sort((a, b) => byText(a.startAt, b.startAt) || byText(a.key, b.key))
  const open = inOrder.filter(isOpen)
  const isLate = (task: TaskWire) => task.late || (msOf(task.endAt) <= startMs && msOf(task.endAt) < nowMs)
  const underway = open.filter((task) => task.state === 'underway')
  const waiting = open.filter((task) => task.state !== 'underway')
  const late = waiting.filter(isLate)
  const today = waiting.filter((task) => !isLate(task) && touches(task))
  const before = today.filter((task) => msOf(task.latestAt) < endMs)
  return {
    late,
    underway,
    before: [...before].sort((a, b) => byText(a.latestAt, b.latestAt)),
    rest: inWalkingOrder(today.filter((task) => !before.includes(task))),
    done: inOrder.filter(
      (task) =>
        (task.state === 'done' || task.state === 'skipped') &&
        (task.doneAt ? msOf(task.doneAt) >= startMs && msOf(task.doneAt) < endMs : touches(task)),
    ),
  }
}
