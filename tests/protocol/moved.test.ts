import { describe, expect, it } from 'vitest'
import { doseWas, isLooked } from '../../api/protocol/beside.ts'
import { fromTo, type Known, movedBecause } from '../../api/protocol/moved.ts'
import type { Dose, TaskPlan } from '../../api/protocol/types.ts'
import { Temporal } from '../../api/time.ts'
import { makePlan, makeTask } from '../helpers/tasks.ts'

const ZONE = 'Pacific/Auckland'
const at = (iso: string) => Temporal.Instant.from(iso)
const NOW = at('2027-03-29T00:00:00Z')

const knownOf = (
  tasks: readonly TaskPlan[],
  dry: Record<string, string> = {},
  malic: Record<string, string> = {},
): Known => ({
  tasks: new Map(tasks.map((t) => [t.key, t])),
  dryAt: new Map(Object.entries(dry).map(([lot, iso]) => [lot, at(iso)])),
  malicGoneAt: new Map(Object.entries(malic).map(([lot, iso]) => [lot, at(iso)])),
})

const forecast = (lotId: string, iso: string, isKnown: boolean) => ({
  lotId,
  dryAt: {
    earliestAt: isKnown ? at(iso) : at(iso).subtract({ hours: 48 }),
    likelyAt: at(iso),
    latestAt: isKnown ? at(iso) : at(iso).add({ hours: 72 }),
  },
  points: [],
})

describe('a task that moved', () => {
  // Noon in Auckland is 23:00 UTC of the day before, in summer time.
  const check = makeTask('L01/check-dry/1', { startAt: at('2027-03-29T23:00:00Z'), next: ['L01/rack-gross/1'] })
  const rack = makeTask('L01/rack-gross/1', { startAt: at('2027-03-31T23:00:00Z'), prev: ['L01/check-dry/1'] })
  const later = (t: TaskPlan, iso: string) => ({ ...t, startAt: at(iso) })

  it('names dry when it came on another day, from and to', () => {
    const plan = makePlan([later(check, '2027-04-01T23:00:00Z'), later(rack, '2027-04-04T23:30:00Z')], {
      forecasts: [forecast('L01', '2027-04-01T23:00:00Z', true)],
    })
    const moved = movedBecause(knownOf([check, rack], { L01: '2027-03-29T23:00:00Z' }), plan, ZONE, NOW)
    expect(moved.get('L01/rack-gross/1')).toEqual({
      at: NOW.toString(),
      fromStartAt: '2027-03-31T23:00:00Z',
      toStartAt: '2027-04-04T23:30:00Z',
      words: 'dry came 2 Apr instead of 30 Mar, so 1 Apr -> 5 Apr',
    })
  })

  it('says that dry is a forecast while no reading has settled it', () => {
    const plan = makePlan([check, later(rack, '2027-04-04T23:30:00Z')], {
      forecasts: [forecast('L01', '2027-04-01T23:00:00Z', false)],
    })
    const moved = movedBecause(knownOf([check, rack], { L01: '2027-03-29T23:00:00Z' }), plan, ZONE, NOW)
    expect(moved.get('L01/rack-gross/1')?.words).toBe('dry is forecast for 2 Apr instead of 30 Mar, so 1 Apr -> 5 Apr')
    expect([...moved.keys()]).toEqual(['L01/rack-gross/1'])
  })

  it('gets its hour and hands on the day it stood without being told as a move; another day is told', () => {
    // Known for 1 April; 20:00 UTC of 31 March is 09:00 of 1 April in Auckland, 13:00 UTC of 1 April is 02:00 of the 2nd.
    const day: TaskPlan = { ...rack, grain: 'day', people: [] }
    const told = (iso: string, more: Partial<TaskPlan> = {}) =>
      movedBecause(knownOf([day]), makePlan([{ ...later(rack, iso), ...more }]), ZONE, NOW)
    expect([...told('2027-03-31T20:00:00Z').keys()]).toEqual([])
    expect([...told('2027-03-31T20:00:00Z', { grain: 'day' }).keys()]).toEqual([])
    expect(told('2027-04-01T13:00:00Z').get('L01/rack-gross/1')?.words).toBe('time went on, so 1 Apr -> 2 Apr')
  })

  it('names the stop where a sweet wine is stopped', () => {
    const stop = makeTask('L09/stop-chill/1', { startAt: at('2027-03-29T23:00:00Z') })
    const plan = makePlan([later(stop, '2027-04-01T23:00:00Z')], {
      forecasts: [forecast('L09', '2027-04-01T23:00:00Z', false)],
    })
    const moved = movedBecause(knownOf([stop], { L09: '2027-03-29T23:00:00Z' }), plan, ZONE, NOW)
    expect(moved.get('L09/stop-chill/1')?.words).toBe(
      'the stop is forecast for 2 Apr instead of 30 Mar, so 30 Mar -> 2 Apr',
    )
  })

  it('names the other lot where work makes room for it', () => {
    const press = makeTask('L02/press/1', { startAt: at('2027-04-01T20:00:00Z') })
    const plan = makePlan([check, later(press, '2027-04-02T20:00:00Z')], {
      forecasts: [forecast('L01', '2027-04-01T23:00:00Z', true)],
    })
    const moved = movedBecause(knownOf([check, press], { L01: '2027-03-29T23:00:00Z' }), plan, ZONE, NOW)
    expect(moved.get('L02/press/1')?.words).toBe(
      'it makes room: L01 dry came 2 Apr instead of 30 Mar, so 2 Apr -> 3 Apr',
    )
  })

  it('names malic for what hangs on malolactic', () => {
    const done = makeTask('L04/mlf-done/1', { startAt: at('2027-05-01T00:00:00Z'), next: ['L04/post-so2/1'] })
    const so2 = makeTask('L04/post-so2/1', { startAt: at('2027-05-02T00:00:00Z'), prev: ['L04/mlf-done/1'] })
    const plan = makePlan([later(done, '2027-05-08T00:00:00Z'), later(so2, '2027-05-09T00:00:00Z')], {
      phases: [
        {
          key: 'L04/malolactic',
          lotId: 'L04',
          lotCode: 'L04',
          kind: 'malolactic',
          vessels: [],
          volumeL: 1000,
          startAt: at('2027-04-10T00:00:00Z'),
          endAt: at('2027-05-08T00:00:00Z'),
          ratePerDay: [],
          tempC: 19,
        },
      ],
    })
    const moved = movedBecause(knownOf([done, so2], {}, { L04: '2027-05-01T00:00:00Z' }), plan, ZONE, NOW)
    expect(moved.get('L04/post-so2/1')?.words).toBe('malic was gone 8 May instead of 1 May, so 2 May -> 9 May')
  })

  it('falls back to the work before it, then to what was told', () => {
    const plan = makePlan([later(check, '2027-04-01T23:00:00Z'), later(rack, '2027-04-04T23:30:00Z')])
    const because = { words: 'L01 check dryness was pinned' }
    const moved = movedBecause(knownOf([check, rack]), plan, ZONE, NOW, because)
    expect(moved.get('L01/check-dry/1')?.words).toBe('L01 check dryness was pinned, so 30 Mar -> 2 Apr')
    expect(moved.get('L01/rack-gross/1')?.words).toMatch(
      /^it follows L01 rack clear juice off juice lees, which moved, so/,
    )
  })

  it('is not one that stands, is new, or was done', () => {
    const gone = { ...later(rack, '2027-04-04T23:30:00Z'), state: 'done' as const }
    const plan = makePlan([check, gone, makeTask('L03/press/1')])
    expect(movedBecause(knownOf([check, rack]), plan, ZONE, NOW).size).toBe(0)
  })

  it('tells the hour where the day is the same', () => {
    expect(fromTo(at('2027-04-01T20:00:00Z'), at('2027-04-01T23:30:00Z'), ZONE, ' -> ')).toBe(
      '2 Apr 09:00 -> 2 Apr 12:30',
    )
  })
})

