import { describe, expect, it } from 'vitest'
import { fermentAlarms } from '../../api/cellar/alarms.ts'
import { dryAt, malicGoneAt } from '../../api/cellar/ending.ts'
import { plausible, READING_BOUNDS } from '../../api/cellar/plausible.ts'
import { fermentRisk } from '../../api/cellar/risk.ts'

const WATCH = { startH: 0, startBrix: 22, setC: 15 }
const kinds = (nowH: number, readings: Parameters<typeof fermentAlarms>[0]['readings'], more = {}) =>
  fermentAlarms({ ...WATCH, nowH, readings, ...more }).map((a) => `${a.kind}/${a.level}`)

describe('alarms of a ferment', () => {
  it('are silent on a good course', () => {
    const readings = [0, 12, 24, 36, 48, 60, 72].map((hour) => ({ hour, apparentBrix: 22 - hour / 20, tempC: 15 }))
    expect(kinds(72, readings)).toEqual([])
  })

  it('warn at 72 h without a start and ask for a decision at 96 h', () => {
    const still = (until: number) =>
      Array.from({ length: until / 12 + 1 }, (_, k) => ({ hour: 12 * k, apparentBrix: 22 - 0.004 * k }))
    expect(kinds(60, still(60))).toEqual([])
    expect(kinds(72, still(72))).toEqual(['no-start/warn'])
    expect(kinds(96, still(96))).toEqual(['no-start/act'])
  })

  it('tell slow from stuck from fast', () => {
    expect(
      kinds(240, [
        { hour: 216, apparentBrix: 10 },
        { hour: 240, apparentBrix: 9.7 },
      ]),
    ).toEqual(['slow/warn'])
    expect(
      kinds(240, [
        { hour: 192, apparentBrix: 6.1 },
        { hour: 216, apparentBrix: 6 },
        { hour: 240, apparentBrix: 6 },
      ]),
    ).toEqual(['stuck/act'])
    expect(
      kinds(72, [
        { hour: 48, apparentBrix: 20 },
        { hour: 72, apparentBrix: 14 },
      ]),
    ).toEqual(['fast/act'])
  })

  it('see heat over the set point, a swing and a missing round', () => {
    expect(kinds(48, [{ hour: 48, apparentBrix: 20, tempC: 17.5 }])).toEqual(['hot/act'])
    expect(
      kinds(48, [
        { hour: 40, tempC: 11 },
        { hour: 48, apparentBrix: 20, tempC: 15 },
      ]),
    ).toEqual(['swing/warn'])
    expect(kinds(48, [{ hour: 24, apparentBrix: 20 }])).toEqual(['no-reading/warn'])
  })

  it('see a fall of less than half of the forecast', () => {
    const readings = [
      { hour: 48, apparentBrix: 18 },
      { hour: 72, apparentBrix: 17 },
      { hour: 96, apparentBrix: 16 },
    ]
    expect(kinds(96, readings, { expectedFallBrix48h: 5 })).toEqual(['behind/warn'])
    expect(kinds(96, readings, { expectedFallBrix48h: 3 })).toEqual([])
  })
})

describe('risk of a stuck ferment', () => {
  const good = { sugarGPerL: 215, yanMgPerL: 200, maxC: 16, minC: 14, ntu: 100 }

  it('is low for a sound juice and says no reason', () => {
    expect(fermentRisk(good)).toEqual({ level: 'low', reasons: [] })
  })

  it.each([
    ['little nitrogen', { yanMgPerL: 140 }, 'raised', /nitrogen 140/],
    ['hardly any nitrogen', { yanMgPerL: 80 }, 'high', /80 mg\/L nitrogen/],
    ['juice too clear', { ntu: 30 }, 'raised', /30 NTU/],
    ['heat and much sugar', { maxC: 31, sugarGPerL: 265 }, 'high', /above 30 C/],
    ['a model that stops', { restGPerL: 12 }, 'high', /stops at 12/],
    ['cold', { minC: 10 }, 'raised', /down to 10 C/],
  ])('rises with %s, and says why', (_, worse, level, reason) => {
    const risk = fermentRisk({ ...good, ...worse })
    expect(risk.level).toBe(level)
    expect(risk.reasons.join('; ')).toMatch(reason)
  })
})

describe('dry', () => {
  it('needs two readings under the limit 24 h apart', () => {
    expect(dryAt([])).toEqual({ ok: false, why: 'no-reading' })
    expect(dryAt([{ hour: 0, value: 3 }])).toEqual({ ok: false, why: 'one-only' })
    expect(
      dryAt([
        { hour: 0, value: 3 },
        { hour: 12, value: 3 },
      ]),
    ).toEqual({ ok: false, why: 'too-close' })
    expect(
      dryAt([
        { hour: 0, value: 3 },
        { hour: 24, value: 2.5 },
      ]),
    ).toEqual({ ok: true, value: 24 })
    expect(
      dryAt([
        { hour: 24, value: 2.5 },
        { hour: 0, value: 3 },
      ]),
    ).toEqual({ ok: true, value: 24 })
  })

  it('begins anew after a reading above the limit', () => {
    const readings = [
      { hour: 0, value: 3 },
      { hour: 12, value: 6 },
      { hour: 24, value: 3 },
    ]
    expect(dryAt(readings)).toEqual({ ok: false, why: 'one-only' })
    expect(dryAt([...readings, { hour: 50, value: 6 }])).toEqual({ ok: false, why: 'above' })
    expect(dryAt([...readings, { hour: 48, value: 2 }])).toEqual({ ok: true, value: 48 })
  })

  it('and malic gone at under 0.1 g/L', () => {
    expect(malicGoneAt([{ hour: 0, value: 0.3 }])).toEqual({ ok: false, why: 'above' })
    expect(
      malicGoneAt([
        { hour: 0, value: 0.3 },
        { hour: 168, value: 0.05 },
      ]),
    ).toEqual({ ok: true, value: 168 })
  })
})

describe('a reading', () => {
  it('that jumps 4 Brix in 6 h is asked for again', () => {
    expect(plausible('brix', 14, { value: 18, hoursAgo: 6 })).toEqual({
      verdict: 'again',
      words: 'brix jumps 4 Brix in 6 h: measure again?',
    })
    expect(plausible('brix', 16.5, { value: 18, hoursAgo: 12 }).verdict).toBe('fine')
  })

  it('that cannot be is refused, with what was expected', () => {
    expect(plausible('pH', 14).verdict).toBe('refused')
    expect(plausible('pH', 14).words).toMatch(/expected 2.5 to 4.8/)
    expect(plausible('temp', 60).verdict).toBe('refused')
    expect(plausible('density', 1.09).verdict).toBe('refused')
    expect(plausible('brix', Number.NaN).verdict).toBe('refused')
  })

  it('outside the usual is asked for again; rising sugar too', () => {
    expect(plausible('free-so2', 120).verdict).toBe('again')
    expect(plausible('brix', 14, { value: 12, hoursAgo: 6 }).verdict).toBe('again')
  })

  it('of any known kind is fine in the middle of its usual range', () => {
    for (const [kind, b] of Object.entries(READING_BOUNDS)) {
      expect(plausible(kind, (b.usual[0] + b.usual[1]) / 2).verdict, kind).toBe('fine')
      expect(b.possible[0], kind).toBeLessThanOrEqual(b.usual[0])
      expect(b.possible[1], kind).toBeGreaterThanOrEqual(b.usual[1])
    }
    expect(plausible('smell', 3).verdict).toBe('fine')
  })
})
