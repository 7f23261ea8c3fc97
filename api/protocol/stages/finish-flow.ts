import type { Temporal } from '../../time.ts'
import { type Body, COLD_KINDS, chosen, holdOf, roomFor, STORING_KINDS } from '../rooms.ts'
import { HOUR, type Setting, wallMin } from '../setting.ts'
import { FILL } from '../volumes.ts'
import { keyOf, type Part, type Wait } from '../work.ts'
import { CLEANING, type CleaningFor } from './cleaning.ts'
import { sum } from './settling.ts'

/** Where the wine is, and what the next work on it waits for. */
export interface Flow {
  readonly part: Part
  readonly bodies: readonly Body[]
  readonly ready: readonly Wait[]
}

export const at = (s: Setting, on: Temporal.PlainDate, hour: number): number => wallMin(s, on, hour * HOUR)

export const near = (s: Setting, on: Temporal.PlainDate, hour: number) => ({ nearMin: at(s, on, hour) })

export const holdsOf = (bodies: readonly Body[]): readonly string[] => bodies.map((b) => b.hold)

export const litresOf = (bodies: readonly Body[]): number => sum(bodies.map((b) => b.volumeL))

export const keys = (waits: readonly Wait[]): readonly Wait[] => waits.map((w) => ({ key: w.key }))

/** All of the lot into one vessel (or two alike): the next hold. */
export function into(
  s: Setting,
  name: string,
  volumeL: number,
  from: readonly Body[],
  purpose: CleaningFor,
  filledBy: string,
  wish: { readonly cold?: boolean; readonly pins?: readonly string[] },
): Body {
  const leaving = from.flatMap((b) => chosen(b.room))
  return {
    hold: `${s.lot.code}/${name}`,
    label: '',
    volumeL,
    room: roomFor(s, {
      stage: name === 'finish' ? 'finish' : 'cold',
      volumeL,
      fill: FILL.store,
      kinds: wish.cold ? COLD_KINDS : STORING_KINDS,
      cold: wish.cold,
      pins: wish.pins?.filter((id) => !leaving.includes(id)),
      filledBy,
      not: leaving,
    }),
    since: { task: keyOf(s, 'clean-tank', CLEANING[purpose]), edge: 'start' },
  }
}

export const closing = (s: Setting, bodies: readonly Body[], key: string): Part => ({
  works: [],
  links: [],
  holds: bodies.map((b) => holdOf(s, b, { task: key, edge: 'end' })),
})
