import { lastAlone, soonestAlone } from './alone.ts'
import { type Books, claimsOf, dayPieces, overfull } from './claims.ts'
import type { Crew } from './crew.ts'
import type { Desk, HoldRoom, Loose, Slot } from './desk.ts'
import type { Model } from './model.ts'

/** Where work that is planned to the day could stand. */
export interface DayDesk {
  /** Its place at exactly this minute, whatever the day has left; without its units. */
  readonly slot: (i: number, startMin: number) => Omit<Slot, 'units'>
  readonly find: Desk['find']
}

/** What the desk knows of any work. */
interface Around {
  readonly ends: (i: number, startMin: number, crew: Crew) => Pick<Slot, 'endMin' | 'crewEndMin'>
  /** Units for each use of a task, or the next start worth trying. */
  readonly units: (
    i: number,
    startMin: number,
    endMin: number,
    back: boolean,
    loose: Loose | undefined,
  ) => number[][] | number
  readonly holdRoom: HoldRoom | undefined
}

export function dayDeskOf(model: Model, books: Books, { ends, units, holdRoom }: Around): DayDesk {
  const slot: DayDesk['slot'] = (i, startMin) => {
    const crew: Crew = { people: [], pieces: dayPieces(model, i, startMin) }
    return { startMin, ...ends(i, startMin, crew), crew }
  }

  /**
   * The first day (or the last, going back) that has enough left, at the first minute at which the work could be begun
   * there were it alone. Hands and skills it may overdraw as `crew`, machines and vessels as `units`.
   */
  const find: DayDesk['find'] = (i, fromMin, untilMin, back = false, loose) => {
    let t = back ? untilMin : fromMin
    for (let guard = 0; guard < 2_000; guard++) {
      if (loose !== 'window') t = back ? lastAlone(model, i, t, fromMin) : soonestAlone(model, i, t)
      if (!Number.isFinite(t) || t < fromMin || t > untilMin) return undefined
      const at = slot(i, t)
      const wants = claimsOf(model, i, at).filter((c) => loose !== (c.ref.startsWith('pool') ? 'units' : 'crew'))
      const day = model.days.of(t)
      let retry: number | undefined
      if (overfull(model, books, wants)) {
        // Beyond the plan nobody has a shift.
        if (t > model.problem.horizonMin && !back) return undefined
        retry = back ? model.days.from(day) - 1 : model.days.from(day + 1)
      } else {
        const found = units(i, t, at.endMin, back, loose)
        if (typeof found === 'number') retry = found
        else {
          const whole = { ...at, units: found }
          retry = loose === 'units' ? undefined : holdRoom?.(i, whole, back, loose === 'taken')
          if (retry === undefined) return whole
        }
      }
      t = back ? Math.min(retry, t - 1) : Math.max(retry, t + 1)
    }
    return undefined
  }

  return { slot, find }
}
