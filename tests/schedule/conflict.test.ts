import { describe, expect, it } from 'vitest'
import { conflictOf } from '../../api/schedule/conflict.ts'
import { schedule } from '../../api/schedule/schedule.ts'
import type { Problem } from '../../api/schedule/types.ts'
import { at, DAY, HOUR, link, problem, task, unit, wait } from './make.ts'

const conflict = (asked: Problem) => {
  const plan = schedule(asked)
  return conflictOf(asked, plan, plan.broken.find((b) => b.strength === 'hard')!)
}

describe('what stands behind a broken rule', () => {
  it('a pin, 20 h of settling and a maximum wait: any one of the two limits frees it, the third has no part in it', () => {
    // Pressed at 16:00 by a pin, settled at 13:00 next day, racked within 2 h; but racking is pinned to the day after.
    const found = conflict(
      problem({
        tasks: [
          task('L/press', { pin: { startMin: at(0, 16) } }),
          wait('L/settle', 20 * HOUR),
          task('L/rack', { pin: { startMin: at(2, 9) } }),
          task('L/test', { dueMin: at(5, 9), dueStrength: 'hard' }),
        ],
        links: [link('L/press', 'L/settle', 0, 0), link('L/settle', 'L/rack', 0, 2 * HOUR), link('L/rack', 'L/test')],
      }),
    )
    expect(found.freed).toBe(true)
    expect(found.limits).not.toContainEqual({ kind: 'due', task: 'L/test' })
    expect(found.limits).toContainEqual({ kind: 'pin', task: 'L/rack' })
    expect(found.limits).toContainEqual({ kind: 'longest-lag', task: 'L/settle', next: 'L/rack' })
    expect(found.waysOut.length).toBeGreaterThanOrEqual(2)
    expect(found.waysOut.every((w) => w.hardBroken === 0)).toBe(true)
  })

  it('a vessel fixed for two lots', () => {
    const hold = (lot: string) => ({
      key: `${lot}/in`,
      group: lot,
      from: { task: `${lot}/fill`, edge: 'start' as const },
      to: { task: `${lot}/empty`, edge: 'end' as const },
      candidates: ['T1', 'T2'],
      count: 1,
      cleanMin: 0,
      units: ['T1'],
    })
    const fill = (lot: string) => [
      task(`${lot}/fill`, { pin: { startMin: at(0, lot === 'A' ? 8 : 10) } }),
      wait(`${lot}/rest`, 2 * DAY),
      task(`${lot}/empty`),
    ]
    const found = conflict(
      problem({
        tasks: [...fill('A'), ...fill('B')],
        links: ['A', 'B'].flatMap((l) => [link(`${l}/fill`, `${l}/rest`), link(`${l}/rest`, `${l}/empty`)]),
        holds: [hold('A'), hold('B')],
        units: [unit('T1', 'tank'), unit('T2', 'tank')],
      }),
    )
    expect(found.waysOut.map((w) => w.letGo.kind)).toContain('vessel')
  })

  it('says that nothing near by frees it when hands are missing, and does not call it impossible', () => {
    const found = conflict(problem({ tasks: [task('L/a', { skills: ['forklift'], pin: { startMin: at(0, 9) } })] }))
    expect(found).toMatchObject({ freed: false, limits: [], waysOut: [] })
  })
})
