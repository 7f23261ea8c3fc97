import { describe, expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { planCellar } from '../../api/plan.ts'
import { fullBarrels } from '../../api/protocol/stages/levelling.ts'
import type { TaskPlan } from '../../api/protocol/types.ts'
import { Temporal } from '../../api/time.ts'
import { EARLY } from '../helpers/make.ts'

describe('barrels after the foam', () => {
  // Worked plan P2: 3,215 L are 14 barrels of 228 L and a keg of 23 L.
  it.each([
    [3215, 228, 16, 14],
    // Four of 300 L, 39 L wanting: better than 261 L in kegs.
    [1161, 300, 4, 4],
    [200, 228, 1, 1],
  ])('%i L in barrels of %i L, %i filled: %i full', (volumeL, eachL, barrels, full) => {
    expect(fullBarrels(volumeL, eachL, barrels)).toBe(full)
  })

  const demo = demoFacts()
  const tasks = planCellar({ ...demo, lots: demo.lots.filter((l) => l.code === 'L03') }, { nowAt: EARLY }).tasks
  const levelled = tasks.find((t) => t.step === 'level-barrels')!
  const isAfter = (t: TaskPlan) => Temporal.Instant.compare(t.startAt, levelled.endAt) >= 0

  it('are fewer: those the winemaker wants for store are kept, topped and dosed (P2)', () => {
    const kept = [...demo.lots.find((l) => l.code === 'L03')!.vesselPins.store!].sort()
    expect(kept).toHaveLength(14)
    expect(levelled.fromVessels).toHaveLength(16)
    for (const step of ['top-barrels', 'post-so2', 'stir-lees', 'mlf-inoculate', 'rack-out'])
      for (const task of tasks.filter((t) => t.step === step && isAfter(t)))
        expect(
          [...new Set([...task.fromVessels, ...task.toVessels])].filter((v) => /^[AB]/.test(v)).sort(),
          task.key,
        ).toEqual(kept)
    const dose = tasks.find((t) => t.step === 'post-so2')!.doses[0]!
    expect(dose.volumeL).toBeCloseTo(14 * 228, 0)
  })

  it('are all read while they ferment', () => {
    const first = tasks.find((t) => t.step === 'watch-start')!
    expect(first.fromVessels).toHaveLength(16)
  })
})
