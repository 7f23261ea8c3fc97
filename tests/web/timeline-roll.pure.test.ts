import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { layDays } from '../../web/timeline/days.ts'
import { type Frame, layFrame, stackRows } from '../../web/timeline/frame.ts'
import { keptOfPlan } from '../../web/timeline/kept.ts'
import { lengthAt, lengthChange, lengthNow, lengthOf, lengthsOf } from '../../web/timeline/lengths.ts'
import { layLoad } from '../../web/timeline/load.ts'
import { buildModel, msOfWire } from '../../web/timeline/model.ts'
import { freshParts, shiftOf } from '../../web/timeline/roll.ts'
import { ARRANGED, arrangeRows } from '../../web/timeline/rows.ts'
import { steadyScale, timeScale, xOf } from '../../web/timeline/scale.ts'
import { leesShares, seriesOf } from '../../web/timeline/spark.ts'
import { wordsFor } from '../../web/timeline/words.ts'
import { DAY, HOUR, iso, phase, plan, task } from './timeline-cases.ts'

const T0 = Date.UTC(2027, 2, 1)
const ZONE = 'Pacific/Auckland'
const codes = ['L01', 'L02', 'L03', 'L04', 'L05', 'L06', 'L07', 'L08', 'L09', 'L10', 'L11', 'L12']
const tasks = codes.flatMap((code, row) =>
  Array.from({ length: 30 }, (_, i) =>
    task(`${code}/read/${i}`, T0 + (i * 37 + row * 11) * HOUR, 1 + (i % 5), {
      late: i % 13 === 0,
      slackMin: i % 3 === 0 ? 600 : 0,
      latestAt: iso(T0 + (i * 37 + row * 11 + 10) * HOUR),
      prev: i > 0 ? [`${code}/read/${i - 1}`] : [],
      next: i < 29 ? [`${code}/read/${i + 1}`] : [],
    }),
  ),
)
const phases = codes.flatMap((code) => [
  phase(code, 'ferment', T0, T0 + 18 * DAY, { ratePerDay: Array(18).fill(12) }),
  phase(code, 'lees', T0 + 18 * DAY, T0 + 50 * DAY),
])
const model = buildModel(plan(tasks, phases))
const rows = arrangeRows(model, ARRANGED, T0)
const days = layDays(T0 - 60 * DAY, T0 + 120 * DAY, ZONE)
const load = layLoad(model, days)
const words = wordsFor('en', ZONE)
const geometry = { widthPx: 1180, heightPx: 400, gutterPx: 180, axisPx: 50, stripPx: 56, rowPx: 30, textPx: 12 }

function frameAt(fromMs: number, scrollPx: number, spanDays = 30): Frame {
  const scale = steadyScale(timeScale(fromMs, fromMs + spanDays * DAY, 1000, 180), model.firstMs, 1)
  return layFrame({
    model,
    rows,
    stack: stackRows(rows, 30, spanDays),
    scale,
    scrollPx,
    geometry,
    days,
    load,
    words,
    nowMs: T0 + 5 * DAY,
    allLinks: true,
  })
}

const drawn = (frame: Frame, scrollPx: number) => ({ frame, scrollPx, ratio: 1, basis: [model, rows] })

describe('a pan', () => {
  it('moves everything by the same whole number of pixels', () => {
    fc.assert(
      fc.property(fc.double({ min: -5, max: 5, noNaN: true }), fc.integer({ min: 0, max: 60 }), (byDays, scrollPx) => {
        const before = frameAt(T0, 0)
        const next = frameAt(T0 + byDays * DAY, scrollPx)
        const shift = shiftOf(drawn(before, 0), drawn(next, scrollPx))
        if (!shift) throw new Error('a pan of five days leaves most of a month in sight')
        for (const atMs of [T0, T0 + 3.3 * DAY, T0 + 20 * DAY])
          expect(xOf(next.scale, atMs) - xOf(before.scale, atMs)).toBeCloseTo(shift.dx, 4)
        expect(shift.dy + scrollPx).toBe(0)
      }),
    )
  })

  it('asks for exactly the part that came into sight', () => {
    const frame = frameAt(T0, 0)
    for (const [dx, dy] of [
      [70, 0],
      [-70, 0],
      [0, 40],
      [0, -40],
      [30, -20],
    ] as const) {
      const parts = freshParts({ dx, dy }, frame, 1)
      const isFresh = (x: number, y: number) => parts.some((p) => x >= p.x1 && x < p.x2 && y >= p.y1 && y < p.y2)
      // A point of the body was in sight before exactly when its place before the shift lies in the body.
      for (let x = 181; x < 1180; x += 7)
        for (let y = 107; y < 400; y += 7) {
          const was = x - dx >= 180 && x - dx < 1180 && y - dy >= 106 && y - dy < 400
          expect(isFresh(x, y)).toBe(!was)
        }
    }
  })

  it('finds in a strip the very marks that the whole frame has there', () => {
    fc.assert(
      fc.property(fc.integer({ min: 180, max: 1100 }), fc.integer({ min: 5, max: 80 }), (x1, width) => {
        const frame = frameAt(T0 - 2 * DAY, 0)
        for (const row of frame.rows) {
          const part = row.marksIn(x1, x1 + width)
          const inside = (p: { x: number }) => p.x >= x1 && p.x <= x1 + width
          expect(part.pegs.filter(inside)).toEqual(row.marks.pegs.filter(inside))
          const dots = (list: readonly { dots: readonly number[] }[]) =>
            list.flatMap((b) => b.dots.filter((_, i) => i % 2 === 0)).filter((x) => x >= x1 && x <= x1 + width)
          expect(dots(part.bands)).toEqual(dots(row.marks.bands))
        }
      }),
      { numRuns: 40 },
    )
  })

  it('draws all anew after another zoom, another plan, or at day zoom', () => {
    const before = drawn(frameAt(T0, 0), 0)
    expect(shiftOf(before, drawn(frameAt(T0, 0, 29), 0))).toBeUndefined()
    expect(shiftOf(before, { ...drawn(frameAt(T0, 0), 0), basis: [{}, rows] })).toBeUndefined()
    expect(shiftOf(drawn(frameAt(T0, 0, 2), 0), drawn(frameAt(T0 + HOUR, 0, 2), 0))).toBeUndefined()
    expect(shiftOf(before, drawn(frameAt(T0 + 29 * DAY, 0), 0))).toBeUndefined()
  })
})

