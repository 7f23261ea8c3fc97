import { describe, expect, it } from 'vitest'
import { conflictAway } from '../api/conflict-away.ts'
import { demoFacts } from '../api/demo/facts.ts'
import { Temporal } from '../api/time.ts'

const options = { nowAt: Temporal.Instant.from('2027-02-10T00:00:00Z') }
const demo = demoFacts()
const large = { ...demo, lots: demo.lots.slice(0, 4) }
const small = { ...demo, lots: demo.lots.slice(0, 1) }

describe('looking for what is in the way', () => {
  it('goes one after the other, however quick the next would be', async () => {
    const order: string[] = []
    await Promise.all([
      conflictAway(large, options).then(() => order.push('four lots')),
      conflictAway(small, options).then(() => order.push('one lot')),
    ])
    expect(order).toEqual(['four lots', 'one lot'])
  })

  it('ends with the request, while it works and while it waits; the next is looked for', async () => {
    const stop = new AbortController()
    const { signal } = stop
    const done: string[] = []
    const working = conflictAway(large, options, { signal }).finally(() => done.push('working'))
    const waiting = conflictAway(large, options, { signal }).finally(() => done.push('waiting'))
    const next = conflictAway(small, options).then(() => done.push('next'))
    const both = Promise.all([expect(working).rejects.toThrow(/abort/i), expect(waiting).rejects.toThrow(/abort/i)])
    setTimeout(() => stop.abort(), 50)
    await both
    await next
    expect(done).toEqual(['working', 'waiting', 'next'])
  })

  it('goes on after one that fails', async () => {
    await expect(conflictAway({ ...small, cellar: undefined as never }, options)).rejects.toThrow(/zone|undefined/)
    await conflictAway(small, options)
  })
})
