import { describe, expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { changedChoices, withChanges } from '../../api/protocol/trial/apply.ts'
import type { TrialChange } from '../../api/protocol/trial/change.ts'
import { type ComparedGround, type ComparedPlan, compare } from '../../api/protocol/trial/compare.ts'
import { changeWords } from '../../api/protocol/trial/words.ts'
import { at, stay, task } from './answers/ground.ts'

const facts = demoFacts()
const NOW = at('2027-03-22T06:30')
const span = { fromAt: at('2027-03-23T05:00').toString(), toAt: at('2027-03-23T14:00').toString() }

const CHANGES: readonly TrialChange[] = [
  { kind: 'pick', lot: 'L04', pickOn: '2027-03-23' },
  { kind: 'move', taskKey: 'L04/press/1', startAt: span.fromAt, people: ['kim'] },
  { kind: 'more-fruit', like: 'L12', code: 'L13', on: '2027-03-27', tonnes: 12 },
  { kind: 'fruit', lot: 'L04', fruit: { tonnes: 5.75, rotPct: 4 } },
  { kind: 'machine-down', machine: 'PA', ...span, why: 'bladder' },
  { kind: 'away', person: 'kim', ...span, reason: 'ill' },
  { kind: 'choices', lot: 'L07', choices: { fermentTempC: 16, settleH: null } },
  { kind: 'vessel', lot: 'L04', hold: 'settle', vessels: ['T02'] },
]

describe('changes on a copy', () => {
  it('leave the given facts as they are', () => {
    const before = JSON.stringify(facts)
    withChanges(facts, CHANGES, NOW, (i) => `t${i}`)
    expect(JSON.stringify(facts)).toBe(before)
  })

  it('each do what they say, and nothing else', () => {
    const tried = withChanges(facts, CHANGES, NOW, (i) => `t${i}`)
    const lot = (code: string) => tried.lots.find((l) => l.code === code)!
    expect(lot('L04').pickOn.toString()).toBe('2027-03-23')
    expect(lot('L04').fruit).toMatchObject({ tonnes: 5.75, rotPct: 4, brix: 22.1 })
    expect(lot('L04').vesselPins.settle).toEqual(['T02'])
    expect(lot('L07').choices.fermentTempC).toBe(16)
    expect('settleH' in lot('L07').choices).toBe(false)
    expect(lot('L13')).toMatchObject({
      id: 't2',
      variety: 'Colombard',
      fruit: { tonnes: 12 },
      signed: [],
      vesselPins: {},
    })
    expect(tried.machines.find((m) => m.id === 'PA')!.bookings.map((b) => b.why)).toEqual(['bladder'])
    expect(tried.people.find((p) => p.id === 'kim')!.absences.map((a) => a.reason)).toEqual(['ill'])
    expect(tried.taskFacts).toMatchObject([{ kind: 'pin', taskKey: 'L04/press/1', people: ['kim'] }])
    expect(lot('L01')).toBe(facts.lots.find((l) => l.code === 'L01'))
  })

  it('of what the cellar no longer has do nothing', () => {
    const gone: TrialChange[] = [
      { kind: 'pick', lot: 'L99', pickOn: '2027-03-23' },
      { kind: 'more-fruit', like: 'L99', code: 'L13', on: '2027-03-27', tonnes: 12 },
      { kind: 'away', person: 'nobody', ...span, reason: '' },
    ]
    expect(withChanges(facts, gone, NOW, (i) => `t${i}`)).toEqual(facts)
  })

  it('take an answer away by null, and keep the others', () => {
    const { choices } = facts.lots.find((l) => l.code === 'L07')!
    expect(changedChoices(choices, { finishOn: null })).toEqual(
      Object.fromEntries(Object.entries(choices).filter(([key]) => key !== 'finishOn')),
    )
  })

  it('are told in one sentence each', () => {
    const names = { zone: 'Pacific/Auckland', nameOf: (id: string) => id, taskOf: () => 'L04 press' }
    expect(CHANGES.map((change) => changeWords(change, names))).toEqual([
      'L04 is picked on Tue 23 Mar',
      'L04 press is done on Tue 23 Mar 05:00 by kim',
      '12 t more like L12 come on Sat 27 Mar, as L13',
      'L04 comes with 5.75 t, 4 % rot',
      'PA cannot be used from Tue 23 Mar 05:00 to Tue 23 Mar 14:00 (bladder)',
      'kim is away from Tue 23 Mar 05:00 to Tue 23 Mar 14:00 (ill)',
      'L07: ferment temperature, C: 16, settle, h: none',
      'L04 goes to T02 to settle',
    ])
  })
})

describe('two plans in numbers', () => {
  const ground: ComparedGround = {
    ...facts,
    zone: 'Pacific/Auckland',
    presses: facts.machines.filter((m) => m.kind === 'press'),
  }
  const plan = (tasks: ComparedPlan['tasks'], broken: ComparedPlan['broken'] = []): ComparedPlan => ({
    tasks,
    broken,
    phases: [stay('L01', 'ferment', ['T01'], '2027-03-20T08:00', '2027-03-30T08:00')],
    forecasts: [],
    dryAt: new Map(),
  })
  const hard = (key: string) => ({ rule: 'unit-taken', strength: 'hard' as const, taskKeys: [key], words: key })
  // Kim works Tue 23 March 05:00-14:00. A press of 3 h from 13:00 runs to 16:00: 2 h outside Kim's shift.
  const before = plan(
    [
      task('L03/press/1', '2027-03-23T09:00', 180, { people: ['kim'], machines: ['PA'] }),
      task('L04/press/1', '2027-03-24T09:00', 180, { people: ['sam'], machines: ['PA'] }),
      task('L01/release/1', '2027-07-26T09:00', 20, { people: ['alex'] }),
      task('L01/stir-lees/1', '2027-03-25T09:00', 30, { people: ['alex'] }),
    ],
    [hard('L04/press/1')],
  )
  const after = plan(
    [
      task('L03/press/1', '2027-03-23T13:00', 180, { people: ['kim'], machines: ['PA'] }),
      task('L04/press/1', '2027-03-23T09:00', 180, { people: ['sam'], machines: ['PA'] }),
      task('L01/release/1', '2027-07-28T09:00', 20, { people: ['alex'] }),
      task('L13/press/1', '2027-03-26T09:00', 180, { people: ['sam'], machines: ['PB'] }),
    ],
    [hard('L03/press/1')],
  )
  const numbers = compare(before, after, { before: ground, after: ground }, NOW)

  it('count what moves by lot and by day, what is new and what is gone', () => {
    expect([numbers.moved, numbers.added, numbers.gone]).toEqual([3, 1, 1])
    // L03 four hours later, L04 a day sooner, the release two days later.
    expect(numbers.byLot).toEqual([
      { lotCode: 'L01', moved: 1, largestShiftMin: 2880 },
      { lotCode: 'L03', moved: 1, largestShiftMin: 240 },
      { lotCode: 'L04', moved: 1, largestShiftMin: -1440 },
    ])
    expect(numbers.byDay).toEqual([
      { on: '2027-03-23', moved: 1 },
      { on: '2027-03-24', moved: 1 },
      { on: '2027-07-26', moved: 1 },
    ])
  })

  it('name the rules that break now and those that no longer do', () => {
    expect(numbers.freshBroken).toEqual(['L03/press/1'])
    expect(numbers.mendedBroken).toEqual(['L04/press/1'])
    expect(numbers.brokenHard).toEqual({ before: 1, after: 1 })
  })

  it('count work outside people’s own shifts, and by person', () => {
    expect(numbers.overtimeMin).toEqual({ before: 0, after: 120 })
    // Sam: one press of 3 h, then two.
    expect(numbers.byPerson.find((p) => p.personId === 'sam')).toEqual({ personId: 'sam', before: 180, after: 360 })
  })

  it('find the fullest press day, and when each lot is finished', () => {
    expect(numbers.press.before).toEqual({ on: '2027-03-23', code: 'PA', hours: 3 })
    expect(numbers.press.after).toEqual({ on: '2027-03-23', code: 'PA', hours: 6 })
    expect(numbers.finish.find((f) => f.lotCode === 'L01')!.finish).toEqual({
      before: at('2027-07-26T09:20').toString(),
      after: at('2027-07-28T09:20').toString(),
    })
  })

  it('are all alike where nothing differs', () => {
    const same = compare(before, before, { before: ground, after: ground }, NOW)
    expect([same.moved, same.added, same.gone, same.freshBroken, same.mendedBroken]).toEqual([0, 0, 0, [], []])
    expect(same.cooling.before).toEqual(same.cooling.after)
  })
})
