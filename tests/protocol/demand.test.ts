import { describe, expect, it } from 'vitest'
import { type ChillDemand, demandByHour, type FermentDemand } from '../../api/protocol/demand.ts'
import { Temporal } from '../../api/time.ts'

const FROM = Temporal.Instant.from('2027-03-24T00:00:00Z')
const hour = (hours: number) => FROM.add({ hours })

/** 10,000 L that loses 24 g/L a day: 240 kg of sugar a day. */
const steady: FermentDemand = {
  lotCode: 'L01',
  volumeL: 10_000,
  jacketedShare: 1,
  startAt: hour(0),
  endAt: hour(48),
  points: [
    { at: hour(0), sugarGPerL: 200 },
    { at: hour(48), sugarGPerL: 152 },
  ],
}
const lay = (ferments: readonly FermentDemand[], chills: readonly ChillDemand[] = [], hours = 72, poolKW = 5) =>
  demandByHour({ fromAt: FROM, hours, ferments, chills, poolKW, chillKW: 4 })

describe('cold and air by the hour', () => {
  it('follows the sugar: 240 kg a day at 557.4 kJ/kg is 1.55 kW, and nothing before or after the ferment', () => {
    const hours = lay([steady])
    expect(hours).toHaveLength(72)
    // 240 kg x 557.4 kJ/kg / 86,400 s, by definition of the kilowatt.
    expect(hours[10]!.fermentKW).toBeCloseTo((240 * 557.4) / 86_400, 2)
    expect(hours[47]!.fermentKW).toBeGreaterThan(1.5)
    expect(hours[48]!.fermentKW).toBe(0)
    expect(hours[71]).toMatchObject({ coolingKW: 0, co2M3PerH: 0, freshAirM3PerH: 0, loads: [] })
  })

  it('gives off the CO2 of that sugar: 48.86 % of it by mass, 24.06 L a mol at 20 C', () => {
    const [first] = lay([steady])
    // 10 kg sugar an hour x 2 x 44.009 / 180.156 / 44.009 x 24.055 L/mol.
    expect(first!.co2M3PerH).toBeCloseTo((10 * 2 * 24.055) / 180.156, 2)
    // G / (0.005 - 0.0004), steady state.
    expect(first!.freshAirM3PerH).toBeCloseTo(first!.co2M3PerH / 0.0046, -1)
  })

  it('draws no cold for wine that no jacket holds, but gives off the same gas', () => {
    const [wood] = lay([{ ...steady, jacketedShare: 0 }])
    const [tank] = lay([steady])
    expect(wood!.coolingKW).toBe(0)
    expect(wood!.co2M3PerH).toBe(tank!.co2M3PerH)
  })

  it('adds chilling while it lasts, names the loads, and says what the chillers cannot give', () => {
    const chill = { lotCode: 'L02', step: 'chill-juice', startAt: hour(2), endAt: hour(6), volumeL: 6000, tonnes: 8 }
    const hours = lay([steady], [chill], 72, 5)
    expect(hours.map((h) => h.chillKW).slice(0, 8)).toEqual([0, 0, 4, 4, 4, 4, 0, 0])
    expect(hours[3]!.loads.map((l) => l.name)).toEqual(['L02 chill-juice', 'L01 ferment'])
    expect(hours[3]!.shortKW).toBeCloseTo(4 + (240 * 557.4) / 86_400 - 5, 1)
    expect(hours[1]!.shortKW).toBe(0)
  })

  it('counts the heat of a ferment once: setting its cooling draws nothing of its own', () => {
    const set = { lotCode: 'L01', step: 'set-cooling', startAt: hour(0), endAt: hour(1), volumeL: 10_000, tonnes: 14 }
    expect(lay([steady], [set])[0]!.coolingKW).toBe(lay([steady])[0]!.coolingKW)
  })
})
