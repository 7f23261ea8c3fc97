import { describe, expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { liveThrough } from '../../api/demo/seed.ts'
import { planCellar } from '../../api/plan.ts'
import type { TaskPlan } from '../../api/protocol/types.ts'
import { Temporal } from '../../api/time.ts'
import { EARLY, makeFacts, makeLot } from '../helpers/make.ts'

const demo = demoFacts()
const of = (tasks: readonly TaskPlan[], step: string) => tasks.filter((t) => t.step === step)
const min = (a: TaskPlan, b: TaskPlan) => a.startAt.until(b.startAt).total('minutes')
const endMin = (a: TaskPlan, b: TaskPlan) => a.endAt.until(b.startAt).total('minutes')

describe('fruit on the pad', () => {
  const late = planCellar({ ...demo, lots: demo.lots.filter((l) => l.code === 'L08') }, { nowAt: EARLY }).tasks

  it('is sorted before it goes into the press, whole bunches too', () => {
    expect(of(late, 'sort').length).toBeGreaterThan(0)
    const first = of(late, 'sort').sort((a, b) => min(b, a))[0]!
    for (const load of of(late, 'load-press')) expect(min(first, load), load.key).toBeGreaterThan(0)
  })

  it('is pressed until 23:00 at the latest: late fruit on a slow program is brought in two passes', () => {
    const zone = demo.cellar.zone
    for (const press of of(late, 'press')) {
      const end = press.endAt.toZonedDateTimeISO(zone)
      expect(end.hour, press.key).toBeLessThan(23)
      expect(end.toPlainDate().toString()).toBe(press.startAt.toZonedDateTimeISO(zone).toPlainDate().toString())
    }
    expect(of(late, 'receive')).toHaveLength(2)
  })

  it('leaves a line that is washed within two hours of the last load', () => {
    const lots = [
      makeLot('crisp', { code: 'X01', fruit: { tonnes: 5 } }),
      makeLot('textured', { code: 'X02', pickOn: '2027-03-24', fruit: { tonnes: 2 } }),
    ]
    for (const lot of lots) {
      const { tasks } = planCellar(makeFacts([lot]), { nowAt: EARLY })
      const before = lot.choices.processing === 'whole-bunch' ? of(tasks, 'load-press') : of(tasks, 'destem-crush')
      const last = before.sort((a, b) => min(b, a)).at(-1)!
      const wash = of(tasks, 'clean-line').at(-1)!
      expect(endMin(last, wash), lot.code).toBeGreaterThanOrEqual(0)
      expect(endMin(last, wash), lot.code).toBeLessThanOrEqual(120)
    }
  })
})

it('a racked lot in two vessels keeps one part in each, once it is done', () => {
  const { plan } = liveThrough(demo, Temporal.Instant.from('2027-03-21T18:30:00Z'))
  const parts = plan.tasks.filter((t) => t.key === 'L11/check-ferment/3')[0]!
  expect([...parts.fromVessels].sort()).toEqual(['T16', 'T17'])
  expect(plan.broken.filter((b) => b.strength === 'hard' && b.taskKeys.some((k) => k.startsWith('L11/')))).toEqual([])
})
