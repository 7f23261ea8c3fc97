import { describe, expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { planCellar } from '../../api/plan.ts'
import type { Facts, Lot, Reading, TaskFact } from '../../api/protocol/facts.ts'
import { Temporal } from '../../api/time.ts'

const demo = demoFacts()
const lot = demo.lots.find((l) => l.code === 'L01') as Lot
const yeastAt = Temporal.Instant.from('2027-03-12T06:00:00Z')
const hoursOn = (hours: number) => yeastAt.add({ hours })

const pitched = (of: Lot, at = yeastAt): TaskFact => ({
  id: `done-${of.code}`,
  taskKey: `${of.code}/inoculate/1`,
  kind: 'done',
  at,
})
const reading = (of: Lot, kind: Reading['kind'], hours: number, value: number): Reading => ({
  id: `${of.code}-${kind}-${hours}`,
  lotId: of.id,
  kind,
  value,
  takenAt: hoursOn(hours),
})
const facts = (more: Partial<Facts>): Facts => ({ ...demo, lots: [lot], readings: [], taskFacts: [], ...more })
const forecast = (f: Facts, hours: number) =>
  planCellar(f, { nowAt: hoursOn(hours) }).forecasts.find((one) => one.lotId === lot.id)

describe('a watched ferment', () => {
  it('says its risk before it starts', () => {
    const poor = {
      ...lot,
      fruit: { ...lot.fruit, yanMgPerL: 90 },
      choices: { ...lot.choices, nutrientTargetMgPerL: 0 },
    }
    const found = planCellar(facts({ lots: [poor] }), { nowAt: hoursOn(-200) }).forecasts[0]
    expect(found?.watch?.map((w) => w.kind)).toEqual(['risk'])
    expect(found?.watch?.[0]?.words).toMatch(/only 90 mg\/L nitrogen/)
  })

  it('that does not start asks for a decision after 96 h', () => {
    const readings = [0, 24, 48, 72, 96].map((h) => reading(lot, 'brix', h, lot.fruit.brix))
    const found = forecast(facts({ readings, taskFacts: [pitched(lot)] }), 97)
    expect(found?.watch?.map((w) => `${w.kind}/${w.level}`)).toContain('no-start/act')
  })

  it('that runs hot says so, and is quiet once it is dry', () => {
    const course = [0, 24, 48, 72].map((h) => reading(lot, 'brix', h, lot.fruit.brix - h / 18))
    const hot = reading(lot, 'temp', 72, lot.choices.fermentTempC + 4)
    const found = forecast(facts({ readings: [...course, hot], taskFacts: [pitched(lot)] }), 73)
    expect(found?.watch?.map((w) => w.kind)).toContain('hot')
    const dry = [300, 330].map((h) => reading(lot, 'glucose-fructose', h, 1.5))
    const quiet = forecast(facts({ readings: [...course, hot, ...dry], taskFacts: [pitched(lot)] }), 340)
    expect(quiet?.watch).toEqual([])
  })
})

describe('a forecast', () => {
  it('learns from the ferments this cellar has finished', () => {
    const old: Lot = { ...lot, id: 'old', code: 'L90', endedAt: hoursOn(2000) }
    // A slow cellar: dry only after four weeks.
    const slow = Array.from({ length: 28 }, (_, d) => reading(old, 'sugar', 24 * d, Math.max(1, 205 - 7.6 * d)))
    const dry = [28, 30].map((d) => reading(old, 'glucose-fructose', 24 * d, 1))
    const alone = forecast(facts({ taskFacts: [pitched(lot, hoursOn(0))] }), 1)
    const taught = forecast(
      facts({ lots: [lot, old], readings: [...slow, ...dry], taskFacts: [pitched(lot), pitched(old)] }),
      1,
    )
    const days = (f: typeof alone) => (f?.dryAt?.likelyAt.since(yeastAt).total('hours') ?? 0) / 24
    expect(days(taught)).toBeGreaterThan(days(alone) + 1)
  })
})
