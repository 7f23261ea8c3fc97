import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { cellarPace } from '../../api/cellar/ferment-prior.ts'
import { chillHours, finishedFerment, forecastFerment, YEAST_KINDS } from '../../api/cellar/fermentation.ts'
import { FERMENT_MODELS, type InventedFerment, inventFerment } from '../helpers/ferments.ts'

const MUST = { brix: 22, yanMgPerL: 200, yeast: 'selected', tempPlan: 15 } as const
const FOUR_DAYS = [
  { hour: 24, sugarGPerL: 212 },
  { hour: 48, sugarGPerL: 205 },
  { hour: 72, sugarGPerL: 186 },
  { hour: 96, sugarGPerL: 160 },
]

const forecastAfter = (f: InventedFerment, day: number, cellar?: ReturnType<typeof cellarPace>) =>
  forecastFerment({
    sugarGPerL: f.brixMeasured * 10.2,
    yanMgPerL: f.yanMeasured,
    yeast: 'selected',
    tempPlan: f.tempMeasured,
    readings: f.readings.filter((r) => r.hour <= 24 * day),
    cellar,
  })

/** Coverage of the 80 % band and mean error in days over invented ferments, as seen on one day. */
function judge(ferments: readonly InventedFerment[], day: number, cellar?: ReturnType<typeof cellarPace>) {
  const seen = ferments.filter((f) => f.dryH > 24 * day + 24)
  const rows = seen.map((f) => ({ f, dry: forecastAfter(f, day, cellar).dryH }))
  const held = rows.filter(
    ({ f, dry }) => (dry.earliest ?? 0) <= f.dryH && f.dryH <= (dry.latest ?? Number.POSITIVE_INFINITY),
  )
  const known = rows.flatMap(({ f, dry }) => (dry.likely === null ? [] : [Math.abs(dry.likely - f.dryH) / 24]))
  return {
    runs: seen.length,
    coveragePct: (100 * held.length) / seen.length,
    errorDays: known.reduce((a, b) => a + b, 0) / known.length,
  }
}

