/** When work is, in words: to the minute where it is near, else only its day. */
import type { TaskWire } from '../api/wire.ts'
import type { Format } from './format.ts'

type Timed = Pick<TaskWire, 'startAt' | 'endAt' | 'grain'>

/** Of its start only the day is meant; hour and hands are named nearer to it. */
export const isByDay = (task: Pick<TaskWire, 'grain'>): boolean => task.grain === 'day'

/** `Tue 23 Mar 08:00`, or `Tue 14 Sep`. */
export const startWords = (task: Pick<Timed, 'startAt' | 'grain'>, format: Format): string =>
  isByDay(task) ? format.dayMonth(task.startAt) : format.moment(task.startAt)

/** `Tue 23 Mar 08:00–09:30`; of work by the day `Tue 14 Sep`, or both its days. */
export function spanWords(task: Timed, format: Format): string {
  if (!isByDay(task)) return `${format.dayMonth(task.startAt)} ${format.span(task.startAt, task.endAt)}`
  const [first, last] = [format.dayMonth(task.startAt), format.dayMonth(task.endAt)]
  return first === last ? first : `${first} – ${last}`
}

/** Said where somebody is about to give it an hour. */
export const PINS_WORDS = 'Planned to the day so far. Given an hour here, it keeps it and is dealt out by name.'

/** Said where hours or names would stand. */
export const NEARER_WORDS = 'hour and hands named nearer to the day'

/** The same of hands alone, in a table. */
export const LATER_WORDS = 'named\u00a0later'
