import { describe, expect, it } from 'vitest'
import { demoFacts } from '../api/demo/facts.ts'
import { packed, unpacked } from '../api/packed.ts'
import { planCellar } from '../api/plan.ts'
import { planAway } from '../api/planning.ts'
import type { Progress } from '../api/schedule/types.ts'
import { Temporal } from '../api/time.ts'

const nowAt = Temporal.Instant.from('2027-02-10T00:00:00Z')
const demo = demoFacts()
const facts = { ...demo, lots: demo.lots.slice(0, 2) }

describe('planning in a thread of its own', () => {
  it('facts come out of the packing as they went in', () => {
    expect(JSON.stringify(unpacked(packed(demo)))).toBe(JSON.stringify(demo))
    const lot = (unpacked(packed(demo)) as typeof demo).lots[0]
    expect(lot?.pickOn).toBeInstanceOf(Temporal.PlainDate)
  })

  it('gives the plan that planning here gives, and says how far it is', async () => {
    const heard: Progress[] = []
    const away = await planAway(facts, { nowAt }, { onProgress: (p) => heard.push(p) })
    const here = planCellar(facts, { nowAt })
    expect(away.tasks.map((t) => `${t.key} ${t.startAt} ${t.people}`)).toEqual(
      here.tasks.map((t) => `${t.key} ${t.startAt} ${t.people}`),
    )
    expect(heard[0]).toMatchObject({ schedules: 1, of: 1 })
  })

  it('stops when asked, at once and before it began', async () => {
    const stop = new AbortController()
    const asked = planAway(demo, { nowAt, moves: 100_000 }, { signal: stop.signal, onProgress: () => stop.abort() })
    await expect(asked).rejects.toThrow(/abort/i)
    await expect(planAway(demo, { nowAt }, { signal: AbortSignal.abort() })).rejects.toThrow(/abort/i)
  })

  it('a planner that fails says why', async () => {
    await expect(planAway({ ...facts, cellar: undefined as never }, { nowAt })).rejects.toThrow(/zone|undefined/)
  })
})
