import { describe, expect, it } from 'vitest'
import { layDays } from '../../web/timeline/days.ts'
import { layFrame } from '../../web/timeline/frame.ts'
import { edgeUnder } from '../../web/timeline/hit.ts'
import { lengthAt, lengthChange, lengthNow, lengthOf, lengthsOf } from '../../web/timeline/lengths.ts'
import { layLoad } from '../../web/timeline/load.ts'
import { buildModel } from '../../web/timeline/model.ts'
import { ARRANGED, arrangeRows } from '../../web/timeline/rows.ts'
import { moveRules } from '../../web/timeline/rules.ts'
import { timeScale, xOf } from '../../web/timeline/scale.ts'
import { stackRows } from '../../web/timeline/stack.ts'
import { beginStretch, endOf, isStretched, stretchTo, stretchWords } from '../../web/timeline/stretch.ts'
import { wordsFor } from '../../web/timeline/words.ts'
import { DAY, HOUR, iso, person, phase, plan, task, vessel } from './timeline-cases.ts'

const T0 = Date.UTC(2027, 2, 1)

describe('lengths that are a choice', () => {
  const built = buildModel(
    plan([], [phase('L01', 'macerate', T0, T0 + 12 * HOUR), phase('L01', 'ferment', T0, T0 + DAY)]),
  )

  it('are hours on skins and months on lees, and nothing else', () => {
    const [skins, ferment] = built.phases
    expect(ferment && lengthOf(ferment)).toBeUndefined()
    const length = skins && lengthOf(skins)
    if (!length) throw new Error('skin contact has a length')
    expect(lengthNow(length)).toBe(12)
    expect(lengthAt(length, T0 + 20.4 * HOUR)).toBe(20)
    expect(lengthAt(length, T0 + 900 * HOUR)).toBe(72)
    expect(lengthChange(length, 20)).toEqual({ skinContactH: 20 })
  })

  it('are offered while they last', () => {
    expect(lengthsOf(built, 'L01', T0).map((l) => l.choice)).toEqual(['skinContactH'])
    expect(lengthsOf(built, 'L01', T0 + DAY)).toEqual([])
  })
})

describe("a band's end in the hand", () => {
  // Monday 15 March 2027, 08:00 in Berlin; twelve hours on skins in T01, pressed by Kim, who works till 22:00.
  const monday = Date.UTC(2027, 2, 15, 7)
  const zone = 'Europe/Berlin'
  const cellar = plan(
    [task('L01/press/1', monday + 12 * HOUR, 2, { fromVessels: ['T01'], people: ['kim'] })],
    [
      phase('L01', 'macerate', monday, monday + 12 * HOUR),
      phase('L02', 'settle', monday + 30 * HOUR, monday + 50 * HOUR),
    ],
    { vessels: [vessel('T01', 6000)], people: [person('kim', 8 * 60, 22 * 60)] },
  )
  const model = buildModel(cellar)
  const days = layDays(monday - 10 * DAY, monday + 10 * DAY, zone)
  const words = wordsFor('en', zone)
  const rules = moveRules(model, days, words, monday)
  const [skins] = lengthsOf(model, 'L01', monday)
  if (!skins) throw new Error('skin contact has a length')
  const drawnTo = (hours: number) => stretchTo(rules, beginStretch(rules, skins), monday + hours * HOUR)

  it('goes by whole steps of its choice, and where it began nothing is changed', () => {
    expect(isStretched(beginStretch(rules, skins))).toBe(false)
    expect(drawnTo(10.4)).toMatchObject({ value: 10, endMs: monday + 10 * HOUR })
    expect(isStretched(drawnTo(10.4))).toBe(true)
    expect(isStretched(drawnTo(12.3))).toBe(false)
    expect(drawnTo(500).value).toBe(72)
    expect(endOf(skins, 72)).toBe(monday + 72 * HOUR)
  })

  it('says the range while all holds', () => {
    expect(drawnTo(10).verdict).toEqual({ level: 'fine', words: 'Allowed from 1 to 72 h.' })
    expect(stretchWords(drawnTo(10), words)).toBe(
      'Skin contact of L01: 10 h, until Mon 15 Mar 18:00. Allowed from 1 to 72 h.',
    )
  })

  it('names who would have to press outside the shift, and the lot that comes into the tank', () => {
    expect(drawnTo(18).verdict).toMatchObject({ level: 'strained' })
    expect(drawnTo(18).verdict.words).toContain('KIM')
    expect(drawnTo(40).verdict).toMatchObject({ level: 'no', nearestMs: monday + 30 * HOUR })
    expect(drawnTo(40).verdict.words).toContain('L02 is settling in T01 from Tue 16 Mar 14:00')
  })

  it('names a booking of the tank, and what is past', () => {
    const booked = buildModel({
      ...cellar,
      vessels: [
        vessel('T01', 6000, {
          bookings: [{ fromAt: iso(monday + 20 * HOUR), toAt: iso(monday + 22 * HOUR), why: 'new valve' }],
        }),
      ],
    })
    const strict = moveRules(booked, days, words, monday)
    expect(stretchTo(strict, beginStretch(strict, skins), monday + 21 * HOUR).verdict.words).toContain('new valve')
    const later = moveRules(model, days, words, monday + 6 * HOUR)
    expect(stretchTo(later, beginStretch(later, skins), monday + 4 * HOUR).verdict.level).toBe('no')
  })

  it('is taken within a few pixels of where it is drawn, as long as it has not come', () => {
    const rows = arrangeRows(model, ARRANGED, monday)
    const scale = timeScale(monday - DAY, monday + 6 * DAY, 1000, 180)
    const frame = layFrame({
      model,
      rows,
      stack: stackRows(rows, 44, 7),
      scale,
      scrollPx: 0,
      geometry: { widthPx: 1180, heightPx: 400, gutterPx: 180, axisPx: 50, stripPx: 56, rowPx: 44, textPx: 12 },
      days,
      load: layLoad(model, days),
      words,
      nowMs: monday,
    })
    const band = frame.rows[0]?.marks.bands[0]
    if (!band) throw new Error('the lot has a band')
    const y = band.y + band.h / 2
    const x = xOf(scale, skins.phase.endMs)
    expect(edgeUnder(frame, x, y, monday)?.choice).toBe('skinContactH')
    expect(edgeUnder(frame, x - 20, y, monday)).toBeUndefined()
    expect(edgeUnder(frame, x, y - 30, monday)).toBeUndefined()
    expect(edgeUnder(frame, x, y, monday + DAY)).toBeUndefined()
  })
})
