import { describe, expect, it } from 'vitest'
import { schedule } from '../../api/schedule/schedule.ts'
import type { Placed, Plan } from '../../api/schedule/types.ts'
import { cellarOf, sizeFor } from '../helpers/cellars.ts'
import { judge } from './checker.ts'
import { DAY, HOUR, problem, task } from './make.ts'

const cellar = cellarOf({ ...sizeFor(6), people: 5 }, 2)
const sound = schedule(cellar)

/** The plan with one task changed. */
const spoilt = (key: string, change: (p: Placed) => Partial<Placed>): Plan => ({
  ...sound,
  placed: sound.placed.map((p) => (p.key === key ? { ...p, ...change(p) } : p)),
})
const moved = (key: string, by: number) =>
  spoilt(key, (p) => ({ startMin: p.startMin + by, endMin: p.endMin + by, crewEndMin: p.crewEndMin + by }))
const complaints = (plan: Plan) => judge(cellar, plan).violated.map((v) => v.split(' ')[0])

describe('the checker', () => {
  it('has nothing against the plan it is tried on', () => {
    expect(judge(cellar, sound)).toEqual({ violated: [], absurd: [] })
  })

  it('sees a lag cut short, and one stretched', () => {
    expect(complaints(moved('L0/settle', -10))).toContain('link-too-short')
    expect(complaints(moved('L0/rack', 3 * 1440))).toContain('link-too-long')
  })

  it('sees work at night and outside its window', () => {
    expect(complaints(moved('L1/so2', -9 * 60))).toEqual(expect.arrayContaining(['outside-window', 'outside-shift']))
  })

  it('sees a missing hand, a missing skill, and a person on two tasks', () => {
    expect(complaints(spoilt('L2/crush', (p) => ({ people: p.people.slice(1) })))).toContain('no-person')
    const unskilled = cellar.people.find((p) => !p.skills.includes('press'))
    expect(complaints(spoilt('L2/press', () => ({ people: [unskilled?.id ?? ''] })))).toContain('no-person')
    const busy = sound.placed.find((p) => p.key === 'L3/crush')
    expect(complaints(spoilt('L4/crush', () => ({ ...busy, key: 'L4/crush' })))).toContain('person-taken')
  })

  it('sees a press used twice and a unit left out', () => {
    const other = sound.placed.find((p) => p.key === 'L3/press')
    expect(complaints(spoilt('L4/press', () => ({ ...other, key: 'L4/press' })))).toContain('unit-taken')
    expect(complaints(spoilt('L4/press', () => ({ units: [] })))).toContain('no-unit')
  })

  it('sees a vessel held by two lots', () => {
    const holds = sound.holds.map((h) => ({ ...h, units: h.units.length > 0 ? ['T0'] : h.units }))
    const { violated, absurd } = judge(cellar, { ...sound, holds })
    expect(violated.some((v) => v.startsWith('unit-taken')) || absurd.length > 0).toBe(true)
  })

  it('sees a day that is asked for more than its shifts give, and a name where only the day is planned', () => {
    // Ana gives 9 h a day: 5 h and 4 h fill the first, an hour more is an hour too many.
    const asked = problem({
      tasks: [
        task('A/a', { byDay: true, elapsedMin: 5 * HOUR, crewMin: 5 * HOUR }),
        task('B/b', { byDay: true, elapsedMin: 4 * HOUR, crewMin: 4 * HOUR }),
        task('C/c', { byDay: true }),
      ],
    })
    const plan = schedule(asked)
    expect(judge(asked, plan)).toEqual({ violated: [], absurd: [] })
    const c = plan.placed.find((p) => p.key === 'C/c')!
    const early = { ...c, startMin: c.startMin - DAY, endMin: c.endMin - DAY, crewEndMin: c.crewEndMin - DAY }
    const squeezed = { ...plan, placed: plan.placed.map((p) => (p === c ? early : p)) }
    expect(judge(asked, squeezed).violated).toEqual(['day-full A/a+B/b+C/c hands'])
    const named = { ...plan, placed: plan.placed.map((p) => (p === c ? { ...c, people: ['ana'] } : p)) }
    expect(judge(asked, named).absurd).toHaveLength(1)
  })

  it('calls it absurd when a task is lost, stretched, or a hold leaves its tasks', () => {
    expect(judge(cellar, { ...sound, placed: sound.placed.slice(1) }).absurd).not.toEqual([])
    expect(
      judge(
        cellar,
        spoilt('L0/press', (p) => ({ endMin: p.endMin + 5 })),
      ).absurd,
    ).not.toEqual([])
    expect(
      judge(cellar, { ...sound, holds: sound.holds.map((h) => ({ ...h, toMin: h.toMin + 1 })) }).absurd,
    ).not.toEqual([])
  })
})
