import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { layDays } from '../../web/timeline/days.ts'
import { layFrame } from '../../web/timeline/frame.ts'
import { hitTest, placeOfTask } from '../../web/timeline/hit.ts'
import { eachTouching, indexIntervals } from '../../web/timeline/interval.ts'
import { assignLanes, MOST_LANES } from '../../web/timeline/lanes.ts'
import { layLoad } from '../../web/timeline/load.ts'
import { levelOf, rowShape } from '../../web/timeline/lod.ts'
import { mostUrgent } from '../../web/timeline/marks.ts'
import { mergeSpots, type Spot } from '../../web/timeline/merge.ts'
import { buildModel, neighboursOf } from '../../web/timeline/model.ts'
import { ARRANGED, arrangeRows } from '../../web/timeline/rows.ts'
import { timeScale } from '../../web/timeline/scale.ts'
import { GROUP_PX, rowAt, stackRows } from '../../web/timeline/stack.ts'
import { everyNth, heightOf, turnsAt } from '../../web/timeline/texture.ts'
import { wordsFor } from '../../web/timeline/words.ts'
import { DAY, HOUR, person, phase, plan, task } from './timeline-cases.ts'

const T0 = Date.UTC(2027, 2, 1)
const ZONE = 'Pacific/Auckland'

const anySpans = fc.array(
  fc.record({ from: fc.integer({ min: 0, max: 1000 }), length: fc.integer({ min: 0, max: 200 }) }),
  { maxLength: 60 },
)

describe('the index of a row', () => {
  it('finds for any window what a look at every span finds', () => {
    fc.assert(
      fc.property(
        anySpans,
        fc.integer({ min: -50, max: 1100 }),
        fc.integer({ min: 1, max: 400 }),
        (spans, from, width) => {
          const start = (i: number) => spans[i]?.from ?? 0
          const end = (i: number) => start(i) + (spans[i]?.length ?? 0)
          const found: number[] = []
          eachTouching(
            indexIntervals(
              spans.map((_, i) => i),
              start,
              end,
            ),
            end,
            from,
            from + width,
            (ix) => found.push(ix),
          )
          const slow = spans
            .map((_, i) => i)
            .filter((i) => start(i) < from + width && (end(i) > from || start(i) >= from))
          expect(found.toSorted((a, b) => a - b)).toEqual(slow)
        },
      ),
    )
  })
})

describe('lanes', () => {
  it('depend on time alone, and two tasks of one lane do not overlap while there are lanes left', () => {
    fc.assert(
      fc.property(anySpans, (spans) => {
        const startMs = Float64Array.from(spans.map((s) => s.from * HOUR))
        const endMs = Float64Array.from(spans.map((s) => (s.from + s.length) * HOUR))
        const order = indexIntervals(
          spans.map((_, i) => i),
          (i) => startMs[i] as number,
          (i) => endMs[i] as number,
        ).ix
        const { lanes, laneCount } = assignLanes(order, startMs, endMs)
        expect(laneCount).toBeLessThanOrEqual(MOST_LANES)
        if (laneCount === MOST_LANES) return
        for (let i = 0; i < order.length; i++)
          for (let j = i + 1; j < order.length; j++)
            if (lanes[i] === lanes[j])
              expect(startMs[order[j] as number]).toBeGreaterThanOrEqual(endMs[order[i] as number] as number)
      }),
    )
  })
})

const anySpots = fc
  .array(fc.record({ x: fc.integer({ min: 0, max: 600 }), alone: fc.boolean() }), { maxLength: 80 })
  .map((list): Spot[] => list.toSorted((a, b) => a.x - b.x).map((s, ix) => ({ ix, ...s })))

