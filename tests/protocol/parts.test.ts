import { describe, expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { planCellar } from '../../api/plan.ts'
import type { TaskPlan } from '../../api/protocol/types.ts'
import { Temporal } from '../../api/time.ts'
import { EARLY } from '../helpers/make.ts'

const demo = demoFacts()
const planOf = (code: string) =>
  planCellar({ ...demo, lots: demo.lots.filter((l) => l.code === code) }, { nowAt: EARLY }).tasks
const startsBefore = (a: TaskPlan, b: TaskPlan) => Temporal.Instant.compare(a.startAt, b.startAt) < 0

describe('a cask that refuses malolactic beside barrels that go through (L04)', () => {
  const tasks = planOf('L04')
  const of = (key: string) => tasks.find((t) => t.key === `L04/${key}`)!

  it('is sulphited and held cold after dry, while the barrels wait for malic gone', () => {
    const cask = tasks.find((t) => t.step === 'post-so2' && t.fromVessels.includes('T19'))!
    const barrels = tasks.find((t) => t.step === 'post-so2' && !t.fromVessels.includes('T19'))!
    expect(startsBefore(cask, of('mlf-done/1'))).toBe(true)
    expect(startsBefore(of('mlf-done/1'), barrels)).toBe(true)
    expect(of('mlf-block/1').fromVessels).toEqual(['T19'])
    expect(cask.prev).not.toContain('L04/mlf-done/1')
  })

  it('is dosed for its own litres: parts sum to the lot', () => {
    const litres = tasks.filter((t) => t.step === 'post-so2').map((t) => t.doses[0]!.volumeL)
    // 3 % juice lees; foam takes 1 % of what is in wood, 39 % of the lot.
    expect(litres.reduce((a, b) => a + b, 0)).toBeCloseTo(3100 * 0.97 * (1 - 0.39 * 0.01), 0)
  })

  it('takes bacteria in the barrels only', () => {
    expect(of('mlf-inoculate/1').toVessels).not.toContain('T19')
  })

  it('is topped and watched for volatile acidity, as wood', () => {
    for (const step of ['top-barrels', 'check-va'])
      for (const task of tasks.filter((t) => t.step === step)) expect(task.fromVessels, task.key).toContain('T19')
    expect(tasks.filter((t) => t.step === 'check-ullage')).toEqual([])
  })

  it('is pitched in the cask and in the tank that holds the juice, not in barrels still empty', () => {
    const pitched = of('inoculate/1')
    expect(startsBefore(pitched, of('fill-barrels/1'))).toBe(true)
    expect(pitched.toVessels.filter((v) => /^D/.test(v))).toEqual([])
    expect(pitched.toVessels).toContain('T19')
    expect(pitched.toVessels).toContain(of('fill-barrels/1').fromVessels[0])
  })
})

it('looks at malic where the wine lies that day: pressed off its skins it has left its vessel (L10)', () => {
  const tasks = planOf('L10')
  const pressed = tasks.filter((t) => t.step === 'press-skins')
  expect(pressed).toHaveLength(2)
  for (const press of pressed)
    for (const task of tasks.filter((t) => t.step.startsWith('mlf-') && startsBefore(press, t)))
      expect(task.fromVessels, task.key).not.toContain(press.fromVessels[0])
})
