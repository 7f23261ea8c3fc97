import { describe, expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { planCellar } from '../../api/plan.ts'
import type { TaskPlan } from '../../api/protocol/types.ts'
import { EARLY } from '../helpers/make.ts'

const demo = demoFacts()
const planOf = (code: string) =>
  planCellar({ ...demo, lots: demo.lots.filter((l) => l.code === code) }, { nowAt: EARLY }).tasks
const of = (tasks: readonly TaskPlan[], step: string) => tasks.filter((t) => t.step === step)[0]!
const hours = (a: TaskPlan, b: TaskPlan) => a.endAt.until(b.startAt).total('hours')

describe('flotation', () => {
  it.each(['L09', 'L12'])('%s: the enzyme has two hours, clarity is read before racking', (code) => {
    const tasks = planOf(code)
    const dosed = tasks.filter((t) => t.step === 'dose-juice').at(-1)!
    expect(hours(dosed, of(tasks, 'float'))).toBeGreaterThanOrEqual(2)
    expect(hours(of(tasks, 'float'), of(tasks, 'check-clarity'))).toBeGreaterThanOrEqual(0)
    expect(hours(of(tasks, 'check-clarity'), of(tasks, 'rack-juice'))).toBeGreaterThanOrEqual(0)
  })

  it('warms juice that comes cold from its skins to 15 C first, and not again before yeast', () => {
    const tasks = planOf('L09')
    const warm = tasks.filter((t) => t.step === 'warm-juice')
    expect(warm).toHaveLength(1)
    expect(warm[0]!.detail).toContain('to 15 C')
    expect(hours(warm[0]!, of(tasks, 'float'))).toBeGreaterThanOrEqual(0)
    expect(planOf('L12').filter((t) => t.step === 'warm-juice')).toEqual([])
  })
})

describe('juice from a cold soak', () => {
  it('needs no second chilling to settle, and is warmed before yeast (L02, soaked at 8 C)', () => {
    const tasks = planOf('L02')
    expect(tasks.filter((t) => t.step === 'chill-juice')).toEqual([])
    expect(of(tasks, 'warm-juice').detail).toContain('to 14 C')
    expect(hours(of(tasks, 'warm-juice'), of(tasks, 'inoculate'))).toBeGreaterThanOrEqual(0)
  })

  it('drains as the press is filled, not after the pressing (L09)', () => {
    const tasks = planOf('L09')
    expect(hours(of(tasks, 'drain'), of(tasks, 'press'))).toBeGreaterThanOrEqual(0)
  })
})
