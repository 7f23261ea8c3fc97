import type { Bundle } from './bundle.ts'
import type { Group } from './bundles.ts'
import type { Side, SideOf } from './unitrules.ts'

/** Which lot and which bundle each task belongs to, and whom each booking is for. Lots keep the order they came in. */
export interface Roster {
  readonly groups: ReadonlyMap<string, Group>
  /** Number of tasks. */
  readonly size: () => number
  readonly groupOf: (key: string) => string | undefined
  readonly sideOf: SideOf
  /** The task a booking's key speaks of: itself, or the first of a hold. */
  readonly taskOf: (key: string) => string | undefined
  readonly bundleOf: (key: string) => Bundle | undefined
  readonly bundleIn: (group: string) => Bundle | undefined
  /** All bundles, in the order of their lots. */
  readonly bundles: () => readonly Bundle[]
  readonly enlist: (group: Group) => void
  /** Takes a lot's work out; with `whole` the lot too. */
  readonly delist: (group: Group, whole: boolean) => void
  readonly seat: (bundle: Bundle) => void
  readonly unseat: (bundle: Bundle) => void
}

const FIXED: Side = { keys: [], fact: true }

export function rosterOf(): Roster {
  const groups = new Map<string, Group>()
  const bundleOf = new Map<string, Bundle>()
  const groupOf = new Map<string, string>()
  const sides = new Map<string, Side>()
  const holdSides = new Map<string, Side>()
  return {
    groups,
    size: () => sides.size,
    groupOf: (key) => groupOf.get(key),
    sideOf: (b) => (b.kind === 'fixed' ? FIXED : (b.kind === 'task' ? sides : holdSides).get(b.key)!),
    taskOf: (key) => (sides.has(key) ? key : holdSides.get(key)?.keys[0]),
    bundleOf: (key) => bundleOf.get(groupOf.get(key) ?? ''),
    bundleIn: (group) => bundleOf.get(group),
    bundles: () => [...new Set([...groups.keys()].flatMap((g) => bundleOf.get(g) ?? []))],
    enlist: (g) => {
      groups.set(g.group, g)
      const fact = new Set(g.tasks.flatMap((t) => (t.done || t.started ? [t.key] : [])))
      for (const { key } of g.tasks) {
        groupOf.set(key, g.group)
        sides.set(key, { keys: [key], fact: fact.has(key) })
      }
      for (const { key, from, to } of g.holds)
        holdSides.set(key, { keys: [from.task, to.task], fact: fact.has(from.task) && fact.has(to.task) })
    },
    delist: (g, whole) => {
      if (whole) groups.delete(g.group)
      for (const t of g.tasks) {
        groupOf.delete(t.key)
        sides.delete(t.key)
      }
      for (const h of g.holds) holdSides.delete(h.key)
    },
    seat: (bundle) => {
      for (const g of bundle.groups) bundleOf.set(g.group, bundle)
    },
    unseat: (bundle) => {
      for (const g of bundle.groups) bundleOf.delete(g.group)
    },
  }
}
