import type { Hold, Problem } from '../schedule/types.ts'
import { isOfMachine } from './stages/stores.ts'
import type { TaskPlan } from './types.ts'
import type { Work } from './work.ts'

type Known = NonNullable<Problem['previous']>[number]
export type Berthed = Pick<TaskPlan, 'key' | 'machines'> & Partial<Pick<TaskPlan, 'fromVessels' | 'toVessels'>>

/**
 * Where the plan people know has the wine: its vessels and presses, read back from its tasks, so that a plan made anew
 * leaves each lot where it is. A task that touches one vessel alone says it plainly; of several the rest is left.
 */
export function knownHolds(
  holds: readonly Hold[],
  works: readonly Work[],
  tasks: ReadonlyMap<string, Berthed>,
): readonly Known[] {
  const mentions = new Map<string, { readonly alone: boolean; readonly units: readonly string[] }[]>()
  const mention = (keys: readonly string[], units: readonly string[] | undefined) => {
    if (!units || units.length === 0) return
    for (const key of keys) {
      const one = { alone: keys.length === 1, units }
      const list = mentions.get(key)
      if (list) list.push(one)
      else mentions.set(key, [one])
    }
  }
  for (const w of works) {
    const task = tasks.get(w.task.key)
    if (!task) continue
    mention(w.to, task.toVessels)
    mention(w.from, task.fromVessels)
  }
  const fits = (hold: Hold, units: readonly string[]) => units.filter((u) => hold.candidates.includes(u))
  const enough = (hold: Hold, units: readonly string[]) =>
    units.length >= Math.min(hold.count, hold.candidates.length) ? units.slice(0, hold.count) : undefined
  const plain = new Map<string, readonly string[]>()
  for (const hold of holds) {
    const said = (mentions.get(hold.key) ?? []).filter((m) => m.alone)
    const units =
      hold.units ??
      said.map((m) => enough(hold, fits(hold, m.units))).find((u) => u !== undefined) ??
      machineOf(hold, tasks, fits)
    if (units && units.length > 0) plain.set(hold.key, units)
  }
  return holds.flatMap((hold): Known[] => {
    const given = plain.get(hold.key)
    if (given) return [{ key: hold.key, startMin: 0, people: [], units: given }]
    const all = mentions.get(hold.key) ?? []
    const others = new Set(holds.filter((h) => h.group === hold.group).flatMap((h) => plain.get(h.key) ?? []))
    const union = [...new Set(all.flatMap((m) => fits(hold, m.units)))]
    const units =
      enough(
        hold,
        union.filter((u) => !others.has(u)),
      ) ?? enough(hold, union)
    return units && units.length > 0 ? [{ key: hold.key, startMin: 0, people: [], units }] : []
  })
}

/** `L01/press-2` is the press of the lot's second load, `L01/room-1` where the first day's fruit is cooled. */
function machineOf(
  hold: Hold,
  tasks: ReadonlyMap<string, Berthed>,
  fits: (hold: Hold, units: readonly string[]) => readonly string[],
): readonly string[] | undefined {
  if (!isOfMachine(hold.key)) return undefined
  const load = /\/press-(\d+)$/.exec(hold.key)?.[1]
  const loaded = load === undefined ? [] : [`${hold.group}/load-press/${load}`, `${hold.group}/press/${load}`]
  const keys = [...loaded, hold.from.task]
  return keys.map((key) => fits(hold, tasks.get(key)?.machines ?? [])).find((u) => u.length > 0)
}
