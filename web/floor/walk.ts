/** In which order a person walks a day's work, and what part of it is theirs. */
import type { PersonWire, TaskWire, VesselWire } from '../../api/wire.ts'
import { byCode, byText } from '../by-code.ts'
import { msOf } from '../format.ts'

/** Work that may begin within the same half hour is walked vessel by vessel. Common practice. */
const WINDOW_MS = 30 * 60_000

/** The vessels a person must go to first: where the wine is, else where it is to go. */
export const placesOf = (task: Pick<TaskWire, 'fromVessels' | 'toVessels'>): readonly string[] =>
  task.fromVessels.length > 0 ? task.fromVessels : task.toVessels

export const movesWine = (task: Pick<TaskWire, 'fromVessels' | 'toVessels'>): boolean =>
  task.fromVessels.length > 0 && task.toVessels.length > 0 && task.toVessels.join() !== task.fromVessels.join()

/** By window, then along the vessels, then by time and key, so that two phones show one order. */
export function inWalkingOrder(tasks: readonly TaskWire[]): readonly TaskWire[] {
  const slot = (task: TaskWire) => Math.floor(msOf(task.startAt) / WINDOW_MS)
  return [...tasks].sort(
    (a, b) =>
      slot(a) - slot(b) ||
      byCode(placesOf(a)[0] ?? '~', placesOf(b)[0] ?? '~') ||
      byText(a.startAt, b.startAt) ||
      byText(a.key, b.key),
  )
}

/** Whose list it is: everybody's, one person's, one team's, or that of a place. */
export type Whose =
  | { readonly kind: 'all' }
  | { readonly kind: 'person'; readonly id: string }
  | { readonly kind: 'team'; readonly post: string }
  | { readonly kind: 'place'; readonly place: string }

export const whoseOf = (text: string): Whose => {
  const [kind, ...rest] = text.split(':')
  const name = rest.join(':')
  if (kind === 'team') return { kind, post: name }
  if (kind === 'place') return { kind, place: name }
  return text === '' ? { kind: 'all' } : { kind: 'person', id: text }
}

/** A row of barrels, or the kind of vessel where there are no rows. */
export const placeOf = (vessel: Pick<VesselWire, 'row' | 'kind'>): string =>
  vessel.row ? `row ${vessel.row}` : vessel.kind

export interface Crowd {
  readonly people: readonly Pick<PersonWire, 'id' | 'post'>[]
  readonly vessels: readonly Pick<VesselWire, 'code' | 'row' | 'kind'>[]
}

export function tasksOf(tasks: readonly TaskWire[], whose: Whose, crowd: Crowd): readonly TaskWire[] {
  if (whose.kind === 'all') return tasks
  if (whose.kind === 'person') return tasks.filter((task) => peopleOf(task).includes(whose.id))
  if (whose.kind === 'team') {
    const team = new Set(crowd.people.filter((person) => person.post === whose.post).map((person) => person.id))
    return tasks.filter((task) => peopleOf(task).some((id) => team.has(id)))
  }
  const here = new Set(crowd.vessels.filter((vessel) => placeOf(vessel) === whose.place).map((vessel) => vessel.code))
  return tasks.filter((task) => [...task.fromVessels, ...task.toVessels].some((code) => here.has(code)))
}

const peopleOf = (task: TaskWire): readonly string[] => [
  ...(task.donePeople ?? task.people),
  ...(task.taken ? [task.taken.personId] : []),
]

/** Whether two typed digits, or a scanned tag, mean one of these vessels. `T07` and `B7` end in the digits 07 and 7. */
export function isVessel(codes: readonly string[], typed: string): boolean {
  const plain = typed.trim().toUpperCase()
  if (plain === '') return false
  return codes.some((code) => code.toUpperCase() === plain || digitsOf(code) === digitsOf(plain))
}

/** The last two digits of what is painted on a vessel, `7` as `07`. A code without digits is asked for whole. */
export const digitsOf = (code: string): string => {
  const digits = code.replace(/\D/g, '')
  return digits === '' ? code.toUpperCase() : digits.slice(-2).padStart(2, '0')
}

/** The vessel a scanned tag leads to: its code at the end of the address of its page. */
export function vesselOfTag(text: string): string | undefined {
  const found = /\/v\/([A-Za-z0-9._-]{1,16})$/.exec(text.trim())
  return found?.[1] ? decodeURIComponent(found[1]) : undefined
}

/** Still to be done. */
export const isOpen = (task: Pick<TaskWire, 'state'>): boolean =>
  task.state === 'planned' || task.state === 'due' || task.state === 'blocked' || task.state === 'underway'