describe('merging', () => {
  it('loses no task and never puts a late one into a count', () => {
    fc.assert(
      fc.property(anySpots, (spots) => {
        const clusters = mergeSpots(spots)
        expect(clusters.flatMap((c) => c.members).toSorted((a, b) => a - b)).toEqual(spots.map((s) => s.ix))
        for (const c of clusters)
          if (c.members.length > 1) for (const ix of c.members) expect(spots[ix]?.alone).toBe(false)
      }),
    )
  })

  it('leaves what is merged at least a peg and its number apart', () => {
    fc.assert(
      fc.property(anySpots, (spots) => {
        const counted = mergeSpots(spots.filter((s) => !s.alone).map((s, ix) => ({ ...s, ix })))
        for (let i = 1; i < counted.length; i++) {
          const before = counted[i - 1]
          const count = before?.members.length ?? 0
          // A peg; eight pixels for each digit beside it, and air on both sides of the number.
          const room = count > 9 ? 33 : count > 1 ? 24 : 8
          expect((counted[i]?.x ?? 0) - (before?.x ?? 0)).toBeGreaterThanOrEqual(room)
        }
      }),
    )
  })

  it('shows the most urgent of what it merges', () => {
    const model = buildModel(
      plan([
        task('L01/a/1', T0, 1, { state: 'done' }),
        task('L01/b/1', T0, 1),
        task('L01/c/1', T0, 1, { state: 'due' }),
      ]),
    )
    expect(mostUrgent(model, [0, 1, 2])).toBe(2)
    expect(mostUrgent(model, [0, 1])).toBe(1)
  })
})

describe('levels of detail', () => {
  it('draw pixels below 4 px, ticks below 12, pegs in a year, everything in a month, lengths in a day', () => {
    expect([
      levelOf(3, 30),
      levelOf(8, 30),
      levelOf(24, 200),
      levelOf(24, 20),
      levelOf(24, 2),
      levelOf(16, 10),
    ]).toEqual(['pixels', 'ticks', 'pegs', 'full', 'bars', 'pegs'])
  })

  it('keep peg and band inside the row at every height', () => {
    for (let px = 4; px <= 80; px++) {
      const shape = rowShape(px, levelOf(px, 20))
      expect(shape.pegY - shape.pegPx / 2).toBeGreaterThanOrEqual(-2)
      expect(shape.bandY + shape.bandPx).toBeLessThanOrEqual(px)
      expect(shape.pegY).toBeLessThan(shape.bandY + shape.bandPx)
    }
  })
})

describe('texture', () => {
  it('sets one dot for each gram per litre that falls, on the day it falls', () => {
    const turns = turnsAt(T0, T0 + 4 * DAY, [10, 30, 5, 0], 1)
    const perDay = [0, 1, 2, 3].map((d) => turns.filter((ms) => ms >= T0 + d * DAY && ms < T0 + (d + 1) * DAY).length)
    expect(perDay).toEqual([10, 30, 5, 0])
  })

  it('counts what a fermentation turns over, whatever its course', () => {
    fc.assert(
      fc.property(fc.array(fc.double({ min: 0, max: 40, noNaN: true }), { maxLength: 30 }), (rates) => {
        const total = rates.reduce((sum, r) => sum + r, 0)
        expect(Math.abs(turnsAt(T0, T0 + 60 * DAY, rates, 1).length - total)).toBeLessThanOrEqual(0.5 + 1e-6)
      }),
    )
  })

  it('thins in steps so that dots stay apart, and fills the height evenly', () => {
    expect(everyNth(200, 100_000)).toBe(1)
    expect(everyNth(200, 600)).toBeGreaterThan(2)
    const low = Array.from({ length: 100 }, (_, i) => heightOf(i)).filter((h) => h < 0.5).length
    expect(Math.abs(low - 50)).toBeLessThanOrEqual(2)
  })
})

const cellar = plan(
  [
    task('L01/press/1', T0, 3, { family: 'juice', people: ['kim'], machines: ['PA'], next: ['L01/rack/1'] }),
    task('L01/rack/1', T0 + DAY, 2, {
      family: 'move',
      people: ['sam'],
      fromVessels: ['T01'],
      toVessels: ['T02'],
      prev: ['L01/press/1'],
      state: 'blocked',
    }),
    task('L02/read/1', T0 + DAY, 0.5, { people: ['kim', 'sam'], late: true, state: 'due' }),
    task('house/clean/1', T0, 1, { lotId: null, family: 'protect', name: 'Clean the floor' }),
    task('L02/gone/1', T0, 1, { state: 'cancelled' }),
  ],
  [phase('L01', 'ferment', T0 + DAY, T0 + 10 * DAY), phase('L02', 'lees', T0, T0 + 60 * DAY)],
  { people: [person('kim', 480, 1020), person('sam', 480, 1020)] },
)

