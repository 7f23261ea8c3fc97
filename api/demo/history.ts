import type { Addition, Facts, Reading, TaskFact } from '../protocol/facts.ts'
import type { CellarPlan, TaskPlan } from '../protocol/types.ts'
import type { Temporal } from '../time.ts'
import { type Course, errorOf, measured } from './measured.ts'
import { transfersOf } from './moved.ts'

export type History = Pick<Facts, 'readings' | 'taskFacts' | 'additions' | 'transfers'>

/**
 * A season that went as it was planned, up to now: what ended before is done by the people it was given to, what runs
 * is begun, and along the way readings, additions and moves were written down.
 */
export function historyOf(facts: Facts, plan: CellarPlan, nowAt: Temporal.Instant): History {
  const nowMs = nowAt.epochMilliseconds
  const begun = plan.tasks.filter((t) => t.startAt.epochMilliseconds < nowMs && t.state !== 'cancelled')
  const done = begun.filter((t) => t.endAt.epochMilliseconds <= nowMs)
  const courses = coursesOf(facts, plan)
  return {
    taskFacts: begun.map((t) => (t.endAt.epochMilliseconds <= nowMs ? doneFact(t) : startFact(t))),
    readings: done.flatMap((t) => [...readingsOf(t, courses), ...repeatOf(t, nowAt)]),
    additions: done.flatMap((t) => additionsOf(t)),
    transfers: done.flatMap((t) => transfersOf(t, facts, loadsOf(t, plan))),
  }
}

function coursesOf(facts: Facts, plan: CellarPlan): ReadonlyMap<string, Course> {
  return new Map(
    facts.lots.map((lot) => [
      lot.id,
      {
        lot,
        points: plan.forecasts.find((f) => f.lotId === lot.id)?.points ?? [],
        malolactic: plan.phases.find((p) => p.lotId === lot.id && p.kind === 'malolactic'),
      },
    ]),
  )
}

/** Press loads of a lot share its juice. */
const loadsOf = (task: TaskPlan, plan: CellarPlan) =>
  plan.tasks.filter((t) => t.lotId === task.lotId && t.step === 'press').length

const idOf = (kind: string, task: TaskPlan, n = 1) => `demo-${kind}-${task.key}-${n}`
const signerOf = (task: TaskPlan) => task.people[0] ?? 'alex'

const doneFact = (t: TaskPlan): TaskFact => ({
  id: idOf('done', t),
  taskKey: t.key,
  kind: 'done',
  at: t.endAt,
  startAt: t.startAt,
  personId: signerOf(t),
  people: t.people,
  vessels: t.toVessels.length > 0 ? t.toVessels : t.fromVessels,
})

const startFact = (t: TaskPlan): TaskFact => ({
  id: idOf('start', t),
  taskKey: t.key,
  kind: 'start',
  at: t.startAt,
  startAt: t.startAt,
  personId: signerOf(t),
  people: t.people,
  vessels: t.toVessels.length > 0 ? t.toVessels : t.fromVessels,
})

function readingsOf(t: TaskPlan, courses: ReadonlyMap<string, Course>): Reading[] {
  const course = t.lotId === null ? undefined : courses.get(t.lotId)
  if (!course) return []
  // A round over barrels looks at another one each time.
  const vessels = t.fromVessels.length > 0 ? t.fromVessels : t.toVessels
  const vesselId = vessels[t.count % Math.max(1, vessels.length)]
  return t.records.flatMap((kind) => {
    const value = measured(kind, t, course)
    if (value === undefined) return []
    const reading: Reading = {
      id: idOf(kind, t),
      lotId: course.lot.id,
      kind,
      value,
      takenAt: t.endAt,
      personId: signerOf(t),
      taskKey: t.key,
    }
    return [vesselId === undefined ? reading : { ...reading, vesselId }]
  })
}

/** Dry is told by two figures a day apart. */
function repeatOf(t: TaskPlan, nowAt: Temporal.Instant): Reading[] {
  const takenAt = t.endAt.add({ hours: 24 })
  if (t.step !== 'check-dry' || t.lotId === null || takenAt.epochMilliseconds > nowAt.epochMilliseconds) return []
  const value = Number((1.1 + 0.3 * errorOf(`${t.key} again`)).toFixed(1))
  return [
    {
      id: idOf('glucose-fructose', t, 2),
      lotId: t.lotId,
      kind: 'glucose-fructose',
      value,
      takenAt,
      personId: signerOf(t),
      taskKey: t.key,
      note: 'Repeated after a day: dry.',
    },
  ]
}

function additionsOf(t: TaskPlan): Addition[] {
  const lotId = t.lotId
  if (lotId === null) return []
  return t.doses
    .filter((dose) => dose.amount > 0 && dose.volumeL > 0)
    .map((dose, i) => {
      const vesselId = t.toVessels[0] ?? t.fromVessels[0]
      return {
        id: idOf('addition', t, i + 1),
        lotId,
        ...(vesselId === undefined ? {} : { vesselId }),
        product: dose.product,
        amount: dose.amount,
        unit: dose.unit,
        batchNo: batchOf(dose.product),
        treatedL: dose.volumeL,
        addedAt: t.endAt,
        personId: signerOf(t),
        taskKey: t.key,
      }
    })
}

/** One bag or drum of each product lasts the season. */
const batchOf = (product: string) =>
  `${product.slice(0, 3).toUpperCase()}-${Math.round(5000 + 4000 * errorOf(product))}`
