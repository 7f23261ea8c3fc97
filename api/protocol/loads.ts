import type { Choices } from './choices.ts'
import type { Machine } from './facts.ts'

/** What enters the press decides how much it takes. */
export type Entering = 'wholeBunchT' | 'destemmedT' | 'fermentedT'

export interface PressLoad {
  readonly tonnes: number
  /** Presses that take it, best first. Empty: the cellar has none that runs the program. */
  readonly presses: readonly string[]
  readonly programH: number
  readonly washH: number
  readonly rinseH: number
  /** Told to people when the load lies outside what the press takes. */
  readonly outside?: string
}

/** Hours by program where a press names none. Common practice; S38 for standard. */
const USUAL_PROGRAM_H: Readonly<Record<Choices['pressProgram'], number>> = {
  short: 1.5,
  standard: 2.5,
  'whole-bunch-gentle': 3.25,
  'sparkling-fractions': 4,
  'long-slow': 6,
  basket: 3,
}

/** A press that takes the fruit. */
export interface AblePress {
  readonly machine: Machine
  /** Least and most, t. */
  readonly range: readonly [number, number]
  readonly hours: number
}

/** Presses that take the fruit, largest first. */
export function ablePresses(
  entering: Entering,
  program: Choices['pressProgram'],
  machines: readonly Machine[],
): readonly AblePress[] {
  return (
    machines
      .filter((m) => (m.kind === 'press' || m.kind === 'basket-press') && m.press)
      .map((m) => ({ machine: m, range: rangeOf(m, entering), hours: hoursOf(m, program) }))
      .flatMap(({ machine, range, hours }) => (range ? [{ machine, range, hours }] : []))
      // Where no press runs the program, what takes the fruit runs it as usual.
      .filter((p, _, all) => p.hours !== undefined || all.every((o) => o.hours === undefined))
      .map((p) => ({ ...p, hours: p.hours ?? USUAL_PROGRAM_H[program] }))
      .sort((a, b) => b.range[1] - a.range[1] || (a.machine.id < b.machine.id ? -1 : 1))
  )
}

/** A load on a press; others that would take it as well come after it. */
export const loadOn = (press: AblePress, tonnes: number, others: readonly AblePress[] = []): PressLoad => ({
  tonnes,
  presses: [press, ...others.filter((o) => o !== press && within(tonnes, o.range))].map((p) => p.machine.id),
  programH: press.hours,
  washH: press.machine.press!.washH,
  rinseH: press.machine.press!.rinseH,
  ...(tonnes < press.range[0] - 1e-9
    ? { outside: `under the least load of ${press.machine.code}, ${press.range[0]} t: add fruit or press by hand` }
    : {}),
})

/** Loads of equal fill over the two largest presses: fewest rounds first, then fewest loads. Every load within least and most. */
export function pressLoads(
  tonnes: number,
  entering: Entering,
  program: Choices['pressProgram'],
  machines: readonly Machine[],
): readonly PressLoad[] {
  const able = ablePresses(entering, program, machines)
  const [big, small] = able
  if (!big) return [{ tonnes, presses: [], programH: USUAL_PROGRAM_H[program], washH: 0.75, rinseH: 0.25 }]
  const alone = able.find((p) => within(tonnes, p.range))
  if (alone) return [loadOn(alone, tonnes, able)]
  if (tonnes <= big.range[1]) return [loadOn(able.at(-1)!.range[1] >= tonnes ? able.at(-1)! : big, tonnes)]
  for (let rounds = 1; rounds <= 60; rounds++) {
    for (let beside = 0; beside <= (small ? rounds : 0); beside++) {
      const roomT = rounds * big.range[1] + (small ? beside * small.range[1] : 0)
      if (roomT + 1e-9 < tonnes) continue
      const share = tonnes / roomT
      const bigs = Array.from({ length: rounds }, () => loadOn(big, share * big.range[1]))
      const smalls = small ? Array.from({ length: beside }, () => loadOn(small, share * small.range[1])) : []
      return Array.from({ length: rounds }, (_, r) => [bigs[r]!, smalls[r]]).flatMap((pair) =>
        pair.flatMap((l) => l ?? []),
      )
    }
  }
  return [loadOn(big, tonnes)]
}

const within = (t: number, [least, most]: readonly [number, number]): boolean => t >= least - 1e-9 && t <= most + 1e-9

/** A press named only for another kind of fruit takes fermented skins as it takes destemmed fruit. */
function rangeOf(m: Machine, entering: Entering): readonly [number, number] | undefined {
  const press = m.press!
  return press[entering] ?? (entering === 'fermentedT' ? press.destemmedT : undefined)
}

/** A press runs what it names; one that names no hours at all runs everything as usual. */
function hoursOf(m: Machine, program: Choices['pressProgram']): number | undefined {
  const named = m.press!.programH
  if (named[program] !== undefined) return named[program]
  if (program === 'short' && named.standard !== undefined) return Math.max(USUAL_PROGRAM_H.short, named.standard - 1)
  return Object.keys(named).length === 0 ? USUAL_PROGRAM_H[program] : undefined
}