describe('a forecast of dryness', () => {
  it('before readings is a factor of two wide to either side', () => {
    const { earliest, likely, latest } = forecastFerment(MUST).dryH
    expect((likely as number) / (earliest as number)).toBeGreaterThan(1.85)
    expect((likely as number) / (earliest as number)).toBeLessThan(2.2)
    expect((latest as number) / (likely as number)).toBeGreaterThan(1.85)
    expect((latest as number) / (likely as number)).toBeLessThan(2.2)
  })

  it('puts 15 C, 250 mg/L nitrogen and 240 g/L at 13 to 14 days', () => {
    const { likely } = forecastFerment({ sugarGPerL: 240, yanMgPerL: 250, yeast: 'selected', tempPlan: 15 }).dryH
    expect((likely as number) / 24).toBeGreaterThan(13)
    expect((likely as number) / 24).toBeLessThan(14)
  })

  it('narrows with readings and keeps the order earliest, likely, latest', () => {
    const before = forecastFerment(MUST).dryH
    const two = forecastFerment({ ...MUST, readings: FOUR_DAYS.slice(0, 2) }).dryH
    const four = forecastFerment({ ...MUST, readings: FOUR_DAYS }).dryH
    const width = (d: typeof before) => Math.log((d.latest as number) / (d.earliest as number))
    expect(width(two)).toBeLessThan(width(before))
    expect(width(four)).toBeLessThan(width(two))
    for (const d of [before, two, four]) {
      expect(d.earliest as number).toBeLessThanOrEqual(d.likely as number)
      expect(d.likely as number).toBeLessThanOrEqual(d.latest as number)
    }
  })

  it('of an ambient ferment is later and wider than of a cultured one', () => {
    const cultured = forecastFerment(MUST).dryH
    const ambient = forecastFerment({ ...MUST, yeast: 'ambient' }).dryH
    const later = ((ambient.likely as number) - (cultured.likely as number)) / 24
    expect(later).toBeGreaterThan(1.5)
    expect(later).toBeLessThan(7)
    const width = (d: typeof cultured) => Math.log((d.latest as number) / (d.earliest as number))
    expect(width(ambient)).toBeGreaterThan(width(cultured))
  })

  it('follows the readings: a faster ferment is dry sooner', () => {
    const slow = forecastFerment({ ...MUST, readings: FOUR_DAYS.map((r) => ({ ...r, sugarGPerL: r.sugarGPerL + 12 })) })
    const fast = forecastFerment({ ...MUST, readings: FOUR_DAYS.map((r) => ({ ...r, sugarGPerL: r.sugarGPerL - 25 })) })
    expect(fast.dryH.likely as number).toBeLessThan(slow.dryH.likely as number)
    expect(fast.pace).toBeGreaterThan(0)
  })

  it('does not care in which order readings were entered', () => {
    const one = forecastFerment({ ...MUST, readings: FOUR_DAYS })
    const other = forecastFerment({ ...MUST, readings: FOUR_DAYS.toReversed() })
    expect(other.dryH.likely as number).toBeCloseTo(one.dryH.likely as number, 6)
  })

  it('moves with the start: a clock shifted by 1000 h shifts the answer by 1000 h', () => {
    const moved = forecastFerment({
      ...MUST,
      startAtH: 1000,
      readings: FOUR_DAYS.map((r) => ({ ...r, hour: r.hour + 1000 })),
    })
    const still = forecastFerment({ ...MUST, readings: FOUR_DAYS })
    expect((moved.dryH.likely as number) - (still.dryH.likely as number)).toBeCloseTo(1000, 3)
  })

  it('says when a stop level is reached, before dryness', () => {
    const f = forecastFerment({ ...MUST, stopSugarGPerL: 20 })
    expect(f.stopH?.likely as number).toBeLessThan(f.dryH.likely as number)
    expect(f.stopH?.earliest as number).toBeLessThan(f.stopH?.likely as number)
  })

  it('says never, not a day, where yeast without nitrogen in heat stops above dryness', () => {
    const f = forecastFerment({ sugarGPerL: 260, yanMgPerL: 60, yeast: 'selected', tempPlan: 35 })
    expect(f.dryH.likely).toBeNull()
    expect(f.restGPerL).toBeGreaterThan(30)
  })

  it('shows a band that holds the curve, never below zero, narrow where it was measured', () => {
    const f = forecastFerment({ ...MUST, readings: FOUR_DAYS })
    for (const p of f.points) {
      expect(p.lowGPerL).toBeGreaterThanOrEqual(0)
      expect(p.lowGPerL).toBeLessThanOrEqual(p.sugarGPerL + 1e-9)
      expect(p.highGPerL).toBeGreaterThanOrEqual(p.sugarGPerL - 1e-9)
      if (p.hour <= 96) expect(p.highGPerL - p.lowGPerL).toBeLessThan(6)
    }
    const fallen = f.sugarFallPerDay.reduce((a, b) => a + b, 0)
    expect(fallen).toBeGreaterThan(200)
  })

  it('refuses a must that cannot be, saying what was expected', () => {
    expect(() => forecastFerment({ ...MUST, tempPlan: 60 })).toThrow(/tempC is 60, expected 0 to 45 C/)
    expect(() => forecastFerment({ ...MUST, yanMgPerL: -5 })).toThrow(/yanMgPerL is -5, expected 10 to 1000 mg\/L/)
    expect(() => forecastFerment({ ...MUST, brix: Number.NaN })).toThrow(/brix is NaN, expected 5 to 45 Brix/)
    expect(() => forecastFerment({ ...MUST, sugarGPerL: 200 })).toThrow(/expected one of the two/)
    expect(() => forecastFerment({ ...MUST, brix: undefined })).toThrow(/expected one of the two/)
    expect(() => forecastFerment({ ...MUST, readings: [{ hour: 4, sugarGPerL: 1060 }] })).toThrow(
      /reading sugarGPerL is 1060/,
    )
    expect(() => forecastFerment({ ...MUST, readings: [{ hour: Number.NaN, sugarGPerL: 100 }] })).toThrow(/hour is NaN/)
    expect(() => forecastFerment({ ...MUST, tempPlan: [] })).toThrow(/no point/)
    expect(() =>
      forecastFerment({
        ...MUST,
        tempPlan: [
          { hour: 9, tempC: 15 },
          { hour: 3, tempC: 15 },
        ],
      }),
    ).toThrow(/hour is 3/)
  })

  it('for any must and readings gives finite hours in order', () => {
    fc.assert(
      fc.property(
        fc.record({
          brix: fc.double({ min: 14, max: 30, noNaN: true }),
          yanMgPerL: fc.double({ min: 40, max: 400, noNaN: true }),
          yeast: fc.constantFrom(...YEAST_KINDS),
          tempPlan: fc.double({ min: 8, max: 30, noNaN: true }),
          readings: fc.array(
            fc.record({
              hour: fc.double({ min: 0, max: 500, noNaN: true }),
              sugarGPerL: fc.double({ min: -5, max: 330, noNaN: true }),
            }),
            { maxLength: 8 },
          ),
        }),
        (input) => {
          const f = forecastFerment(input)
          const { earliest, likely, latest } = f.dryH
          for (const h of [earliest, likely, latest]) if (h !== null) expect(Number.isFinite(h)).toBe(true)
          if (earliest !== null && likely !== null) expect(earliest).toBeLessThanOrEqual(likely + 1e-6)
          if (latest !== null && likely !== null) expect(likely).toBeLessThanOrEqual(latest + 1e-6)
          for (const p of f.points) expect(Number.isFinite(p.lowGPerL + p.sugarGPerL + p.highGPerL)).toBe(true)
        },
      ),
      { numRuns: 150 },
    )
  })
})

