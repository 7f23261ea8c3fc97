import { monitorEventLoopDelay } from 'node:perf_hooks'
import { Worker } from 'node:worker_threads'
import { afterAll, describe, expect, it } from 'vitest'
import { demoFacts } from '../api/demo/facts.ts'
import { packed, unpacked } from '../api/packed.ts'
import { layCellar, planCellar } from '../api/plan.ts'
import { plannerAway, plannerHere } from '../api/planning.ts'
import type { Progress } from '../api/schedule/types.ts'
import { Temporal } from '../api/time.ts'

const nowAt = Temporal.Instant.from('2027-02-10T00:00:00Z')
const demo = demoFacts()
const facts = { ...demo, lots: demo.lots.slice(0, 2) }
const planner = plannerAway()
afterAll(() => planner.close())

const dates = (tasks: readonly { key: string; startAt: Temporal.Instant; people: readonly string[]; why: string }[]) =>
  tasks.map((t) => `${t.key} ${t.startAt} ${t.people} ${t.why}`)

/** How late this thread comes to what it meant to do every 5 ms, while something else works. */
async function lateness(work: () => Promise<void>) {
  const delay = monitorEventLoopDelay({ resolution: 5 })
  const began = performance.now()
  delay.enable()
  await work()
  delay.disable()
  return { p99Ms: delay.percentile(99) / 1e6, beats: delay.count, tookMs: performance.now() - began }
}

/** A thread that does nothing but count, for so long. */
const spinning = (forMs: number) =>
  new Promise<void>((resolve, reject) => {
    const until = `const end = Date.now() + ${Math.ceil(forMs)}; while (Date.now() < end);`
    new Worker(until, { eval: true }).once('exit', () => resolve()).once('error', reject)
  })

describe('planning in a thread of its own', () => {
  it('facts come out of the packing as they went in', () => {
    expect(JSON.stringify(unpacked(packed(demo)))).toBe(JSON.stringify(demo))
    const lot = (unpacked(packed(demo)) as typeof demo).lots[0]
    expect(lot?.pickOn).toBeInstanceOf(Temporal.PlainDate)
    // A moment between two milliseconds is not rounded.
    const between = Temporal.Instant.from('2027-02-10T00:00:00.123456Z')
    expect(`${unpacked(packed(between))}`).toBe(`${between}`)
  })

  it('gives the plan that planning here gives, says how far it is, and what holds each task where that is asked', async () => {
    const heard: Progress[] = []
    const away = await planner.plan('one', { facts, nowAt }, { onProgress: (p) => heard.push(p) })
    const here = planCellar(facts, { nowAt })
    expect(dates(away.plan.tasks)).toEqual(dates(here.tasks))
    expect(heard.at(-1)).toMatchObject({ schedules: 1, of: 1 })
    const again = { facts, nowAt: nowAt.add({ hours: 1 }), previous: here.tasks }
    const next = await planner.plan('one', again)
    expect(dates(next.plan.tasks)).toEqual(dates((await plannerHere().plan('one', again)).plan.tasks))
    expect(next.causes).toBeUndefined()
    const { causes } = await planner.plan('one', { ...again, causes: true })
    const { placed } = layCellar(facts, { nowAt: again.nowAt, previous: here.tasks }).plan
    expect(causes).toEqual(placed.map(({ key, notEarlier, notLater }) => ({ key, notEarlier, notLater })))
  })

  it('leaves this thread free meanwhile: 99 of 100 things are answered within 100 ms of when a busy neighbour lets them', async () => {
    const planning = await lateness(async () => {
      await planner.plan('busy', { facts, nowAt })
    })
    // What the machine itself holds up is no fault of the planner: another thread is as busy for as long.
    const beside = await lateness(() => spinning(planning.tookMs))
    expect(planning.beats).toBeGreaterThan(10)
    expect(planning.p99Ms).toBeLessThan(beside.p99Ms + 100)
  })

  it('stops when asked: before it began, while it waits, while it works; the next order is worked at', async () => {
    await expect(planner.plan('x', { facts, nowAt }, { signal: AbortSignal.abort() })).rejects.toThrow(/abort/i)
    const stop = new AbortController()
    const working = planner.plan('x', { facts: demo, nowAt }, { signal: stop.signal })
    const waiting = planner.plan('x', { facts: demo, nowAt }, { signal: stop.signal })
    const next = planner.plan('y', { facts, nowAt })
    const both = Promise.all([expect(working).rejects.toThrow(/abort/i), expect(waiting).rejects.toThrow(/abort/i)])
    setTimeout(() => stop.abort(), 50)
    await both
    expect((await next).plan.tasks.length).toBeGreaterThan(100)
  })

  it('a planner that fails says why, and goes on', async () => {
    const broken = { facts: { ...facts, cellar: undefined as never }, nowAt }
    await expect(planner.plan('x', broken)).rejects.toThrow(/zone|undefined/)
    expect((await planner.plan('x', { facts, nowAt })).free.tasks.length).toBeGreaterThan(100)
  })
})
