import type { Hold, Link, Problem, Task } from './types.ts'

/** All work of one lot. A link stands with the lot of its `next`. */
export interface Group {
  readonly group: string
  readonly tasks: readonly Task[]
  readonly links: readonly Link[]
  readonly holds: readonly Hold[]
}

/** The work of a problem, lot by lot, in the order in which the lots first appear. */
export function groupsOf(problem: Pick<Problem, 'tasks' | 'links' | 'holds'>): readonly Group[] {
  const groups = new Map<string, { group: string; tasks: Task[]; links: Link[]; holds: Hold[] }>()
  const of = (group: string) => {
    let found = groups.get(group)
    if (!found) {
      found = { group, tasks: [], links: [], holds: [] }
      groups.set(group, found)
    }
    return found
  }
  const groupOf = new Map<string, string>()
  for (const task of problem.tasks) {
    groupOf.set(task.key, task.group)
    of(task.group).tasks.push(task)
  }
  for (const link of problem.links) of(groupOf.get(link.next)!).links.push(link)
  // A hold stands with the task it begins with, whatever group it is booked under.
  for (const hold of problem.holds) of(groupOf.get(hold.from.task)!).holds.push(hold)
  return [...groups.values()]
}

/** Lots tied to each other by links or holds (a blend and its parts), each set in the order given. */
export function bundled(
  groups: readonly Group[],
  groupOf: (key: string) => string | undefined,
): readonly (readonly Group[])[] {
  const at = new Map(groups.map((g, i) => [g.group, i]))
  const root = groups.map((_, i) => i)
  const find = (i: number): number => {
    let x = i
    while (root[x] !== x) {
      root[x] = root[root[x]!]!
      x = root[x]!
    }
    return x
  }
  groups.forEach((g, i) => {
    for (const key of awayKeys(g, groupOf)) {
      const j = at.get(groupOf(key) ?? '')
      if (j !== undefined) root[find(j)] = find(i)
    }
  })
  const sets = new Map<number, Group[]>()
  groups.forEach((g, i) => {
    const set = sets.get(find(i))
    if (set) set.push(g)
    else sets.set(find(i), [g])
  })
  return [...sets.values()]
}

/** Keys of other lots' tasks that a lot's links and holds name. */
export function awayKeys(g: Group, groupOf: (key: string) => string | undefined): readonly string[] {
  const away = (key: string) => groupOf(key) !== g.group
  return [...g.links.map((l) => l.prev).filter(away), ...g.holds.map((h) => h.to.task).filter(away)]
}

/** The work of some lots as one. */
export const joinedGroups = (groups: readonly Group[]): Pick<Problem, 'tasks' | 'links' | 'holds'> => ({
  tasks: groups.flatMap((g) => g.tasks),
  links: groups.flatMap((g) => g.links),
  holds: groups.flatMap((g) => g.holds),
})
