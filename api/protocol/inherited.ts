/** A lot made of another goes on where that one was: what was done and read until then was of its wine too. */
import { Temporal } from '../time.ts'
import type { Facts, Lot, Parent } from './facts.ts'
import type { CellarPlan } from './types.ts'

/** Marks what a lot has from its parent; it is no fact of its own. */
const OF = '@'

interface Line {
  readonly lot: Lot
  readonly parent: Lot
  readonly until: Temporal.Instant
  readonly scale: number
}

/**
 * The facts with those of parents told of their children as well, parents first, so that grandchildren have them too.
 * Amounts and litres are the child's part. Vessels are named only where the child lies in them.
 */
export function withInherited(facts: Facts): Facts {
  return linesOf(facts).reduce(given, facts)
}

function linesOf(facts: Facts): readonly Line[] {
  return facts.lots
    .flatMap((lot): Line[] => {
      const from: Parent | undefined = lot.parents[0]
      const parent = from && facts.lots.find((l) => l.id === from.lotId)
      if (!from?.at || !parent || parent.id === lot.id) return []
      return [{ lot, parent, until: Temporal.Instant.from(from.at), scale: from.scale ?? from.share }]
    })
    .sort((a, b) => Temporal.Instant.compare(a.until, b.until))
}

function given(facts: Facts, line: Line): Facts {
  const { lot, parent, until, scale } = line
  const own = new Set(Object.values(lot.vesselPins).flat())
  const before = (at: Temporal.Instant) => Temporal.Instant.compare(at, until) <= 0
  const keyed = (key: string | undefined) =>
    key?.startsWith(`${parent.code}/`) ? { taskKey: `${lot.code}${key.slice(parent.code.length)}` } : {}
  const id = (of: string) => `${of}${OF}${lot.id}`
  const mine = (ids: readonly string[] | undefined) => {
    const kept = ids?.filter((v) => own.has(v))
    return kept?.length ? { vessels: kept } : { vessels: undefined }
  }
  return {
    ...facts,
    readings: [
      ...facts.readings,
      ...facts.readings
        .filter((r) => r.lotId === parent.id && before(r.takenAt) && r.kind !== 'volume')
        .map((r) => ({
          ...r,
          ...keyed(r.taskKey),
          id: id(r.id),
          lotId: lot.id,
          ...(r.correctsId === undefined ? {} : { correctsId: id(r.correctsId) }),
        })),
    ],
    taskFacts: [
      ...facts.taskFacts,
      ...facts.taskFacts
        .filter((f) => f.taskKey.startsWith(`${parent.code}/`) && before(f.at) && f.kind !== 'note')
        .map(({ vessels, ...f }) => ({
          ...f,
          ...keyed(f.taskKey),
          id: id(f.id),
          ...mine(vessels),
          ...(f.undoesId === undefined ? {} : { undoesId: id(f.undoesId) }),
        })),
    ],
    additions: [
      ...facts.additions,
      ...facts.additions
        .filter((a) => a.lotId === parent.id && before(a.addedAt))
        .map((a) => ({
          ...a,
          ...keyed(a.taskKey),
          id: id(a.id),
          lotId: lot.id,
          amount: a.amount * scale,
          treatedL: a.treatedL * scale,
        })),
    ],
    transfers: [
      ...facts.transfers,
      ...facts.transfers
        .filter((t) => t.lotId === parent.id && before(t.movedAt))
        .map(({ toVesselId, fromVesselId: _from, ...t }) => ({
          ...t,
          ...keyed(t.taskKey),
          id: id(t.id),
          lotId: lot.id,
          volumeL: t.volumeL * scale,
          lossL: t.lossL * scale,
          ...(toVesselId !== undefined && own.has(toVesselId) ? { toVesselId } : {}),
        })),
    ],
  }
}

/** The plan without what a lot has from its parent: work that was done once stands once. */
export function withoutInherited(plan: CellarPlan, facts: Facts): CellarPlan {
  const lines = linesOf(facts)
  if (lines.length === 0) return plan
  const until = new Map(lines.map((l) => [l.lot.id, l.until]))
  const own = new Set(facts.taskFacts.map((f) => f.taskKey))
  return {
    ...plan,
    tasks: plan.tasks.filter(
      (t) => t.lotId === null || !until.has(t.lotId) || (t.state !== 'done' && t.state !== 'skipped') || own.has(t.key),
    ),
    phases: plan.phases.flatMap((p) => {
      const from = until.get(p.lotId)
      if (!from || Temporal.Instant.compare(p.startAt, from) >= 0) return [p]
      return Temporal.Instant.compare(p.endAt, from) > 0 ? [{ ...p, startAt: from }] : []
    }),
  }
}

/** Why the open work of a lot that ended is no longer needed. */
export function endedBecause(facts: Facts, key: string): string | undefined {
  const lot = facts.lots.find((l) => l.endedAt && key.startsWith(`${l.code}/`))
  if (!lot) return undefined
  const children = facts.lots.filter((l) => l.parents.some((p) => p.lotId === lot.id && p.at)).map((l) => l.code)
  return children.length === 0 ? undefined : `${lot.code} became ${children.join(', ')}: the work goes on there.`
}
