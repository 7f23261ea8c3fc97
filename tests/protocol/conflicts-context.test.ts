import { describe, expect, it } from 'vitest'
import { conflictContextOf } from '../../api/protocol/conflicts/context.ts'
import { fruitTempOf, juiceNtuOf, phaseOf } from '../../api/protocol/conflicts/known.ts'
import { findConflicts } from '../../api/protocol/conflicts.ts'
import { defaultsFor } from '../../api/protocol/defaults.ts'
import type { Addition, Facts, Lot, Machine, Reading, TaskFact, Vessel } from '../../api/protocol/facts.ts'
import { Temporal } from '../../api/time.ts'
import { contextOf, SOUND } from './cases.ts'

const at = (day: number) => Temporal.Instant.from(`2027-04-${String(day).padStart(2, '0')}T00:00:00Z`)

const lot: Lot = {
  id: 'lot-1',
  code: 'L01',
  name: 'Lower block',
  variety: 'Chardonnay',
  block: 'lower',
  place: 'Ostrel',
  vintage: 2027,
  pickOn: Temporal.PlainDate.from('2027-03-20'),
  fruit: SOUND,
  choices: defaultsFor('textured'),
  choicesVersion: 1,
  signed: [],
  parents: [],
  vesselPins: {},
}

const facts: Facts = {
  cellar: {
    id: 'c',
    name: 'Ostrel Yard',
    hemisphere: 'south',
    vintage: 2027,
    zone: 'Pacific/Auckland',
    units: 'metric',
    sugarUnit: 'brix',
    language: 'en',
    rates: { receptionTPerH: 4.5, sortingTPerH: 2, pressLoadingTPerH: 3, floatLPerH: 6000, chillKW: 12, heatKW: 8 },
    holidays: [],
  },
  people: [],
  vessels: [],
  machines: [],
  lots: [lot],
  readings: [],
  taskFacts: [],
  additions: [],
  transfers: [],
}

const reading = (kind: Reading['kind'], value: number, day: number, more: Partial<Reading> = {}): Reading => ({
  id: `${kind}-${day}-${value}`,
  lotId: 'lot-1',
  kind,
  value,
  takenAt: at(day),
  ...more,
})

const addition = (product: string, day: number): Addition => ({
  id: `${product}-${day}`,
  lotId: 'lot-1',
  product,
  amount: 1,
  unit: 'kg',
  treatedL: 3000,
  addedAt: at(day),
  personId: 'p',
})

const done = (step: string, day: number): TaskFact => ({
  id: `${step}-${day}`,
  taskKey: `L01/${step}/1`,
  kind: 'done',
  at: at(day),
})

const machine = (kind: Machine['kind']): Machine => ({
  id: kind,
  code: kind,
  kind,
  name: kind,
  capacity: 1,
  bookings: [],
})

const vessel = (id: string, kind: Vessel['kind'], more: Partial<Vessel> = {}): Vessel => ({
  id,
  code: id,
  kind,
  volumeL: 228,
  jacket: false,
  insulated: false,
  pressureBar: 0,
  state: 'clean',
  bookings: [],
  ...more,
})

const of = (more: Partial<Facts>, own: Partial<Lot> = {}) =>
  conflictContextOf({ ...lot, ...own }, { ...facts, ...more })