describe('a dose', () => {
  const dose: Dose = makeTask('L01/post-so2/1').doses[0]!
  const more: Dose = { ...dose, amount: 300, volumeL: 3420, arithmetic: '50 mg/L x 3,420 L / 0.57' }

  it('keeps what was last seen when its volume changes, through further changes', () => {
    const first = doseWas({ doses: [dose] }, [more], undefined, '2027-04-01T00:00:00Z')
    expect(first).toEqual({ at: '2027-04-01T00:00:00Z', doses: [dose] })
    const again = { ...more, amount: 310, arithmetic: '51' }
    expect(doseWas({ doses: [more], doseWas: first! }, [again], undefined, '2027-04-02T00:00:00Z')).toEqual({
      at: '2027-04-02T00:00:00Z',
      doses: [dose],
    })
    expect(doseWas({ doses: [more], doseWas: first! }, [more], undefined, '2027-04-03T00:00:00Z')).toEqual(first)
  })

  it('changes with the reading under it, even where the amount stays', () => {
    const other = { ...dose, arithmetic: '49.6 mg/L x 3,105 L / 0.57' }
    expect(doseWas({ doses: [dose] }, [other], undefined, '2027-04-01T00:00:00Z')?.doses).toEqual([dose])
  })

  it('asks no more once somebody looked, or when it is as it was', () => {
    const was = { at: '2027-04-01T00:00:00Z', doses: [dose] }
    expect(isLooked(was, '2027-04-01T08:00:00Z')).toBe(true)
    expect(isLooked(was, '2027-03-31T08:00:00Z')).toBe(false)
    expect(
      doseWas({ doses: [more], doseWas: was }, [more], '2027-04-01T08:00:00Z', '2027-04-02T00:00:00Z'),
    ).toBeUndefined()
    expect(doseWas({ doses: [more], doseWas: was }, [dose], undefined, '2027-04-02T00:00:00Z')).toBeUndefined()
    expect(doseWas({ doses: [dose] }, [dose], undefined, '2027-04-02T00:00:00Z')).toBeUndefined()
    expect(doseWas({ doses: [] }, [dose], undefined, '2027-04-02T00:00:00Z')).toBeUndefined()
  })
})
