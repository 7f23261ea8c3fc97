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

describe('the board on a day when nobody who decides is in', () => {
  it('is led by whoever is there, and by nobody who is away', () => {
    // Alex alone decides here. Ill on Tue 23 March: that morning's board goes to another; Monday's stays with Alex.
    const facts = demoFacts()
    const ill = {
      id: 'ill',
      fromAt: Temporal.Instant.from('2027-03-22T11:00:00Z'),
      toAt: Temporal.Instant.from('2027-03-23T11:00:00Z'),
      reason: 'ill',
    }
    const people = facts.people.map((p) => (p.id === 'alex' ? { ...p, absences: [ill] } : p))
    const lots = facts.lots.filter((l) => l.code === 'L08')
    const { tasks } = planCellar({ ...facts, people, lots }, { nowAt: Temporal.Instant.from('2027-03-21T16:00:00Z') })
    const board = (on: string) =>
      tasks.find((t) => t.key === `house/round-morning/${Temporal.PlainDate.from(on).since(EPOCH).days}`)!
    expect(board('2027-03-22').people).toEqual(['alex'])
    const tuesday = board('2027-03-23')
    expect(tuesday.people).toHaveLength(1)
    expect(tuesday.people).not.toContain('alex')
    expect(tuesday.broken.filter((b) => b.strength === 'hard')).toEqual([])
    // What only Alex may sign has nobody that day, and says so, rather than somebody who is not there.
    const atHome = tasks.filter(
      (t) =>
        t.people.includes('alex') &&
        Temporal.Instant.compare(t.startAt, ill.fromAt) >= 0 &&
        Temporal.Instant.compare(t.startAt, ill.toAt) < 0,
    )
    expect(atHome.map((t) => t.key)).toEqual([])
  })
})
