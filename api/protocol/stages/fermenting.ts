import type { FermentForecast } from '../../cellar/fermentation.ts'
import { dryWhen, stopWhen, type When } from '../forecast.ts'
import type { Body } from '../rooms.ts'
import { DAY, endMinOf, HOUR, isDone, type Setting } from '../setting.ts'
import { joined, keyOf, type Part, work } from '../work.ts'
import { followCourse } from './course.ts'
import { fillWood } from './filling.ts'
import { pitch, watchStart } from './pitching.ts'
import type { Must } from './settling.ts'

/** Wine at the end of its ferment, still where it fermented. */
export interface Fermented {
  readonly part: Part
  readonly bodies: readonly Body[]
  /** The work that says it is over. */
  readonly ended: string
  readonly ends: When
  readonly startMin: number
  /** Yeast in, or the vessel filled where none is put in. */
  readonly anchorKey: string
  readonly lastRound?: string
}

export function fermenting(s: Setting, must: Must, bodies: readonly Body[], ferment: FermentForecast): Fermented {
  const wood = bodies.filter((b) => b.room.barrels)
  const filling = wood.length > 0 ? fillWood(s, must, wood) : undefined
  const pitching = s.choices.yeast === 'ambient' ? undefined : pitch(s, must, bodies, filling?.key)
  const anchorKey = pitching?.key ?? filling?.key ?? must.racked[0]!.key
  const guess = pitching ? pitching.guessMin : (filling?.guessMin ?? must.readyMin)
  const startMin = endMinOf(s, anchorKey, guess, HOUR)
  const ends = stops(s) ? stopWhen(s, ferment, startMin) : dryWhen(s, ferment, startMin)
  const watching = pitching ? undefined : watchStart(s, anchorKey, startMin, bodies)
  const course = followCourse(s, bodies, ferment, {
    anchorKey,
    startMin,
    firstAfter: watching?.last,
    untilMin: ends.likelyMin,
  })
  return {
    part: joined(filling?.part, pitching?.part, watching?.part, course.part),
    bodies,
    ended: keyOf(s, 'check-dry'),
    ends,
    startMin,
    anchorKey,
    lastRound: course.last ?? watching?.last ?? anchorKey,
  }
}

/** Dryness is declared by the lab when the readings are flat. */
export function checkDry(s: Setting, f: Fermented): Part {
  const spread = f.ends.known
    ? undefined
    : { earlierMin: f.ends.likelyMin - f.ends.earliestMin, laterMin: f.ends.latestMin - f.ends.likelyMin }
  return work(s, 'check-dry', {
    after: [
      f.lastRound
        ? { key: f.lastRound, maxMin: 4 * DAY, strength: 'soft', reason: 'after the flat readings' }
        : undefined,
    ],
    releaseMin: isDone(s, keyOf(s, 'check-dry')) ? undefined : f.ends.likelyMin,
    from: f.bodies.map((b) => b.hold),
    forecast: !f.ends.known,
    spread,
    detail:
      s.choices.endPoint === 'by-itself'
        ? 'has it stopped by itself: sugar, density, VA'
        : 'glucose and fructose under 4 g/L, density flat two days',
  })
}

export const stops = (s: Setting): boolean => s.choices.endPoint === 'stop'