describe('what conflicts are tested against', () => {
  it('the newest reading of a kind counts, whatever the order they came in', () => {
    expect(of({ readings: [reading('pH', 3.4, 3), reading('pH', 3.3, 1)] }).latest.pH).toBe(3.4)
  })

  it('a corrected reading counts no more, the correction does', () => {
    const wrong = reading('total-so2', 350, 5)
    const right = reading('total-so2', 35, 6, { correctsId: wrong.id })
    expect(of({ readings: [wrong] }).latest['total-so2']).toBe(350)
    expect(of({ readings: [wrong, right] }).latest['total-so2']).toBe(35)
  })

  it('another lot’s reading does not count', () => {
    expect(of({ readings: [reading('pH', 3, 3, { lotId: 'lot-2' })] }).latest.pH).toBeUndefined()
  })

  it('volume is the booking’s, then the newest of dip and transfer', () => {
    const moved = { id: 't', lotId: 'lot-1', volumeL: 2900, lossL: 30, movedAt: at(4), taskKey: 'L01/rack-juice/1' }
    const barrels = [1, 2].map((n) => ({
      ...moved,
      id: `t${n}`,
      volumeL: 1400,
      movedAt: at(8),
      taskKey: 'L01/fill-barrels/1',
    }))
    expect(of({}).volumeL).toBeCloseTo(4.4 * 690, 9)
    expect(of({ transfers: [moved] }).volumeL).toBe(2900)
    expect(of({ transfers: [moved, ...barrels] }).volumeL).toBe(2800)
    expect(of({ transfers: [moved], readings: [reading('volume', 2880, 6)] }).volumeL).toBe(2880)
    expect(of({ transfers: [moved], readings: [reading('volume', 3000, 2)] }).volumeL).toBe(2900)
  })

  it('machines say what the cellar has; a cellar without any listed says nothing', () => {
    expect(of({}).filterInCellar).toBeUndefined()
    const context = of({ machines: [machine('filter'), machine('cold-room')] })
    expect([context.filterInCellar, context.coldRoomInCellar, context.mustChillerInCellar]).toEqual([true, true, false])
  })

  it('the phase follows the work done, and an undone tick does not count', () => {
    expect(of({ taskFacts: [done('press', 1)] }).phase).toBe('juice')
    expect(of({ taskFacts: [done('press', 1), done('inoculate', 2)] }).phase).toBe('ferment')
    expect(of({ taskFacts: [done('press', 1), done('inoculate', 2), done('check-dry', 9)] }).phase).toBe('wine')
    const undo: TaskFact = { id: 'u', taskKey: 'L01/check-dry/1', kind: 'undo', at: at(10) }
    expect(of({ taskFacts: [done('inoculate', 2), done('check-dry', 9), undo] }).phase).toBe('ferment')
    expect(of({ taskFacts: [{ ...done('press', 1), taskKey: 'L02/press/1' }] }).phase).toBeUndefined()
  })

  it('malolactic is done when it was declared', () => {
    expect(of({}).malolacticDone).toBe(false)
    expect(of({ taskFacts: [done('mlf-done', 9)] }).malolacticDone).toBe(true)
  })

  it('volatile acidity rises when the last two readings differ by more than 0.1 g/L', () => {
    expect(of({ readings: [reading('va', 0.4, 1), reading('va', 0.52, 9)] }).vaRising).toBe(true)
    expect(of({ readings: [reading('va', 0.4, 1), reading('va', 0.48, 9)] }).vaRising).toBe(false)
    expect(of({ readings: [reading('va', 0.9, 1)] }).vaRising).toBe(false)
  })

  it('additions tell of ascorbic and sorbic acid, and of bentonite put in too late', () => {
    expect(of({ additions: [addition('Ascorbic acid', 1)] }).ascorbicUsed).toBe(true)
    expect(of({ additions: [addition('potassium sorbate', 1)] }).sorbicUsed).toBe(true)
    expect(of({ additions: [addition('bentonite', 1), addition('CMC', 5)] }).bentoniteAfterAdditive).toBe(false)
    expect(of({ additions: [addition('lysozyme', 1), addition('bentonite', 5)] }).bentoniteAfterAdditive).toBe(true)
    expect(of({ additions: [addition('bentonite', 5)] }).bentoniteAfterAdditive).toBe(false)
  })

  it('wood is as old as the youngest barrel it lies in; concrete cools when all of it does', () => {
    const vessels = [
      vessel('A1', 'barrel', { fills: 7 }),
      vessel('A2', 'barrel', { fills: 2 }),
      vessel('T16', 'concrete'),
      vessel('T17', 'concrete', { jacket: true }),
    ]
    expect(of({ vessels }, { vesselPins: { ferment: ['A1', 'A2'] } }).barrelYears).toBe(2)
    expect(of({ vessels }).barrelYears).toBeUndefined()
    expect(of({ vessels }, { vesselPins: { ferment: ['T17'] } }).concretePlate).toBe(true)
    expect(of({ vessels }, { vesselPins: { ferment: ['T16', 'T17'] } }).concretePlate).toBe(false)
  })

  it('the planner’s own sums come on top', () => {
    const context = conflictContextOf(lot, facts, { day: { coolingShare: 0.9 } })
    expect(findConflicts(context).map((rule) => rule.id)).toContain('K35')
  })

  it('a reading that arrives raises a conflict that the protocol did not have', () => {
    const before = findConflicts(of({})).map((rule) => rule.id)
    const after = findConflicts(of({ readings: [reading('total-so2', 70, 3)] })).map((rule) => rule.id)
    expect(before).not.toContain('K01')
    expect(after).toContain('K01')
  })
})

describe('where a lot is, told from its readings', () => {
  // 21.5 Brix is about 1090 kg/m3.
  it('untouched density is juice, a fallen one ferments, under 1000 is wine', () => {
    expect(phaseOf(contextOf())).toBe('fruit')
    expect(phaseOf(contextOf({ more: { latest: { density: 1090 } } }))).toBe('juice')
    expect(phaseOf(contextOf({ more: { latest: { density: 1040 } } }))).toBe('ferment')
    expect(phaseOf(contextOf({ more: { latest: { density: 1000.5 } } }))).toBe('ferment')
    expect(phaseOf(contextOf({ more: { latest: { density: 994 } } }))).toBe('wine')
  })

  it('sugar by enzymes or alcohol are measured on wine only', () => {
    expect(phaseOf(contextOf({ more: { latest: { density: 1020, 'glucose-fructose': 60 } } }))).toBe('wine')
    expect(phaseOf(contextOf({ more: { latest: { alcohol: 11 } } }))).toBe('wine')
  })

  it('a temperature is the fruit’s only while it is juice', () => {
    const planned = { choices: { fruitCooling: 'none' } as const, fruit: { fruitTempC: 14 } }
    expect(fruitTempOf(contextOf({ ...planned, more: { phase: 'juice', latest: { temp: 18 } } }))).toBe(18)
    expect(fruitTempOf(contextOf({ ...planned, more: { phase: 'ferment', latest: { temp: 18 } } }))).toBe(14)
    expect(fruitTempOf(contextOf({ ...planned, more: { phase: 'juice' } }))).toBe(14)
  })

  it('cloud is the juice’s until it is wine', () => {
    expect(juiceNtuOf(contextOf({ more: { phase: 'ferment', latest: { ntu: 150 } } }))).toBe(150)
    expect(juiceNtuOf(contextOf({ more: { phase: 'wine', latest: { ntu: 0.6 } } }))).toBe(80)
  })
})