describe('an honest band', () => {
  const days = [0, 2, 4, 6, 8]
  // A third each of another set of constants, another law, and Coleman's own with other parameters; fresh seeds.
  const ferments = Array.from({ length: 560 }, (_, k) =>
    inventFerment(FERMENT_MODELS[k % 3] ?? 'levenspiel', 700_000 + k),
  )

  it('holds the true day of dryness in 75 to 85 % of 500 ferments after four days of readings', () => {
    const table = days.map((day) => ({ day, ...judge(ferments, day) }))
    for (const row of table)
      process.stdout.write(
        `forecast on day ${row.day}: ${row.runs} ferments, 80 % band holds ${row.coveragePct.toFixed(1)} %, mean error ${row.errorDays.toFixed(2)} d\n`,
      )
    const fourth = table.find((row) => row.day === 4)
    expect(fourth?.runs).toBeGreaterThanOrEqual(500)
    expect(fourth?.coveragePct).toBeGreaterThanOrEqual(75)
    expect(fourth?.coveragePct).toBeLessThanOrEqual(85)
    const errors = table.map((row) => row.errorDays)
    expect(errors).toEqual(errors.toSorted((a, b) => b - a))
  })

  it('gets better when the cellar has finished ferments of its own to learn from', () => {
    // A cellar whose yeast obeys another set of constants; eight finished ferments teach it, others are then forecast.
    const old = Array.from({ length: 8 }, (_, k) => inventFerment('other-constants', 40_000 + k))
    const learnt = cellarPace(
      old.map((f) =>
        finishedFerment({
          sugarGPerL: f.brixMeasured * 10.2,
          yanMgPerL: f.yanMeasured,
          yeast: 'selected',
          tempPlan: f.tempMeasured,
          readings: f.readings,
        }),
      ),
    )
    const coming = Array.from({ length: 200 }, (_, k) => inventFerment('other-constants', 50_000 + k))
    const without = judge(coming, 2)
    const withOld = judge(coming, 2, learnt)
    process.stdout.write(
      `day 2 without old lots: ${without.coveragePct.toFixed(1)} %, ${without.errorDays.toFixed(2)} d; with eight: ${withOld.coveragePct.toFixed(1)} %, ${withOld.errorDays.toFixed(2)} d\n`,
    )
    expect(withOld.errorDays).toBeLessThan(without.errorDays)
    expect(withOld.coveragePct).toBeGreaterThan(65)
  })
})

describe('the pace of a cellar', () => {
  it('is the default without lots, and moves to the lots as they grow in number', () => {
    const lot = { pace: 0.9, tail: 3, start: 0.5 }
    const none = cellarPace([])
    const two = cellarPace([lot, lot])
    const many = cellarPace(Array.from({ length: 40 }, () => lot))
    expect(none.pace).toBeCloseTo(0.6, 9)
    expect(none.paceSpread).toBeCloseTo(0.52, 9)
    expect(two.pace).toBeGreaterThan(none.pace)
    expect(many.pace).toBeGreaterThan(two.pace)
    expect(many.pace).toBeLessThan(0.9)
    expect(many.paceSpread).toBeLessThan(two.paceSpread)
  })

  it('refuses a lot that was fitted to nonsense', () => {
    expect(() => cellarPace([{ pace: -1, tail: 1, start: 1 }])).toThrow(/old lot is -1/)
  })
})

describe('hours of chilling', () => {
  it('are litres x 1.08 x 3.6 x difference / (3600 x power)', () => {
    expect(chillHours(6000, 6, 12)).toBeCloseTo(3.24, 2)
  })

  it('grow with volume and difference and fall with power', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 100, max: 50_000, noNaN: true }),
        fc.double({ min: 1, max: 25, noNaN: true }),
        fc.double({ min: 1, max: 100, noNaN: true }),
        (v, d, p) => {
          expect(chillHours(2 * v, d, p)).toBeCloseTo(2 * chillHours(v, d, p), 6)
          expect(chillHours(v, 2 * d, p)).toBeGreaterThan(chillHours(v, d, p))
          expect(chillHours(v, d, 2 * p)).toBeLessThan(chillHours(v, d, p))
        },
      ),
    )
  })

  it('refuse negative litres', () => {
    expect(() => chillHours(-1, 5, 12)).toThrow(/volumeL is -1, expected more than 0 L/)
  })
})
