import { describe, expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { planCellar } from '../../api/plan.ts'
import { dayOf, Temporal } from '../../api/time.ts'

const ZONE = 'Pacific/Auckland'
const EPOCH = Temporal.PlainDate.from('1970-01-01')

describe('the morning round of an overfull fortnight', () => {
  it('may begin later that morning, and never waits for another day', () => {
    const { tasks } = planCellar(demoFacts(), { nowAt: Temporal.Instant.from('2027-03-21T17:31:00Z') })
    const rounds = tasks.filter((task) => task.key.startsWith('house/round-morning/'))
    expect(rounds.length).toBeGreaterThan(8)
    for (const round of rounds) {
      const meant = EPOCH.add({ days: Number(round.key.split('/')[2]) })
      expect(dayOf(round.startAt, ZONE).toString()).toBe(meant.toString())
      expect(round.startAt.toZonedDateTimeISO(ZONE).hour).toBeLessThan(12)
    }
  })
})
