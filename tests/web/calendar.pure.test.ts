import { describe, expect, it } from 'vitest'
import { layMonth, monthsOn, tasksByDay } from '../../web/calendar/month.ts'
import { partsOfDay } from '../../web/calendar/parts-of-day.ts'
import { roundsOf } from '../../web/calendar/rounds.ts'
import { dayIndex, layDays, wallMs } from '../../web/timeline/days.ts'
import { buildModel } from '../../web/timeline/model.ts'
import { DAY, plan, task } from './timeline-cases.ts'

const ZONE = 'Pacific/Auckland'
/** Midnight of 1 April 2027 in Auckland, summer time until the 4th. */
const APRIL = Date.UTC(2027, 2, 31, 11)
const days = layDays(APRIL - 90 * DAY, APRIL + 90 * DAY, ZONE)
const first = dayIndex(days, APRIL)
const at = (day: number, minute: number) => wallMs(days, first + day - 1, minute)

const model = buildModel(
  plan([
    task('L01/a/1', at(1, 10), 1, { family: 'juice', people: ['kim'] }),
    task('L01/b/1', at(1, 23 * 60 + 50), 1, { family: 'juice' }),
    task('L02/c/1', at(2, 8 * 60), 1, { late: true, state: 'due', toVessels: ['T02'] }),
    task('L03/c/1', at(2, 8 * 60), 1, { late: true, state: 'due' }),
    task('L02/d/1', at(30, 20 * 60), 1, { family: 'lees' }),
    task('L02/x/1', at(2, 8 * 60), 1, { state: 'cancelled' }),
  ]),
)

describe('the month', () => {
  const month = layMonth(model, days, dayIndex(days, at(15, 0)), dayIndex(days, at(2, 600)), { kind: 'all' })
  const cells = month.weeks.flat()

  it('has whole weeks from Monday and every day of the month once', () => {
    expect(cells.length % 7).toBe(0)
    expect(cells.filter((c) => c.inMonth).map((c) => c.dayOfMonth)).toEqual(Array.from({ length: 30 }, (_, i) => i + 1))
    expect(cells[0]?.on).toBe('2027-03-29')
  })

  it('steps to the same day of another month, or to its last', () => {
    expect(monthsOn('2027-03-31', 1)).toBe('2027-04-30')
    expect(monthsOn('2027-01-31', 1)).toBe('2027-02-28')
    expect(monthsOn('2028-01-31', 1)).toBe('2028-02-29')
    expect(monthsOn('2027-01-15', -1)).toBe('2026-12-15')
  })

  it('counts by kind on the local day, just after midnight and just before', () => {
    expect(cells.find((c) => c.on === '2027-04-01')?.counts).toEqual([2, 0, 0, 0, 0, 0])
    expect(cells.find((c) => c.on === '2027-04-30')?.counts).toEqual([0, 0, 0, 0, 1, 0])
  })

  it('says what is late, and leaves out what was cancelled', () => {
    expect(cells.find((c) => c.today)).toMatchObject({ on: '2027-04-02', late: 2, counts: [0, 0, 2, 0, 0, 0] })
  })

  it('shows one person, one lot or one vessel', () => {
    const count = (who: Parameters<typeof tasksByDay>[2]) => [...tasksByDay(model, days, who).values()].flat().length
    expect(count({ kind: 'all' })).toBe(5)
    expect(count({ kind: 'person', id: 'kim' })).toBe(1)
    expect(count({ kind: 'lot', id: 'L02' })).toBe(2)
    expect(count({ kind: 'vessel', id: 'T02' })).toBe(1)
  })
})

describe('a day', () => {
  it('is cut into parts without losing a task', () => {
    const parts = partsOfDay(model, days, [0, 1, 2, 4])
    expect(parts.map((p) => [p.word, p.tasks])).toEqual([
      ['Night', [0]],
      ['Morning', [2]],
      ['Evening', [1, 4]],
    ])
  })

  it('says the same work at the same hour once, with its lots', () => {
    expect(roundsOf(model, [2, 3]).map((r) => r.members)).toEqual([[2, 3]])
    expect(roundsOf(model, [0, 1])).toHaveLength(2)
  })
})