describe('rows', () => {
  const model = buildModel(cellar)
  const names = (part: Partial<typeof ARRANGED>) =>
    arrangeRows(model, { ...ARRANGED, ...part }, T0 + 2 * DAY).map((r) => r.label)

  it('stand by lot with the house last, by person, and leave out what was cancelled', () => {
    expect(names({})).toEqual(['L01', 'L02', 'House'])
    expect(names({ by: 'person' })).toEqual(['KIM', 'SAM'])
    expect(arrangeRows(model, ARRANGED, T0)[1]?.tasks.ix).toHaveLength(1)
  })

  it('filter by kind and state, search names, sort late first', () => {
    expect(names({ families: ['juice'] })).toEqual(['L01'])
    expect(names({ states: ['late'] })).toEqual(['L02'])
    expect(names({ search: 'floor' })).toEqual(['House'])
    expect(names({ sort: 'late' })[0]).toBe('L02')
  })

  it('fold under a group by what the wine does now', () => {
    expect(names({ grouped: true })).toEqual(['fermenting', 'L01', 'on lees', 'L02', 'house', 'House'])
    expect(names({ grouped: true, folded: ['group fermenting'] })).toEqual([
      'fermenting',
      'on lees',
      'L02',
      'house',
      'House',
    ])
  })

  it('stack without gaps, and a height finds its row', () => {
    const rows = arrangeRows(model, { ...ARRANGED, grouped: true }, T0 + 2 * DAY)
    const stack = stackRows(rows, 30, 20)
    expect([...stack.tops]).toEqual([0, GROUP_PX, 60, 90, 120, 150, 180])
    expect([0, 29, 30, 179].map((y) => rowAt(stack, y))).toEqual([0, 0, 1, 5])
  })

  it('know their neighbours by link', () => {
    expect([...neighboursOf(model.prev, 1)]).toEqual([0])
    expect([...neighboursOf(model.next, 0)]).toEqual([1])
  })
})

describe('a frame', () => {
  const model = buildModel(cellar)
  const days = layDays(T0 - 30 * DAY, T0 + 90 * DAY, ZONE)
  const frameOf = (fromMs: number, toMs: number) => {
    const rows = arrangeRows(model, ARRANGED, T0 + 2 * DAY)
    return layFrame({
      model,
      rows,
      stack: stackRows(rows, 44, (toMs - fromMs) / DAY),
      scale: timeScale(fromMs, toMs, 1000, 100),
      scrollPx: 0,
      geometry: { widthPx: 1100, heightPx: 600, gutterPx: 100, axisPx: 50, stripPx: 56, rowPx: 44, textPx: 12 },
      days,
      load: layLoad(model, days),
      words: wordsFor('en', ZONE),
      nowMs: T0 + 2 * DAY,
      focusIx: 1,
    })
  }

  it('puts a task where its start is, and a click there finds it', () => {
    for (const spanDays of [2, 7, 30, 365]) {
      const frame = frameOf(T0 - DAY / 2, T0 - DAY / 2 + spanDays * DAY)
      for (const ix of [0, 1, 2, 3]) {
        const at = placeOfTask(frame, ix)
        expect(at, `task ${ix} over ${spanDays} days`).toBeDefined()
        if (at) expect(hitTest(frame, at.x, at.y)?.members).toContain(ix)
      }
    }
  })

  it('draws links only around the task in focus', () => {
    const { near, far, broken } = frameOf(T0 - DAY, T0 + 6 * DAY).links
    expect([near.length / 4, far.length, broken.length]).toEqual([1, 0, 0])
  })

  it('weighs work against the crew of that day', () => {
    const frame = frameOf(T0 - DAY, T0 + 6 * DAY)
    const crew = frame.load.map((c) => c.crewH)
    expect(crew.filter((h) => h === 18).length).toBeGreaterThanOrEqual(4)
    expect(frame.load.reduce((sum, c) => sum + c.workH, 0)).toBe(6.5)
  })
})
