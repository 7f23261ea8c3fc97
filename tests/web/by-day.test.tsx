import { cleanup, render, screen } from '@solidjs/testing-library'
import { afterEach, describe, expect, it } from 'vitest'
import { WeekColumns } from '../../web/calendar/week.tsx'
import { createFormat } from '../../web/format.ts'
import { layDays } from '../../web/timeline/days.ts'
import { rowShape } from '../../web/timeline/lod.ts'
import { rowMarks } from '../../web/timeline/marks.ts'
import { buildModel } from '../../web/timeline/model.ts'
import { taskCells } from '../../web/timeline/outline.ts'
import { ARRANGED, arrangeRows } from '../../web/timeline/rows.ts'
import { timeScale, xOf } from '../../web/timeline/scale.ts'
import { wordsFor } from '../../web/timeline/words.ts'
import { spanWords, startWords } from '../../web/when.ts'
import { DAY, HOUR, person, plan, task } from './timeline-cases.ts'

// Auckland keeps 12 h ahead of UTC in mid-September: 14 September begins at 12:00Z of the 13th, its noon is 00:00Z.
const ZONE = 'Pacific/Auckland'
const MIDNIGHT = Date.UTC(2027, 8, 13, 12)
const NOON = MIDNIGHT + 12 * HOUR
const AT_SEVEN = MIDNIGHT + 7 * HOUR

const tasks = [
  task('L01/rack/1', AT_SEVEN, 3, { grain: 'day', name: 'Rack off fine lees', crew: 2 }),
  task('L01/read/1', AT_SEVEN + HOUR, 1, { name: 'Read density', people: ['kim'] }),
]
const model = buildModel(plan(tasks, [], { people: [person('kim', 420, 1020)] }), undefined, ZONE)
const days = layDays(MIDNIGHT - 30 * DAY, MIDNIGHT + 30 * DAY, ZONE)
const words = wordsFor('en', ZONE)

afterEach(cleanup)

describe('work that is planned to the day', () => {
  it('stands on its day without an hour or a name, apart from what has its hour', () => {
    render(() => (
      <WeekColumns
        model={model}
        days={days}
        words={words}
        fromIndex={30}
        count={1}
        byDay={new Map([[30, [0, 1]]])}
        nowMs={MIDNIGHT - 60 * DAY}
        onOpen={() => undefined}
        onDay={() => undefined}
      />
    ))
    const [morning, inTheDay] = [...document.querySelectorAll('h3')]
    expect([morning?.textContent, inTheDay?.textContent]).toEqual(['Morning', 'In the day'])
    const lines = [...document.querySelectorAll('.task-line')]
    expect(lines[0]?.querySelector('.when')?.textContent).toBe('08:00')
    expect(lines[1]?.querySelector('.when')?.textContent).toBe('')
    expect(lines[1]?.querySelector('.who')?.textContent).toBe('not yet dealt out')
    expect(screen.queryByText('07:00')).toBeNull()
  })

  it('is told in words as a day', () => {
    const format = createFormat({ zone: ZONE, units: 'metric', sugarUnit: 'brix', language: 'en' })
    expect(startWords(tasks[0]!, format)).toBe('Tue 14 Sept')
    expect(spanWords(tasks[0]!, format)).toBe('Tue 14 Sept')
    expect(spanWords(tasks[1]!, format)).toBe('Tue 14 Sept 08:00–09:00')
    const cells = taskCells(model, 0, words)
    expect(cells[2]).toBe('Tuesday 14 September')
    expect(cells.at(-1)).toBe('not yet dealt out')
    expect(taskCells(model, 1, words)[2]).toContain('08:00')
  })

  it('has its peg in the middle of its day, on a shelf as wide as the day, and no tail to a minute', () => {
    // 100 px a day: midnight at 1,000 px, noon at 1,050, the shelf from 2 px after midnight to 2 px before the next.
    const scale = timeScale(MIDNIGHT - 10 * DAY, MIDNIGHT + 10 * DAY, 2000, 0)
    expect(xOf(scale, MIDNIGHT)).toBe(1000)
    const only = buildModel(plan([tasks[0]!]), undefined, ZONE)
    const [row] = arrangeRows(only, ARRANGED, 0)
    const place = { y: 0, h: 28, shape: rowShape(28, 'full'), level: 'full' as const }
    const marks = rowMarks(row!, place, { model: only, scale, nowMs: 0, letterPx: 6 })
    expect(marks.pegs.map((p) => p.x)).toEqual([xOf(scale, NOON)])
    expect([marks.shelves[0], marks.shelves[2]]).toEqual([1002, 1098])
    expect(marks.tails).toEqual([])
  })

  it('lies in a row of its own among the people until it is dealt out', () => {
    const rows = arrangeRows(model, { ...ARRANGED, by: 'person' }, 0)
    expect(rows.map((r) => [r.label, [...r.tasks.ix]])).toEqual([
      ['KIM', [1]],
      ['Not yet dealt out', [0]],
    ])
  })
})