describe('moments of the wire', () => {
  it('are read as the language reads them', () => {
    fc.assert(
      fc.property(
        fc.date({ min: new Date('2000-01-01'), max: new Date('2099-12-31'), noInvalidDate: true }),
        (date) => {
          const whole = date.toISOString()
          expect(msOfWire(whole)).toBe(date.getTime())
          expect(msOfWire(`${whole.slice(0, 19)}Z`)).toBe(Math.floor(date.getTime() / 1000) * 1000)
        },
      ),
    )
    expect(msOfWire('2027-03-22T05:00:00.5Z')).toBe(Date.parse('2027-03-22T05:00:00.5Z'))
  })
})

describe('a plan held against another', () => {
  it('shows a ghost only for what moved, and a line only for what slipped', () => {
    const real = plan(
      tasks.map((t) => (t.key === 'L01/read/5' ? { ...t, startAt: iso(msOfWire(t.startAt) - 4 * DAY) } : t)),
      phases.map((p) => (p.lotCode === 'L01' && p.kind === 'ferment' ? { ...p, endAt: iso(T0 + 16 * DAY) } : p)),
    )
    const scale = timeScale(T0 - DAY, T0 + 29 * DAY, 1000, 180)
    const frame = layFrame({
      model,
      rows,
      stack: stackRows(rows, 30, 30),
      scale,
      scrollPx: 0,
      geometry,
      days,
      load,
      words,
      nowMs: T0,
      kept: keptOfPlan(real),
    })
    const [first, second] = frame.rows
    // Read 5 of L01 starts 185 h after T0, and 96 h earlier in the real plan.
    expect(first?.marks.ghosts.map(Math.round)).toEqual([
      Math.round(xOf(scale, T0 + 89 * HOUR)),
      Math.round(xOf(scale, T0 + 185 * HOUR)),
      Math.round(first?.marks.ghosts[2] ?? Number.NaN),
    ])
    expect(second?.marks.ghosts).toEqual([])
    expect(first?.marks.bands.filter((b) => b.baseline)).toHaveLength(1)
    expect(second?.marks.bands.filter((b) => b.baseline)).toHaveLength(0)
  })
})

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

describe('readings in the bands', () => {
  const reading = (id: string, kind: 'density' | 'brix' | 'lees-share', value: number, day: number, more = {}) => ({
    id,
    lotId: 'l1',
    kind,
    value,
    takenAt: iso(T0 + day * DAY),
    ...more,
  })

  it('follow the density where there are two, in order, without what was corrected', () => {
    const series = seriesOf(
      [
        reading('c', 'density', 1040, 3),
        reading('a', 'density', 1090, 1),
        reading('b', 'density', 1900, 2),
        reading('d', 'density', 1060, 2, { correctsId: 'b' }),
        reading('e', 'brix', 22, 0),
      ],
      () => 'L01',
    ).get('L01')
    expect([...(series?.value ?? [])]).toEqual([1090, 1060, 1040])
    expect(series?.label).toBe('1040 kg/m\u00b3')
  })

  it('tell the newest share of lees, percent on the wire', () => {
    const shares = leesShares([reading('a', 'lees-share', 8, 2), reading('b', 'lees-share', 12, 1)], () => 'L01')
    expect(shares.get('L01')).toBe(0.08)
  })
})
