import { momentAt, Temporal } from '../time.ts'
import { type DemandHour, demandByHour } from './demand.ts'
import type { Cellar, Lot, Machine, Vessel } from './facts.ts'
import type { Phase, TaskState } from './types.ts'

/** A plan as far as it asks for cold. */
export interface ColdPlan {
  readonly phases: readonly Pick<Phase, 'kind' | 'lotId' | 'lotCode' | 'vessels' | 'volumeL' | 'startAt' | 'endAt'>[]
  readonly tasks: readonly {
    readonly lotId: string | null
    readonly lotCode: string
    readonly step: string
    readonly state: TaskState
    readonly startAt: Temporal.Instant
    readonly endAt: Temporal.Instant
  }[]
  readonly forecasts: readonly {
    readonly lotId: string
    readonly points: readonly { readonly at: string | Temporal.Instant; readonly sugarGPerL: number }[]
  }[]
}

export interface ColdGround {
  readonly cellar: Pick<Cellar, 'rates'> | undefined
  readonly lots: readonly Pick<Lot, 'id' | 'fruit'>[]
  readonly vessels: readonly Pick<Vessel, 'id' | 'volumeL' | 'jacket'>[]
  readonly machines: readonly Pick<Machine, 'kind' | 'capacity' | 'bookings'>[]
}

/** What the chillers give when all of them run, kW. */
export const poolOf = (machines: ColdGround['machines']): number =>
  machines.filter((m) => m.kind === 'chiller').reduce((sum, m) => sum + m.capacity, 0)

/** The same in one hour: a chiller booked out gives nothing. */
export const poolAt = (machines: ColdGround['machines'], at: Temporal.Instant): number =>
  poolOf(
    machines.filter(
      (m) =>
        !m.bookings.some(
          (b) => Temporal.Instant.compare(b.fromAt, at) <= 0 && Temporal.Instant.compare(at, b.toAt) < 0,
        ),
    ),
  )

/** Cold and air of a plan, hour by hour from `fromAt`. */
export function demandOf(
  plan: ColdPlan,
  ground: ColdGround,
  fromAt: Temporal.Instant,
  hours: number,
): readonly DemandHour[] {
  const toAt = momentAt(fromAt, hours * 60)
  const touches = (span: { readonly startAt: Temporal.Instant; readonly endAt: Temporal.Instant }) =>
    Temporal.Instant.compare(span.startAt, toAt) < 0 && Temporal.Instant.compare(span.endAt, fromAt) > 0
  const phases = plan.phases.filter(touches)
  const lots = new Map(ground.lots.map((l) => [l.id, l]))
  const vessels = new Map(ground.vessels.map((v) => [v.id, v]))
  const poolKW = poolOf(ground.machines)
  const volumes = new Map(phases.map((p) => [p.lotId, p.volumeL] as const).filter(([, volumeL]) => volumeL > 0))
  return demandByHour({
    fromAt,
    hours,
    poolKW,
    chillKW: ground.cellar?.rates.chillKW ?? poolKW,
    ferments: phases
      .filter((p) => p.kind === 'ferment')
      .map((p) => {
        const used = p.vessels.flatMap((id) => vessels.get(id) ?? [])
        const allL = used.reduce((sum, v) => sum + v.volumeL, 0)
        const jacketedL = used.filter((v) => v.jacket).reduce((sum, v) => sum + v.volumeL, 0)
        return {
          lotCode: p.lotCode,
          volumeL: p.volumeL,
          jacketedShare: allL > 0 ? jacketedL / allL : 1,
          startAt: p.startAt,
          endAt: p.endAt,
          points: (plan.forecasts.find((f) => f.lotId === p.lotId)?.points ?? []).map((point) => ({
            at: Temporal.Instant.from(point.at),
            sugarGPerL: point.sugarGPerL,
          })),
        }
      }),
    chills: plan.tasks
      .filter((t) => t.lotId !== null && t.state !== 'cancelled' && t.state !== 'skipped' && touches(t))
      .map((t) => {
        const fruit = lots.get(t.lotId ?? '')?.fruit
        return {
          lotCode: t.lotCode,
          step: t.step,
          startAt: t.startAt,
          endAt: t.endAt,
          volumeL: volumes.get(t.lotId ?? '') ?? (fruit ? fruit.tonnes * fruit.yieldLPerT : 0),
          tonnes: fruit?.tonnes ?? 0,
        }
      }),
  })
}
