/** In what order rows stand, which of them are one, and under which heads. */
import { byCode } from '../by-code.ts'
import type { Intervals } from './interval.ts'
import { LATE, type Model } from './model.ts'
import type { Draft, Row, SortBy } from './rows.ts'

/** Barrels that go the same way are one row; those that stand empty are none. Tanks come first. */
export function mergeBarrels(drafts: readonly Draft[], model: Model): readonly Draft[] {
  const barrels = new Set(model.plan.vessels.filter((v) => SMALL.has(v.kind)).map((v) => v.code))
  const tanks = drafts.filter((d) => !barrels.has(d.id)).toSorted((a, b) => byCode(a.id, b.id))
  const alike = new Map<string, Draft[]>()
  for (const d of drafts.filter((d) => barrels.has(d.id)).toSorted((a, b) => byCode(a.id, b.id))) {
    if (d.bands.length + d.tasks.length === 0) continue
    const way = d.bands.join(' ')
    alike.set(way, [...(alike.get(way) ?? []), d])
  }
  const merged = [...alike.values()].flatMap((group) => {
    const first = group[0]
    if (!first) return []
    const tasks = [...new Set(group.flatMap((d) => d.tasks))]
    return [
      group.length === 1
        ? first
        : {
            ...first,
            label: `${first.label} and ${group.length - 1} more`,
            note: `${group.length} ${first.group}s`,
            tasks,
          },
    ]
  })
  return [...tanks, ...merged]
}

const SMALL: ReadonlySet<string> = new Set(['barrel', 'puncheon', 'keg'])

export function sortRows<T extends Draft>(
  drafts: readonly T[],
  model: Model,
  sort: SortBy,
  nowMs: number,
): readonly T[] {
  const weight = (d: T): number => {
    if (d.kind === 'house') return Number.POSITIVE_INFINITY
    if (sort === 'late') return -d.tasks.filter((ix) => (model.flags[ix] as number) & LATE).length
    return d.tasks.reduce(
      (best, ix) =>
        (model.endMs[ix] as number) >= nowMs && model.state[ix] !== 3
          ? Math.min(best, model.startMs[ix] as number)
          : best,
      8e15,
    )
  }
  const byName = (a: T, b: T) => Number(a.kind === 'house') - Number(b.kind === 'house') || byCode(a.id, b.id)
  if (sort === 'name') return drafts.some((d) => d.kind === 'lot') ? [...drafts].sort(byName) : drafts
  const weights = new Map(drafts.map((d) => [d.id, weight(d)]))
  return [...drafts].sort((a, b) => (weights.get(a.id) ?? 0) - (weights.get(b.id) ?? 0) || byName(a, b))
}

const NONE: Intervals = { ix: new Int32Array(0), startMs: new Float64Array(0), reachMs: new Float64Array(0) }

export function groupRows(rows: readonly Row[], folded: readonly string[]): readonly Row[] {
  const groups = new Map<string, Row[]>()
  for (const row of rows) groups.set(row.group, [...(groups.get(row.group) ?? []), row])
  return [...groups].flatMap(([name, members]) => {
    const id = `group ${name}`
    const isFolded = folded.includes(id)
    const head: Row = {
      id,
      kind: 'group',
      label: name,
      note: String(members.length),
      group: name,
      folded: isFolded,
      bands: NONE,
      tasks: NONE,
      lanes: new Uint8Array(0),
      laneCount: 1,
      shut: [],
    }
    return isFolded ? [head] : [head, ...members]
  })
}
