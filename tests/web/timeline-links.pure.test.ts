import { describe, expect, it } from 'vitest'
import { linkMarks } from '../../web/timeline/links.ts'
import { buildModel } from '../../web/timeline/model.ts'
import { ARRANGED, arrangeRows } from '../../web/timeline/rows.ts'
import { timeScale } from '../../web/timeline/scale.ts'
import { elbowOf } from '../../web/timeline/surface.ts'
import { DAY, plan, task } from './timeline-cases.ts'

const T0 = Date.UTC(2027, 2, 1)
// a -> b -> c -> d -> e in one lot, and b -> x in another; each task half a day long, a day apart.
const at = (day: number) => T0 + day * DAY
const cellar = plan(
  [
    task('L01/a/1', at(0), 12, { next: ['L01/b/1'] }),
    task('L01/b/1', at(1), 12, { prev: ['L01/a/1'], next: ['L01/c/1', 'L02/x/1'] }),
    task('L01/c/1', at(2), 12, { prev: ['L01/b/1'], next: ['L01/d/1'] }),
    task('L01/d/1', at(3), 12, { prev: ['L01/c/1'], next: ['L01/e/1'] }),
    task('L01/e/1', at(4), 12, { prev: ['L01/d/1'] }),
    task('L02/x/1', at(2), 12, { prev: ['L01/b/1'] }),
  ],
  [],
  {
    broken: [{ rule: 'link-too-long', strength: 'hard', taskKeys: ['L01/d/1', 'L01/e/1'], words: '' }],
  },
)
const model = buildModel(cellar)
const rows = arrangeRows(model, ARRANGED, T0)
// 100 px a day; rows run at 10 and 50.
const marks = (part: { focusIx?: number; allLinks?: boolean }, fromDay = 0) =>
  linkMarks(
    { model, rows, scale: timeScale(at(fromDay), at(fromDay + 6), 600), middle: (row) => 10 + row * 40, ...part },
    { firstRow: 0, lastRow: 1 },
  )
const pairs = (list: readonly number[]) =>
  Array.from({ length: list.length / 4 }, (_, i) => list.slice(i * 4, i * 4 + 4).map(Math.round))

describe('links', () => {
  it('of the task in focus run from end to start, and one hop further on both sides', () => {
    // Of c: b ends at 150 px, c starts at 200; c ends at 250, d starts at 300.
    const { near, far } = marks({ focusIx: 2 })
    expect(pairs(near)).toEqual([
      [150, 10, 200, 10],
      [250, 10, 300, 10],
    ])
    expect(pairs(far)).toEqual([
      [50, 10, 100, 10],
      [350, 10, 400, 10],
    ])
  })

  it('that are broken are drawn always, and nothing else without a focus', () => {
    const { near, far, broken } = marks({})
    expect([near, far]).toEqual([[], []])
    expect(pairs(broken)).toEqual([[350, 10, 400, 10]])
  })

  it('all of them: each once, also the one that crosses rows, and those that only pass through', () => {
    expect(pairs(marks({ allLinks: true }).near)).toHaveLength(5)
    expect(pairs(marks({ allLinks: true }).near)).toContainEqual([150, 10, 200, 50])
    // From the middle of the gap between c and d on: b -> c has passed, c -> d is under way.
    expect(pairs(marks({ allLinks: true }, 2.6).near)).toEqual([
      [-10, 10, 40, 10],
      [90, 10, 140, 10],
    ])
  })

  it('turn just before the task they lead to, and never backwards', () => {
    expect(elbowOf(0, 100)).toBe(93)
    expect(elbowOf(98, 100)).toBe(101)
  })
})
