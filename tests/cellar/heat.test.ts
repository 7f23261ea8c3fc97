import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { airAdvice, EXPOSURE_LIMITS, limitOf } from '../../api/cellar/exposure.ts'
import { closedRoomPpm, co2LPerL, co2M3PerH, co2PpmAtOxygen, freshAirM3PerH } from '../../api/cellar/gas.ts'
import {
  chillerPoolKW,
  chillKW,
  coolingByHour,
  fermentationHeatKJ,
  fermentationKW,
  fermentLoad,
  risePerBrix,
} from '../../api/cellar/heat.ts'
import { turbidityAdvice } from '../../api/cellar/settling.ts'
import { tempAtHour, tempPoints } from '../../api/cellar/temperature.ts'

describe('heat of a ferment', () => {
  it('over all its days is the heat of all its sugar', () => {
    fc.assert(
      fc.property(fc.array(fc.double({ min: 0, max: 60, noNaN: true }), { minLength: 1, maxLength: 30 }), (falls) => {
        const kJ = falls.reduce((total, fall) => total + fermentationKW(1000, fall) * 86_400, 0)
        const sugar = falls.reduce((a, b) => a + b, 0)
        expect(kJ).toBeCloseTo(fermentationHeatKJ(1000, sugar), 3)
      }),
    )
  })

  it('agrees with a trade page: 20 000 L at 8 g/L a day want about 1 kW, 21.8 Brix would warm itself by 28 to 34 K', () => {
    expect(fermentationKW(20_000, 8)).toBeCloseTo(1.03, 1)
    expect(21.8 * risePerBrix()).toBeGreaterThan(28)
    expect(21.8 * risePerBrix() * 0.8).toBeLessThan(28)
  })

  it('chilling 10 t from 25 to 10 C in 6 h wants about 25.7 kW', () => {
    expect(chillKW(10_000 / 1.09, 25, 10, 6)).toBeCloseTo(25.7, 0)
  })
})

describe('the cooling pool', () => {
  it('sums loads hour by hour, in any order, and says what is short', () => {
    const loads = [
      { name: 'T01', fromHour: 0, kW: [2, 2, 2] },
      { name: 'T02', fromHour: 1, kW: [5, 5] },
    ]
    const hours = coolingByHour(loads, 6)
    expect(hours.map((h) => h.kW)).toEqual([2, 7, 7])
    expect(hours.map((h) => h.shortKW)).toEqual([0, 1, 1])
    expect(hours[1]?.loads[0]?.name).toBe('T02')
    expect(coolingByHour(loads.toReversed(), 6)).toEqual(hours)
    expect(coolingByHour([], 6)).toEqual([])
  })

  it('is 85 % of the plate less standing loss: 25 kW and 4 kW leave 17.25', () => {
    expect(chillerPoolKW(25, 4)).toBeCloseTo(17.25, 9)
  })

  it('takes a ferment day by day', () => {
    const load = fermentLoad('L01', 12, 6000, [10, 20])
    expect(load.kW).toHaveLength(48)
    expect(load.kW[30]).toBeCloseTo(fermentationKW(6000, 20), 9)
  })
})

describe('CO2', () => {
  it('wants more air for more wine, and a closed room fills up without ever passing all', () => {
    fc.assert(
      fc.property(fc.double({ min: 100, max: 50_000, noNaN: true }), fc.nat(60), (volumeL, rate) => {
        const given = co2M3PerH(volumeL, rate)
        expect(freshAirM3PerH(co2M3PerH(volumeL * 2, rate))).toBeCloseTo(2 * freshAirM3PerH(given), 6)
        const ppm = closedRoomPpm(given, 5, 500)
        expect(ppm).toBeGreaterThanOrEqual(400 - 1e-6)
        expect(ppm).toBeLessThan(1e6)
        expect(closedRoomPpm(given, 6, 500)).toBeGreaterThanOrEqual(ppm)
      }),
    )
  })

  it('steady air keeps the room at the limit', () => {
    const given = co2M3PerH(10_000, 30)
    const air = freshAirM3PerH(given, 5000)
    expect((given + air * 0.0004) / air).toBeCloseTo(0.005, 6)
  })

  it('of a litre of must is forty to sixty litres', () => {
    expect(co2LPerL(200)).toBeGreaterThan(40)
    expect(co2LPerL(240)).toBeLessThan(62)
  })

  it('kills long before oxygen runs low: 19.5 % oxygen means more than the dangerous level', () => {
    expect(co2PpmAtOxygen(19.5)).toBeGreaterThan(limitOf('co2-idlh').value)
  })

  it('advice grows sharper with the reading', () => {
    expect([800, 6000, 31_000].map((ppm) => airAdvice(ppm).level)).toEqual(['good', 'short', 'leave'])
    expect(() => airAdvice(-1)).toThrow(/co2Ppm is -1/)
  })

  it('limits name their documents, and those from memory say so', () => {
    for (const l of EXPOSURE_LIMITS) expect(l.source.length, l.id).toBeGreaterThan(5)
    expect(EXPOSURE_LIMITS.filter((l) => l.memory).map((l) => l.id)).toEqual(['so2-acgih', 'so2-eu', 'so2-eu-st'])
    expect(() => limitOf('co2-mars')).toThrow(/expected one of/)
  })
})

describe('turbidity and temperature plans', () => {
  it('warn below 50 and above 250 NTU', () => {
    expect([30, 100, 300].map((n) => turbidityAdvice(n).level)).toEqual(['clear', 'good', 'cloudy'])
  })

  it('run straight between points, hold before and after, and jump at a doubled hour', () => {
    const points = tempPoints([
      { hour: 10, tempC: 12 },
      { hour: 20, tempC: 14 },
      { hour: 20, tempC: 18 },
    ])
    expect([0, 10, 15, 19.999, 20, 99].map((h) => Math.round(tempAtHour(points, h) * 100) / 100)).toEqual([
      12, 12, 13, 14, 18, 18,
    ])
  })
})
