import { afterEach, describe, expect, it } from 'vitest'
import type { LotWire, ReadingWire } from '../../api/wire.ts'
import { createFormat } from '../../web/format.ts'
import { forget, remember, remembered } from '../../web/pages/bench-memory.ts'
import { daysOfDemand } from '../../web/pages/demand-days.ts'
import { cellKey, cellsOf, nextCell, typedNumber, wrongCells } from '../../web/pages/lab-grid.ts'

const format = createFormat({ zone: 'Pacific/Auckland', units: 'metric', sugarUnit: 'brix', language: 'en' })
const NOON = Date.parse('2027-03-28T00:00:00Z')
const lot = (code: string) =>
  ({ id: code, code, name: code, fruit: { tonnes: 8, brix: 21, malicGPerL: 3 } }) as unknown as LotWire
const reading = (lotId: string, kind: ReadingWire['kind'], value: number, takenAt: string): ReadingWire => ({
  id: `${lotId}-${kind}-${takenAt}`,
  lotId,
  kind,
  value,
  takenAt,
})
const sheet = (typed: Record<string, string>, readings: readonly ReadingWire[] = []) => ({
  lots: [lot('L01'), lot('L02')],
  kinds: ['brix', 'temp'] as const,
  typed,
  readings,
  format,
  takenMs: NOON,
})

describe('the sheet of the lab', () => {
  it('takes a number with a comma or a point, and nothing else', () => {
    expect(typedNumber(' 12,4 ')).toBe(12.4)
    expect(typedNumber('-0.5')).toBe(-0.5)
    expect(typedNumber('')).toBeUndefined()
    expect(typedNumber('12 Brix')).toBeUndefined()
  })

  it('lists what holds a number, in the order of the sheet, and names what does not', () => {
    const typed = { [cellKey('L02', 'brix')]: '11', [cellKey('L01', 'temp')]: '15', [cellKey('L01', 'brix')]: 'x' }
    expect(cellsOf(sheet(typed)).map((c) => [c.lot.id, c.kind, c.value])).toEqual([
      ['L01', 'temp', 15],
      ['L02', 'brix', 11],
    ])
    expect(wrongCells(sheet(typed))).toEqual([cellKey('L01', 'brix')])
  })

  it('doubts a jump against the last of its own lot, and more sugar than the fruit had', () => {
    const earlier = [
      reading('L01', 'brix', 16, '2027-03-27T18:00:00Z'),
      reading('L02', 'brix', 12.5, '2027-03-27T18:00:00Z'),
    ]
    const typed = { [cellKey('L01', 'brix')]: '12', [cellKey('L02', 'brix')]: '12' }
    const [first, second] = cellsOf(sheet(typed, earlier))
    expect(first?.doubt).toBe('brix jumps 4 Brix in 6 h: measure again?')
    expect(second?.doubt).toBe('')
    expect(cellsOf(sheet({ [cellKey('L01', 'brix')]: '26' }))[0]?.doubt).toMatch(/unusual for this lot/)
  })

  it('is walked by Enter and the arrows: down a column, then on to the next', () => {
    expect(nextCell({ row: 0, column: 0 }, 'Enter', 2, 2)).toEqual({ row: 1, column: 0 })
    expect(nextCell({ row: 1, column: 0 }, 'Enter', 2, 2)).toEqual({ row: 0, column: 1 })
    expect(nextCell({ row: 1, column: 1 }, 'Enter', 2, 2)).toBeUndefined()
    expect(nextCell({ row: 0, column: 1 }, 'ArrowUp', 2, 2)).toEqual({ row: 1, column: 0 })
    expect(nextCell({ row: 0, column: 0 }, 'ArrowUp', 2, 2)).toBeUndefined()
    expect(nextCell({ row: 0, column: 0 }, 'a', 2, 2)).toBeUndefined()
  })
})

describe('the bench', () => {
  afterEach(() => forget('so2-limit'))

  it('remembers what was typed, of the fields that still are', () => {
    remember('so2-limit', { sugarGPerL: 7, gone: 1 })
    expect(remembered('so2-limit', ['sugarGPerL'])).toEqual({ sugarGPerL: 7 })
    forget('so2-limit')
    expect(remembered('so2-limit', ['sugarGPerL'])).toEqual({})
  })

  it('starts anew where what was kept cannot be read', () => {
    localStorage.setItem('bench/so2-limit', '{')
    expect(remembered('so2-limit', ['sugarGPerL'])).toEqual({})
    localStorage.setItem('bench/so2-limit', 'null')
    expect(remembered('so2-limit', ['sugarGPerL'])).toEqual({})
  })
})

describe('cold and air by day', () => {
  it('takes the hardest hour of each cellar day, with its loads', () => {
    const hour = (at: string, coolingKW: number, shortKW: number, co2M3PerH: number, name: string) => ({
      at,
      fermentKW: 0,
      chillKW: 0,
      coolingKW,
      shortKW,
      co2M3PerH,
      freshAirM3PerH: co2M3PerH * 200,
      loads: [{ name, kW: coolingKW }],
    })
    // 10:30 UTC is 23:30 in Auckland in summer; 11:30 is the next day.
    const days = daysOfDemand(
      [
        hour('2027-03-27T09:30:00Z', 3, 0, 2, 'L01 ferment'),
        hour('2027-03-27T10:30:00Z', 8, 1, 1, 'L02 chill-juice'),
        hour('2027-03-27T11:30:00Z', 2, 0, 0.5, 'L01 ferment'),
      ],
      format.dayOf,
    )
    expect(days).toEqual([
      { on: '2027-03-27', mostKW: 8, shortHours: 1, co2M3PerH: 2, freshAirM3PerH: 400, largest: ['L02 chill-juice'] },
      { on: '2027-03-28', mostKW: 2, shortHours: 0, co2M3PerH: 0.5, freshAirM3PerH: 100, largest: ['L01 ferment'] },
    ])
  })
})
