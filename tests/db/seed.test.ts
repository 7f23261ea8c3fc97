import { beforeAll, describe, expect, it } from 'vitest'
import { DEMO_CELLAR_ID, demoFacts, weeksTo } from '../../api/demo/facts.ts'
import { type Lived, liveThrough, seedDemo } from '../../api/demo/seed.ts'
import { Temporal } from '../../api/time.ts'
import { loadFacts } from '../../db/queries/facts.ts'
import { findPlan } from '../../db/queries/plans.ts'
import { listTasks } from '../../db/queries/tasks.ts'
import { withDb } from '../helpers/db.ts'

/** Monday of the thick of the vintage, 06:30 in the cellar. */
const nowAt = Temporal.Instant.from('2027-03-21T17:30:00Z')
const ms = (at: Temporal.Instant) => at.epochMilliseconds
const nowMs = ms(nowAt)

describe('the invented cellar in the middle of its vintage', () => {
  let lived: Lived
  beforeAll(() => {
    lived = liveThrough(demoFacts(), nowAt)
  })

  it('has wine dry or nearly so, wine fermenting, and fruit still to come', () => {
    const dry = (code: string) => lived.plan.forecasts.find((f) => f.lotId === code)!.dryAt!.likelyAt
    expect(ms(dry('L05'))).toBeLessThan(nowMs + 7 * 86_400_000)
    expect(ms(dry('L01'))).toBeGreaterThan(nowMs)
    const picked = (code: string) => lived.facts.taskFacts.some((f) => f.taskKey.startsWith(`${code}/receive/`))
    expect(['L05', 'L01', 'L12'].map(picked)).toEqual([true, true, true])
    expect(['L07', 'L08', 'L10'].map(picked)).toEqual([false, false, false])
  })

  it('has nothing written down that lies ahead, and nothing planned that lies behind', () => {
    const { readings, taskFacts, additions, transfers } = lived.facts
    const moments = [
      ...readings.map((r) => r.takenAt),
      ...taskFacts.map((f) => f.at),
      ...additions.map((a) => a.addedAt),
      ...transfers.map((t) => t.movedAt),
    ]
    expect(moments.filter((at) => ms(at) > nowMs)).toEqual([])
    const open = lived.plan.tasks.filter((t) => t.state === 'planned' || t.state === 'due' || t.state === 'blocked')
    expect(open.filter((t) => ms(t.startAt) < nowMs).map((t) => t.key)).toEqual([])
  })

  it('fell dry step by step: densities of a ferment go down, within what wine can show', () => {
    for (const lot of ['L05', 'L01', 'L12']) {
      const values = lived.facts.readings
        .filter((r) => r.lotId === lot && r.kind === 'density' && r.taskKey?.includes('/check-ferment/'))
        .sort((a, b) => ms(a.takenAt) - ms(b.takenAt))
        .map((r) => r.value)
      expect(values.length).toBeGreaterThan(2)
      expect(values.at(-1)!).toBeLessThan(values[0]!)
      for (const [i, value] of values.entries()) {
        expect(value).toBeGreaterThan(985)
        expect(value).toBeLessThan(1110)
        // An instrument reads the same must within 1 kg/m3.
        if (i > 0) expect(value).toBeLessThan(values[i - 1]! + 1)
      }
    }
  })

  it('lost no litre: what a press or a rack gave is in the vessel or in the lees', () => {
    const litres = (lot: string, step: string) =>
      lived.facts.transfers.filter((t) => t.lotId === lot && t.taskKey?.includes(`/${step}/`))
    for (const lot of lived.facts.lots.filter((l) => ['L01', 'L02', 'L05', 'L12'].includes(l.code))) {
      const pressedL = litres(lot.id, 'press').reduce((sum, t) => sum + t.volumeL, 0)
      const rackedL = litres(lot.id, 'rack-juice').reduce((sum, t) => sum + t.volumeL + t.lossL, 0)
      // A dip stick is right to 0.2 %; some litres are rounded on the way.
      expect(Math.abs(pressedL - lot.fruit.tonnes * lot.fruit.yieldLPerT)).toBeLessThan(0.003 * pressedL + 3)
      expect(Math.abs(rackedL - pressedL)).toBeLessThan(0.006 * pressedL + 3)
    }
  })

  it('names no person, vessel or lot that is not there, and no two records by one id', () => {
    const { people, vessels, lots, readings, taskFacts, additions, transfers } = lived.facts
    const ids = (list: readonly { readonly id: string }[]) => new Set(list.map((x) => x.id))
    const [persons, tanks, wines] = [ids(people), ids(vessels), ids(lots)]
    for (const record of [...readings, ...additions]) {
      expect(wines.has(record.lotId)).toBe(true)
      expect(record.vesselId === undefined || tanks.has(record.vesselId)).toBe(true)
      expect(record.personId === undefined || persons.has(record.personId)).toBe(true)
    }
    for (const list of [readings, taskFacts, additions, transfers]) expect(ids(list).size).toBe(list.length)
  })

  it('has the same history every time', () => {
    expect(JSON.stringify(liveThrough(demoFacts(), nowAt).facts)).toBe(JSON.stringify(lived.facts))
  })
})

describe('an empty database', () => {
  it('is filled with 15 seconds of computing at most, dated to today', async () => {
    const today = Temporal.Instant.from('2026-11-25T08:00:00Z')
    await withDb(async (db) => {
      const started = process.cpuUsage()
      await seedDemo(db, { nowAt: today })
      // Computing time, not the clock on the wall: other tests may run beside this one.
      const used = process.cpuUsage(started)
      expect((used.user + used.system) / 1e6).toBeLessThan(15)
      const facts = (await loadFacts(db, DEMO_CELLAR_ID))!
      const weeks = weeksTo(Temporal.PlainDate.from('2026-11-25'))
      expect(facts.lots.map((l) => l.pickOn.toString()).sort()).toEqual(
        demoFacts({ shiftWeeks: weeks })
          .lots.map((l) => l.pickOn.toString())
          .sort(),
      )
      const tasks = await listTasks(db, DEMO_CELLAR_ID)
      const done = new Set(facts.taskFacts.flatMap((f) => (f.kind === 'done' ? [f.taskKey] : [])))
      expect(done.size).toBeGreaterThan(50)
      expect(
        tasks
          .filter((t) => t.state === 'done')
          .map((t) => t.key)
          .sort(),
      ).toEqual([...done].sort())
      expect(tasks.filter((t) => t.state === 'cancelled')).toEqual([])
      expect((await findPlan(db, DEMO_CELLAR_ID)).revision).toBeGreaterThan(0)
    })
  })
})
