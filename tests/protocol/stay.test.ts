import { describe, expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { calendarsFor, shiftsOf } from '../../api/protocol/calendars.ts'
import { withChanges } from '../../api/protocol/trial/apply.ts'
import { hoursGained, stayHours } from '../../api/protocol/trial/stay.ts'
import { changeWords, hourWords } from '../../api/protocol/trial/words.ts'
import { Temporal, wallTimeAt } from '../../api/time.ts'

const facts = demoFacts()
const person = (id: string, of = facts) => of.people.find((p) => p.id === id)!
const { zone } = facts.cellar
const now = Temporal.Instant.from('2027-03-21T18:00:00Z')
const stay = { kind: 'stay', person: 'alex', on: '2027-03-22', untilMin: 18 * 60 } as const
const hours = (of: typeof facts, on: string) => {
  const day = Temporal.PlainDate.from(on)
  const shift = shiftsOf(person('alex', of))({ on, weekday: day.dayOfWeek })
  return shift && [shift.startMin / 60, shift.endMin / 60]
}

describe('somebody stays longer on a day', () => {
  it('is there longer on that day alone; the facts that were given stay as they are', () => {
    const after = withChanges(facts, [stay], now, () => 'x')
    // Alex: 07:00 to 17:00 every day.
    expect([hours(after, '2027-03-21'), hours(after, '2027-03-22'), hours(after, '2027-03-23')]).toEqual([
      [7, 17],
      [7, 18],
      [7, 17],
    ])
    expect(hours(facts, '2027-03-22')).toEqual([7, 17])
    // 17:00 to 18:00 in Auckland, 13 hours before UTC in March.
    expect(hoursGained(facts, after).map((h) => [h.fromAt.toString(), h.toAt.toString()])).toEqual([
      ['2027-03-22T04:00:00Z', '2027-03-22T05:00:00Z'],
    ])
    expect(hoursGained(facts, facts)).toEqual([])
  })

  it('is nothing where the day ends later anyway, or is off', () => {
    const none = (change: object) => withChanges(facts, [{ ...stay, ...change }], now, () => 'x').people
    expect(none({ untilMin: 16 * 60 })).toEqual(facts.people)
    // Kim is off on Mondays.
    expect(none({ person: 'kim' })).toEqual(facts.people)
  })

  it('ends at the latest 12 h after it began and 11 h before the next day of work', () => {
    // Alex: 7 + 12 = 19:00; the next morning at 7:00 allows 20:00. Ari, 13:00 to 23:00: 13 + 12 = 25, so midnight.
    expect(stayHours(person('alex'), '2027-03-22', zone)!.longestMin).toBe(19 * 60)
    expect(stayHours(person('ari'), '2027-03-22', zone)!.longestMin).toBe(24 * 60)
    // Sam, 5:00 to 14:00: 17:00; the next morning at 5:00 allows 18:00.
    expect(stayHours(person('sam'), '2027-03-22', zone)!.longestMin).toBe(17 * 60)
    expect(stayHours(person('kim'), '2027-03-22', zone)).toBeUndefined()
  })

  it('counts on the clock that goes on: the night in which it is set forward has an hour less', () => {
    const late = {
      ...person('alex'),
      shifts: [
        { weekdays: [6], startMin: 13 * 60, endMin: 17 * 60 },
        { weekdays: [7], startMin: 6 * 60, endMin: 15 * 60 },
      ],
    }
    // Saturday to Sunday at 6:00: 11 h before is 19:00; where clocks went from 2:00 to 3:00 in between, 18:00; where they
    // went back, 20:00. Italy forward on 28 March 2027; New Zealand back on 4 April.
    expect(stayHours(late, '2027-03-20', 'Europe/Rome')!.longestMin).toBe(19 * 60)
    expect(stayHours(late, '2027-03-27', 'Europe/Rome')!.longestMin).toBe(18 * 60)
    expect(stayHours(late, '2027-04-03', 'Pacific/Auckland')!.longestMin).toBe(20 * 60)
  })

  it('takes no hours from others on a day of fruit, on which who ends last stays for it anyway', () => {
    const on = (day: number) => wallTimeAt(new Temporal.PlainDate(2027, 3, day), 0, zone)
    const horizon = { startAt: on(22), untilAt: on(23), zone }
    const fruit = new Map([['2027-03-22', { fromMin: 6 * 60, untilMin: 23 * 60 }]])
    const until = (of: typeof facts, untilMin: number) => {
      const people = withChanges(of, [{ ...stay, untilMin }], now, () => 'x').people
      const calendars = calendarsFor(
        of,
        people.filter((p) => ['alex', 'robin'].includes(p.id)),
        [],
        fruit,
        horizon,
      )
      return ['alex', 'robin'].map((id) => calendars[`shift ${id}`]!.find(([from]) => from >= 0)!.map((m) => m / 60))
    }
    // Alex and Robin, 7:00 to 17:00, start first and end last: from 6:00 on, and 12 h.
    const both = [
      [6, 18],
      [6, 18],
    ]
    expect(until(facts, 17 * 60)).toEqual(both)
    expect(until(facts, 17 * 60 + 30)).toEqual(both)
    // Alex stays until 18:30: 12 h before is 6:30. Robin has the same hours as without.
    expect(until(facts, 18 * 60 + 30)).toEqual([
      [6.5, 18.5],
      [6, 18],
    ])
  })

  it('leaves 11 h before a morning on which fruit calls everybody earlier', () => {
    const on = (day: number) => wallTimeAt(new Temporal.PlainDate(2027, 3, day), 0, zone)
    const horizon = { startAt: on(22), untilAt: on(24), zone }
    const fruit = new Map([['2027-03-23', { fromMin: 4 * 60 + 45, untilMin: 23 * 60 }]])
    const hoursOf = (untilMin: number) => {
      const { people } = withChanges(facts, [{ ...stay, untilMin }], now, () => 'x')
      const alone = people.filter((p) => p.id === 'alex')
      const spans = calendarsFor(facts, alone, [], fruit, horizon)['shift alex']!
      return spans.filter(([from]) => from >= 0 && from < 48 * 60).map(([a, b]) => [a / 60, b / 60])
    }
    // Alex, 7:00 to 17:00: on Tuesday from 5:00, 12 h before 17:00. Home at 19:00 on Monday: not before 6:00.
    expect(hoursOf(17 * 60)).toEqual([
      [7, 17],
      [29, 41],
    ])
    expect(hoursOf(19 * 60)).toEqual([
      [7, 19],
      [30, 41],
    ])
  })

  it('is said in words', () => {
    const names = { zone: 'Pacific/Auckland', nameOf: () => 'Alex', taskOf: (key: string) => key }
    expect(changeWords(stay, names)).toBe('Alex stays until 18:00 on Mon 22 Mar')
    // A shift from 20:00 on that ends at 3:00 has 1,620 minutes of its day.
    expect([19 * 60 + 30, 24 * 60, 1_620].map(hourWords)).toEqual(['19:30', '24:00', '03:00 the next day'])
  })
})
