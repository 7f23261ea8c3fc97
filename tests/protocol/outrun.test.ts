import { describe, expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { planCellar } from '../../api/plan.ts'
import type { CellarPlan } from '../../api/protocol/types.ts'
import { Temporal } from '../../api/time.ts'

const nowAt = Temporal.Instant.from('2027-01-20T00:00:00Z')
const story = demoFacts()
const pickedOn = (day: string) => ({
  ...story,
  lots: story.lots.slice(0, 3).map((l) => (l.code === 'L02' ? { ...l, pickOn: Temporal.PlainDate.from(day) } : l)),
})
const startsOf = (plan: CellarPlan) => plan.tasks.map((t) => `${t.key} ${t.startAt}`)
const firstOf = (plan: CellarPlan, step: string) =>
  plan.tasks.find((t) => t.key === `L02/${step}/1`)?.startAt.toString()

describe('a pick that comes weeks sooner than planned', () => {
  const late = planCellar(pickedOn('2027-04-20'), { nowAt })
  const soon = planCellar(pickedOn('2027-03-01'), { nowAt, previous: late.tasks })

  it('takes the ferment and its end along, as if it had always been planned so', () => {
    const fresh = planCellar(pickedOn('2027-03-01'), { nowAt })
    for (const step of ['receive', 'check-ferment', 'check-dry']) {
      expect([step, firstOf(soon, step)]).toEqual([step, firstOf(fresh, step)])
    }
  })

  it('stands still when nothing else changes', () => {
    const again = planCellar(pickedOn('2027-03-01'), { nowAt, previous: soon.tasks })
    expect(startsOf(again)).toEqual(startsOf(soon))
  })

  it('leaves alone who was not touched by it', () => {
    const day = (plan: CellarPlan) =>
      plan.tasks.filter((t) => /^L01\/(receive|press|check-dry)\/1$/.test(t.key)).map((t) => `${t.key} ${t.startAt}`)
    expect(day(soon)).toEqual(day(late))
  })
})

describe('a finish that is booked on another day', () => {
  const filledOn = (finishOn: string) => ({
    ...story,
    lots: story.lots.slice(0, 3).map((l) => (l.code === 'L01' ? { ...l, choices: { ...l.choices, finishOn } } : l)),
  })
  // L01 is filled on Tue 27 July in the story; four weeks later is Tue 24 August.
  const july = planCellar(filledOn('2027-07-27'), { nowAt })
  const august = planCellar(filledOn('2027-08-24'), { nowAt, previous: july.tasks })
  const startOf = (plan: CellarPlan, key: string) => plan.tasks.find((t) => t.key === key)!.startAt
  const days = (key: string) =>
    Math.round((startOf(august, key).epochMilliseconds - startOf(july, key).epochMilliseconds) / 86_400_000)

  it('takes along what is counted back from it', () => {
    for (const step of ['release', 'pre-bottling', 'test-stability'])
      expect([step, days(`L01/${step}/1`)]).toEqual([step, 28])
  })

  it('leaves the fruit, the ferment and the other lots where they stood', () => {
    for (const key of ['L01/receive/1', 'L01/check-dry/1', 'L02/release/1', 'L03/press/1']) {
      expect([key, days(key)]).toEqual([key, 0])
    }
  })
})
