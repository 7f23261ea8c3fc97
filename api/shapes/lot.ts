import type { StoredLot } from '../../db/queries/lots.ts'
import type { StoredPlan } from '../../db/queries/plans.ts'
import type { StoredTask } from '../../db/queries/tasks.ts'
import type { Reading, Transfer } from '../protocol/facts.ts'
import type { ConflictFound, Phase } from '../protocol/types.ts'
import type { Temporal } from '../time.ts'
import type { ConflictWire, LotWire, PhaseWire, ReadingWire, VesselWire } from '../wire.ts'
import { isLate } from './task.ts'

export const conflictToWire = (c: ConflictFound): ConflictWire => ({ ...c, fields: [...c.fields] })

/** What is painted on a vessel, and what it is, by its id. */
export type VesselNames = ReadonlyMap<string, { readonly code: string; readonly kind: VesselWire['kind'] }>

export const phaseToWire = (p: Phase, vessels: VesselNames): PhaseWire => ({
  key: p.key,
  lotId: p.lotId,
  lotCode: p.lotCode,
  kind: p.kind,
  vessels: p.vessels.map((id) => ({ code: vessels.get(id)?.code ?? id, kind: vessels.get(id)?.kind ?? 'tank' })),
  volumeL: p.volumeL,
  startAt: p.startAt.toString(),
  endAt: p.endAt.toString(),
  ...(p.endSpread
    ? { endSpread: { earliestAt: p.endSpread.earliestAt.toString(), latestAt: p.endSpread.latestAt.toString() } }
    : {}),
  ratePerDay: [...p.ratePerDay],
  tempC: p.tempC,
})

export const readingToWire = (r: Reading, vessels: VesselNames): ReadingWire => ({
  id: r.id,
  lotId: r.lotId,
  ...(r.vesselId === undefined ? {} : { vesselCode: vessels.get(r.vesselId)?.code ?? r.vesselId }),
  kind: r.kind,
  value: r.value,
  takenAt: r.takenAt.toString(),
  ...(r.personId === undefined ? {} : { personId: r.personId }),
  ...(r.taskKey === undefined ? {} : { taskKey: r.taskKey }),
  ...(r.correctsId === undefined ? {} : { correctsId: r.correctsId }),
  ...(r.note === undefined ? {} : { note: r.note }),
})

export interface LotAround {
  readonly vessels: VesselNames
  readonly plan: StoredPlan
  readonly phases: readonly Phase[]
  readonly tasks: readonly StoredTask[]
  readonly transfers: readonly Transfer[]
  readonly nowAt: Temporal.Instant
}

/** A lot as the lists show it: where it is now, when it will be dry, what comes next. */
export function lotToWire(lot: StoredLot, around: LotAround): LotWire {
  const nowMs = around.nowAt.epochMilliseconds
  const phases = around.phases.filter((p) => p.lotId === lot.id)
  const now =
    phases.find((p) => p.startAt.epochMilliseconds <= nowMs && nowMs < p.endAt.epochMilliseconds) ??
    (lot.endedAt ? undefined : phases.findLast((p) => p.endAt.epochMilliseconds <= nowMs))
  const tasks = around.tasks.filter((t) => t.lotId === lot.id)
  const open = tasks.filter((t) => t.state !== 'done' && t.state !== 'skipped' && t.state !== 'cancelled')
  const measured = around.transfers.findLast((t) => t.lotId === lot.id)
  const dry = around.plan.forecasts.find((f) => f.lotId === lot.id)?.dryAt
  return {
    id: lot.id,
    code: lot.code,
    name: lot.name,
    variety: lot.variety,
    block: lot.block,
    place: lot.place,
    vintage: lot.vintage,
    pickOn: lot.pickOn.toString(),
    fruit: lot.fruit,
    choices: lot.choices,
    choicesVersion: lot.choicesVersion,
    // Fruit has no litres yet: what it will give stands for them.
    volumeL: Math.round((now ? now.volumeL : measured?.volumeL) || lot.fruit.tonnes * lot.fruit.yieldLPerT),
    vessels: (now?.vessels ?? []).map((id) => around.vessels.get(id)?.code ?? id),
    phase: now?.kind ?? null,
    ...(dry ? { dry } : {}),
    ...(open[0] ? { nextTaskKey: open[0].key } : {}),
    lateCount: open.filter((t) => isLate(t, around.nowAt)).length,
    conflicts: around.plan.conflicts.filter((c) => c.lotId === lot.id).map(conflictToWire),
    parents: lot.parents.map((p) => ({ ...p })),
    ...(lot.endedAt ? { endedAt: lot.endedAt.toString() } : {}),
    ...(lot.unplanned ? { unplanned: true } : {}),
    version: lot.version,
  }
}
