import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { layDays } from '../../web/timeline/days.ts'
import { layFrame } from '../../web/timeline/frame.ts'
import { keptOfPlan } from '../../web/timeline/kept.ts'
import { layLoad } from '../../web/timeline/load.ts'
import { buildModel, msOfWire } from '../../web/timeline/model.ts'
import { ARRANGED, arrangeRows } from '../../web/timeline/rows.ts'
import { timeScale, xOf } from '../../web/timeline/scale.ts'
import { leesShares, seriesOf } from '../../web/timeline/spark.ts'
import { stackRows } from '../../web/timeline/stack.ts'
import { wordsFor } from '../../web/timeline/words.ts'
import { DAY, HOUR, iso, plan, T0, VINTAGE } from './timeline-cases.ts'

const ZONE = 'Pacific/Auckland'
const model = buildModel(plan(VINTAGE.tasks, VINTAGE.phases))
const rows = arrangeRows(model, ARRANGED, T0)
const days = layDays(T0 - 60 * DAY, T0 + 120 * DAY, ZONE)
const load = layLoad(model, days)
const words = wordsFor('en', ZONE)
const geometry = { widthPx: 1180, heightPx: 400, gutterPx: 180, axisPx: 50, stripPx: 56, rowPx: 30, textPx: 12 }

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
      VINTAGE.tasks.map((t) => (t.key === 'L01/read/5' ? { ...t, startAt: iso(msOfWire(t.startAt) - 4 * DAY) } : t)),
      VINTAGE.phases.map((p) =>
        p.lotCode === 'L01' && p.kind === 'ferment' ? { ...p, endAt: iso(T0 + 16 * DAY) } : p,
      ),
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
