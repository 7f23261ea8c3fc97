import type { DemandWire } from '../queries.ts'

export interface DemandDay {
  readonly on: string
  readonly mostKW: number
  readonly shortHours: number
  readonly co2M3PerH: number
  readonly freshAirM3PerH: number
  /** Names of the largest loads in the hardest hour. */
  readonly largest: readonly string[]
}

/** The hardest hour of each cellar day, in order. */
export function daysOfDemand(hours: DemandWire['hours'], dayOf: (moment: string) => string): readonly DemandDay[] {
  const byDay = new Map<string, DemandWire['hours'][number][]>()
  for (const hour of hours) {
    const on = dayOf(hour.at)
    byDay.set(on, [...(byDay.get(on) ?? []), hour])
  }
  return [...byDay].map(([on, own]) => {
    const hardest = own.reduce((a, b) => (b.coolingKW > a.coolingKW ? b : a))
    return {
      on,
      mostKW: hardest.coolingKW,
      shortHours: own.filter((hour) => hour.shortKW > 0).length,
      co2M3PerH: Math.max(...own.map((hour) => hour.co2M3PerH)),
      freshAirM3PerH: Math.max(...own.map((hour) => hour.freshAirM3PerH)),
      largest: hardest.loads.slice(0, 3).map((load) => load.name),
    }
  })
}
