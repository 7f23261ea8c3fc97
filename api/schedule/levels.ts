import type { Model } from './model.ts'

/**
 * The bare core of a problem: lengths, lags between starts, amounts of shared units. Every plan has this core;
 * a problem without people, calendars, holds and fixed starts is nothing else, and is searched here much faster.
 */
export interface Levels {
  readonly size: number
  readonly length: Float64Array
  readonly release: Float64Array
  /** start of `to` >= start of `from` + lag. A maximum lag is an arc back with a negative lag. */
  readonly arcs: readonly Arc[]
  /** Amount of unit r that task i takes: `need[i * units + r]`. */
  readonly units: number
  readonly need: Float64Array
  readonly capacity: Float64Array
}

export interface Arc {
  readonly from: number
  readonly to: number
  readonly lagMin: number
}

/** The core of a problem that has nothing else; undefined when people, calendars, holds, pins or choices matter. */
export function levelsOf(model: Model): Levels | undefined {
  const { tasks, links, units, problem } = model
  if (problem.holds.length > 0 || problem.previous !== undefined) return undefined
  if (units.some((u) => u.open || u.turnaroundMin > 0 || (u.unit.booked?.length ?? 0) > 0)) return undefined
  if ([...model.poolUnits.values()].some((list) => list.length > 1)) return undefined
  if (links.some((l) => l.working || !l.hard)) return undefined
  const bare = tasks.every(
    (t) =>
      (t.crew === 0 || t.crewMin === 0) &&
      t.bias === 'early' &&
      !(t.startCalendar || t.pin || t.started || t.done || t.dueMin !== undefined) &&
      t.uses.every((use) => {
        const u = model.poolUnits.get(use.pool)?.[0]
        return (
          u !== undefined && use.amount <= units[u]!.unit.capacity && (use.units?.includes(units[u]!.unit.id) ?? true)
        )
      }),
  )
  if (!bare) return undefined
  const need = new Float64Array(tasks.length * units.length)
  tasks.forEach((t, i) => {
    for (const use of t.uses) need[i * units.length + model.poolUnits.get(use.pool)![0]!]! += use.amount
  })
  if (need.some((amount, k) => amount > units[k % units.length]!.unit.capacity)) return undefined
  return {
    size: tasks.length,
    length: Float64Array.from(tasks, (t) => t.elapsedMin),
    release: Float64Array.from(tasks, (t) => Math.max(problem.nowMin, t.releaseMin ?? 0)),
    arcs: links.flatMap((l): Arc[] => {
      const shift = l.fromEnd ? tasks[l.prev]!.elapsedMin : 0
      const min = { from: l.prev, to: l.next, lagMin: l.minLagMin + shift }
      const max = { from: l.next, to: l.prev, lagMin: -l.maxLagMin - shift }
      return [min, max].filter((a) => a.lagMin !== -Infinity)
    }),
    units: units.length,
    need,
    capacity: Float64Array.from(units, (u) => u.unit.capacity),
  }
}

/** The same problem with time running backward: what was an end becomes a start. */
export function mirrorOf(levels: Levels): Levels {
  const { length } = levels
  return {
    ...levels,
    release: new Float64Array(levels.size),
    arcs: levels.arcs.map(({ from, to, lagMin }) => ({
      from: to,
      to: from,
      lagMin: lagMin + length[to]! - length[from]!,
    })),
  }
}
