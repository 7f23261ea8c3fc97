import type { Body } from '../rooms.ts'
import { type Setting, wallNear } from '../setting.ts'
import { keyOf, type Part, type Wait, work } from '../work.ts'

/** Which washing a count means; a count keeps its meaning whatever the lot's choices are. */
export const CLEANING = {
  settle: 1,
  ferment: 2,
  lees: 3,
  rackOut: 4,
  fining: 5,
  cold: 6,
  filter: 7,
  blend: 8,
  stop: 9,
  skins: 10,
} as const
export type CleaningFor = keyof typeof CLEANING

/** A sanitised tank stays so for a day (common practice). */
const VALID_MIN = 24 * 60

export const cleaned = (s: Setting, purpose: CleaningFor): Wait => ({
  key: keyOf(s, 'clean-tank', CLEANING[purpose]),
  maxMin: VALID_MIN,
  reason: 'sanitised more than 24 h ago is not sanitised',
})

/** Tanks washed and sanitised the afternoon before they are filled. */
export function cleanTanks(s: Setting, purpose: CleaningFor, bodies: readonly Body[], fillMin: number): Part {
  const tanks = bodies.filter((b) => !b.room.barrels)
  const washL = tanks.reduce((sum, b) => sum + b.room.eachL * b.room.count, 0)
  return work(s, 'clean-tank', {
    count: CLEANING[purpose],
    volumeL: washL,
    to: tanks.map((b) => b.hold),
    bias: { nearMin: wallNear(s, fillMin, -1, 15 * 60) },
    detail: `for ${PURPOSE[purpose]}`,
  })
}

const PURPOSE: Readonly<Record<CleaningFor, string>> = {
  settle: 'settling',
  ferment: 'the ferment',
  lees: 'racking off the gross lees',
  rackOut: 'racking out of wood',
  fining: 'racking off the fining',
  cold: 'the cold',
  filter: 'the filtered wine',
  blend: 'the blend',
  stop: 'stopping',
  skins: 'the pressed wine',
}
