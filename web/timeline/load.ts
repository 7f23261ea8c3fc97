/** Hours of work a day against the hours the crew has, press hours, and cooling where the plan tells it. */
import { type Days, dayCount, dayIndex } from './days.ts'
import type { Model } from './model.ts'
import { minutesOn } from './shifts.ts'

export interface Load {
  /** Hours of people's work planned on each day of the table. */
  readonly workH: Float64Array
  /** Hours the crew has. */
  readonly crewH: Float64Array
  readonly pressH: Float64Array
  readonly mostH: number
}

export function layLoad(model: Model, days: Days): Load {
  const count = dayCount(days)
  const workH = new Float64Array(count)
  const crewH = new Float64Array(count)
  const pressH = new Float64Array(count)
  const presses = new Set(
    model.plan.machines.filter((m) => m.kind === 'press' || m.kind === 'basket-press').map((m) => m.code),
  )
  model.plan.tasks.forEach((task, ix) => {
    if (task.state === 'cancelled' || task.state === 'skipped') return
    const startMs = model.startMs[ix] as number
    const day = dayIndex(days, startMs)
    workH[day] = (workH[day] as number) + (task.crewMin * task.crew) / 60
    if (task.machines.some((code) => presses.has(code)))
      pressH[day] = (pressH[day] as number) + ((model.endMs[ix] as number) - startMs) / 3_600_000
  })
  for (let i = 0; i < count; i++)
    for (const person of model.plan.people) crewH[i] = (crewH[i] as number) + minutesOn(person, days, i) / 60
  return { workH, crewH, pressH, mostH: tallest(workH, crewH) }
}

/** One wild day must not flatten the rest: half as much again as the crew's best day, or the busiest day if that is less. */
function tallest(workH: Float64Array, crewH: Float64Array): number {
  const crew = crewH.reduce((most, h) => Math.max(most, h), 0)
  const work = workH.reduce((most, h) => Math.max(most, h), 0)
  return Math.max(8, crew, Math.min(work, crew > 0 ? crew * 1.5 : work))
}
