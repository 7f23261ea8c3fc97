import { describe, expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { liveThrough } from '../../api/demo/seed.ts'
import { conflictContextOf } from '../../api/protocol/conflicts/context.ts'
import type { Facts } from '../../api/protocol/facts.ts'
import { Temporal } from '../../api/time.ts'

const NOW = Temporal.Instant.from('2027-03-21T18:30:00Z')
const lived = liveThrough(demoFacts(), NOW)
const phase = (lot: string, kind: string) => lived.plan.phases.find((p) => p.key === `${lot}/${kind}`)!

describe('litres of a lot along its way', () => {
  it('counts the juice of every press load, never the must of one', () => {
    // 8.8 t at 700 L/t is 6,160 L; settled to 94 % it is 5,790 L (worked plan P1). One truck makes 3,872 L of must.
    expect(phase('L01', 'settle').volumeL).toBe(6160)
    expect(Math.abs(phase('L01', 'ferment').volumeL - 5790)).toBeLessThan(12)
  })

  it('keeps both fractions of a sparkling base in the sum', () => {
    // Worked plan P4: 2,713 L cuvee and 644 L taille.
    expect(Math.abs(phase('L05', 'ferment').volumeL - 3357)).toBeLessThan(20)
  })

  it('never shows more wine than its vessels hold, in any phase', () => {
    const sizes = new Map(lived.facts.vessels.map((v) => [v.id, v.volumeL]))
    for (const p of lived.plan.phases.filter((x) => x.vessels.length > 0))
      expect(p.volumeL, p.key).toBeLessThanOrEqual(p.vessels.reduce((litres, id) => litres + sizes.get(id)!, 0))
  })

  it('only falls from juice to finished wine', () => {
    for (const lot of lived.facts.lots) {
      const litres = ['settle', 'ferment', 'lees', 'cold', 'store']
        .flatMap((kind) => phase(lot.code, kind)?.volumeL ?? [])
        .filter((volumeL) => lot.choices.skinFermentDays === 0 || volumeL < lot.fruit.tonnes * lot.fruit.yieldLPerT)
      expect(litres, lot.code).toEqual([...litres].sort((a, b) => b - a))
    }
  })

  it('is where it lies in each phase: not in the tank it was racked from', () => {
    expect(phase('L01', 'lees').vessels).not.toContain(phase('L01', 'ferment').vessels[0])
    expect(phase('L10', 'lees').vessels).not.toContain('T20')
  })
})

it('adds up what lies in each vessel, when part of the lot has moved on', () => {
  // L04 in May: the cask and four barrels, less what went to kegs; L05: its taille never moved.
  const may = liveThrough(demoFacts(), Temporal.Instant.from('2027-05-20T00:00:00Z')).facts
  const litresOf = (code: string) => conflictContextOf(may.lots.find((l) => l.code === code)!, may).volumeL
  expect(litresOf('L04')).toBeGreaterThan(2900)
  expect(litresOf('L04')).toBeLessThan(3007)
  expect(litresOf('L05')).toBeGreaterThan(3200)
})

describe('the newest litres, for what is tested against them', () => {
  const lot = lived.facts.lots.find((l) => l.code === 'L01')!
  const at = Temporal.Instant.from('2027-03-11T02:00:00Z')
  const facts: Facts = { ...demoFacts(), taskFacts: [] }
  const volumeOf = (more: Partial<Facts>) => conflictContextOf(lot, { ...facts, ...more }).volumeL
  const move = (taskKey: string, volumeL: number) => ({
    id: taskKey,
    lotId: 'L01',
    volumeL,
    lossL: 0,
    movedAt: at,
    taskKey,
  })

  it('does not take the must of one load for the lot', () => {
    const reading = {
      id: 'm',
      lotId: 'L01',
      kind: 'volume',
      value: 3872,
      takenAt: at,
      taskKey: 'L01/destem-crush/1',
    } as const
    expect(volumeOf({ readings: [reading] })).toBeCloseTo(6160)
  })

  it('adds up press loads and fractions', () => {
    expect(volumeOf({ transfers: [move('L01/press/1', 3080), move('L01/press/2', 3085)] })).toBe(6165)
    expect(volumeOf({ transfers: [move('L01/rack-juice/1', 4600), move('L01/rack-juice/2', 1100)] })).toBe(5700)
  })
})
