import { describe, expect, it } from 'vitest'
import { type Speech, whyNotEarlier } from '../../api/protocol/words.ts'
import { Temporal } from '../../api/time.ts'
import { makeFacts } from '../helpers/make.ts'

const HOUR = 60
const DAY = 24 * HOUR

/** Minutes from midnight of Mon 5 July 2027 in Auckland: two pieces of work end at 09:40, of one only the day is meant. */
const speech: Speech = {
  startAt: Temporal.Instant.from('2027-07-04T12:00:00Z'),
  cellar: makeFacts([]).cellar,
  nameOf: (id) => id,
  taskOf: (key) => key,
  endOf: () => 9 * HOUR + 40,
  startOf: () => 8 * HOUR,
  isByDay: (key) => key === 'L01/filter/1',
  measureOf: () => '',
}

describe('why work is no earlier, in one sentence', () => {
  it('tells the hour of what it follows, and only the day where only that is planned', () => {
    const whyAfter = (ref: string) => whyNotEarlier([{ kind: 'link', ref, lagMin: 0 }], speech)
    expect(whyAfter('L01/rack/1')).toBe('no earlier: follows L01/rack/1 until Mon 5 Jul 09:40')
    expect(whyAfter('L01/filter/1')).toBe('no earlier: follows L01/filter/1 until Mon 5 Jul')
  })

  it('names what fills a day that has nothing left', () => {
    const fills = [
      { key: 'L02/rack/1', minutes: 330 },
      { key: 'L03/filter/1', minutes: 45 },
    ]
    const full = { kind: 'day', ref: 'skill pump', dayMin: DAY } as const
    expect(whyNotEarlier([{ ...full, fills }], speech)).toBe(
      'no earlier: Tue 6 Jul has no more working time of people with pump left, it goes to L02/rack/1 5.5 h, L03/filter/1 45 min',
    )
    // Where the work alone is longer than what the day has, nothing else fills it.
    expect(whyNotEarlier([{ ...full, fills: [] }], speech)).toBe(
      'no earlier: Tue 6 Jul has no more working time of people with pump left',
    )
  })
})
