/** What a move is judged by: the plan, the days, who works when, what is booked. */
import type { Days } from './days.ts'
import { type Intervals, indexIntervals } from './interval.ts'
import { later } from './later.ts'
import { type Model, msOfWire } from './model.ts'
import { dailyMinutes } from './room.ts'
import type { Span } from './rows.ts'
import type { PersonWire, TaskWire } from './wire.ts'
import type { Words } from './words.ts'

export interface MoveRules {
  readonly model: Model
  readonly days: Days
  readonly words: Words
  readonly nowMs: number
  readonly byPerson: ReadonlyMap<string, Intervals>
  readonly byMachine: ReadonlyMap<string, Intervals>
  readonly people: ReadonlyMap<string, PersonWire>
  readonly booked: ReadonlyMap<string, readonly Span[]>
  /** Minutes of people that work by the day asks of each day of the table. */
  readonly dailyMin: Float64Array
}

export function moveRules(model: Model, days: Days, words: Words, nowMs: number): MoveRules {
  const gather = (of: (task: TaskWire) => readonly string[]): ReadonlyMap<string, Intervals> => {
    const lists = new Map<string, number[]>()
    model.plan.tasks.forEach((task, ix) => {
      if (task.state === 'done' || task.state === 'skipped' || task.state === 'cancelled') return
      for (const id of of(task)) {
        const list = lists.get(id)
        if (list) list.push(ix)
        else lists.set(id, [ix])
      }
    })
    return new Map(
      [...lists].map(([id, list]) => [
        id,
        indexIntervals(
          list,
          (i) => model.startMs[i] as number,
          (i) => model.endMs[i] as number,
        ),
      ]),
    )
  }
  const spans = (
    bookings: readonly { readonly fromAt: string; readonly toAt: string; readonly why: string }[],
  ): Span[] => bookings.map((b) => ({ fromMs: msOfWire(b.fromAt), toMs: msOfWire(b.toAt), why: b.why }))
  // Made when the first hand takes hold, not when the season opens.
  const byPerson = later(() => gather((t) => t.people))
  const byMachine = later(() => gather((t) => t.machines))
  const dailyMin = later(() => dailyMinutes(model, days))
  return {
    model,
    days,
    words,
    nowMs,
    get byPerson() {
      return byPerson()
    },
    get byMachine() {
      return byMachine()
    },
    get dailyMin() {
      return dailyMin()
    },
    people: new Map(model.plan.people.map((p) => [p.id, p])),
    booked: new Map([...model.plan.machines, ...model.plan.vessels].map((unit) => [unit.code, spans(unit.bookings)])),
  }
}

export function nameOf(model: Model, ix: number): string {
  const task = model.plan.tasks[ix] as TaskWire
  return task.lotId === null ? task.name : `${task.name} (${task.lotCode})`
}
