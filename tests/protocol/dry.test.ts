import { describe, expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import type { Reading, ReadingKind } from '../../api/protocol/facts.ts'
import { dryByReadings, malicGoneByReading } from '../../api/protocol/forecast.ts'
import { minOf, settingOf } from '../../api/protocol/setting.ts'
import { ticksOf } from '../../api/protocol/ticks.ts'
import { Temporal } from '../../api/time.ts'

const NOON = Temporal.Instant.from('2027-04-02T00:00:00Z')

/** The setting of L06, which wants malolactic, with these readings and no others. */
function lotWith(readings: readonly (readonly [kind: ReadingKind, value: number, hour: number])[]) {
  const facts = demoFacts()
  const lot = facts.lots.find((l) => l.code === 'L06')!
  const own: Reading[] = readings.map(([kind, value, hour], i) => ({
    id: `r${i}`,
    lotId: lot.id,
    kind,
    value,
    takenAt: NOON.add({ hours: hour }),
  }))
  const setting = settingOf(lot, {
    facts: { ...facts, readings: own, taskFacts: [] },
    startAt: NOON.subtract({ hours: 24 * 60 }),
    nowAt: NOON.add({ hours: 24 * 30 }),
    ticks: ticksOf([]),
    placed: new Map(),
  })
  return { setting, at: (hour: number) => minOf(setting, NOON.add({ hours: hour })) }
}
const dryAt = (...readings: Parameters<typeof lotWith>[0]) => {
  const { setting, at } = lotWith(readings)
  const min = dryByReadings(setting)
  return min === undefined ? undefined : (min - at(0)) / 60
}

// Two readings under the limit 24 h apart: common practice, and what the screens say.
describe('a ferment is dry', () => {
  it('at the second reading under the limit, a day after the first', () => {
    expect(dryAt(['density', 992, 0], ['density', 992, 24])).toBe(24)
    expect(dryAt(['glucose-fructose', 1.2, 0], ['glucose-fructose', 1.1, 30])).toBe(30)
  })

  it('not by one reading, nor by two of the same day', () => {
    expect(dryAt(['density', 992, 0])).toBeUndefined()
    expect(dryAt(['density', 992, 0], ['density', 991, 12])).toBeUndefined()
  })

  it('not across a reading that still shows sugar', () => {
    expect(dryAt(['density', 992, 0], ['density', 1004, 20], ['density', 992, 26])).toBeUndefined()
  })

  it('by a hydrometer in Brix as by one in density: -1.2 Brix is under 995 kg/m3', () => {
    expect(dryAt(['brix', -1.2, 0], ['brix', -1.2, 24])).toBe(24)
    expect(dryAt(['brix', -1.2, 0], ['brix', 3, 12], ['brix', -1.2, 30])).toBeUndefined()
  })

  it('by the laboratory, though the hydrometer stands between dry and sweet', () => {
    expect(dryAt(['glucose-fructose', 1.2, 0], ['brix', -0.6, 12], ['glucose-fructose', 1.1, 24])).toBe(24)
  })
})

describe('malic is gone', () => {
  it('at the first reading under 0.1 g/L', () => {
    const { setting, at } = lotWith([
      ['malic', 0.4, 0],
      ['malic', 0.05, 48],
    ])
    expect(malicGoneByReading(setting)).toBe(at(48))
  })

  it('not at 0.1', () => {
    expect(malicGoneByReading(lotWith([['malic', 0.1, 0]]).setting)).toBeUndefined()
  })
})
