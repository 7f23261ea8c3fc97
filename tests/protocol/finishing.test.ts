import { describe, expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { planCellar } from '../../api/plan.ts'
import type { TaskPlan } from '../../api/protocol/types.ts'
import { Temporal } from '../../api/time.ts'
import { EARLY, makeFacts, makeLot } from '../helpers/make.ts'

const demo = demoFacts()
const planOf = (code: string) =>
  planCellar({ ...demo, lots: demo.lots.filter((l) => l.code === code) }, { nowAt: EARLY }).tasks
const of = (tasks: readonly TaskPlan[], step: string) => tasks.filter((t) => t.step === step)
const isBefore = (a: TaskPlan, b: TaskPlan) => Temporal.Instant.compare(a.endAt, b.startAt) <= 0

describe('the finish of a lot', () => {
  it('takes oak pieces out before the wine is fined, and not before two weeks', () => {
    const tasks = planOf('L12')
    const [out, into, fined] = ['oak-out', 'oak-in', 'fine-bentonite'].map((step) => of(tasks, step)[0]!)
    expect(isBefore(out!, fined!)).toBe(true)
    expect(into!.endAt.until(out!.startAt).total('days')).toBeGreaterThanOrEqual(14)
    expect(out!.fromVessels).toEqual(into!.fromVessels)
  })

  it('ends at the blend where the lot goes into one: nothing is fined, chilled or filtered alone', () => {
    const tasks = planOf('L06')
    const alone = ['fine-bentonite', 'cold-stab', 'rack-fining', 'filter-coarse', 'release', 'pre-bottling']
    expect(tasks.filter((t) => alone.includes(t.step)).map((t) => t.key)).toEqual([])
    // Worked plan P4: trial on 19 May, blend on 1 June 2027.
    const blend = of(tasks, 'blend')[0]!
    expect(blend.startAt.toZonedDateTimeISO(demo.cellar.zone).toPlainDate().toString()).toBe('2027-06-01')
    expect(isBefore(of(tasks, 'blend-trial')[0]!, blend)).toBe(true)
    expect(tasks.at(-1)!.key).toBe(blend.key)
  })

  it('waits a week after copper before the wine is released', () => {
    // L05 is released on 14 September; copper on the 10th puts it off to the 17th at the soonest.
    const addedAt = Temporal.Instant.from('2027-09-10T00:00:00Z')
    const copper = {
      id: 'cu',
      lotId: 'L05',
      product: 'copper sulphate',
      amount: 2,
      unit: 'g' as const,
      treatedL: 2600,
      addedAt,
      personId: 'noor',
    }
    const facts = { ...demo, lots: demo.lots.filter((l) => l.code === 'L05'), additions: [copper] }
    const release = of(planCellar(facts, { nowAt: EARLY }).tasks, 'release')[0]!
    expect(addedAt.until(release.startAt).total('days')).toBeGreaterThanOrEqual(7)
  })

  it('filters into another vessel than it comes from, and releases what is filtered', () => {
    const lots = demo.lots.filter((l) => ['L12', 'L03', 'L05', 'L01'].includes(l.code))
    const { tasks } = planCellar({ ...demo, lots }, { nowAt: EARLY })
    for (const filter of of(tasks, 'filter-coarse'))
      expect(
        filter.toVessels.filter((v) => filter.fromVessels.includes(v)),
        filter.key,
      ).toEqual([])
    const bulk = tasks.filter((t) => t.lotCode === 'L12')
    expect(isBefore(of(bulk, 'filter-coarse')[0]!, of(bulk, 'release')[0]!)).toBe(true)
  })

  it('leaves in its tank the part that is wanted there for store', () => {
    // Worked plan P4: the taille stays in T14 until the blend.
    const racked = of(planOf('L05'), 'rack-gross')[0]!
    expect(racked.fromVessels).toHaveLength(1)
    expect(racked.fromVessels).not.toContain('T14')
  })
})

describe('the size of a vessel', () => {
  it('never puts a little wine into a big tank', () => {
    const sizes = new Map(demo.vessels.map((v) => [v.id, v.volumeL]))
    const lot = makeLot('sweet', { fruit: { tonnes: 1.6, brix: 33.5, yieldLPerT: 420 } })
    const { tasks } = planCellar(makeFacts([lot]), { nowAt: EARLY })
    const tanks = tasks.flatMap((t) => t.toVessels).filter((v) => v.startsWith('T'))
    expect(tanks.length).toBeGreaterThan(0)
    for (const tank of tanks) expect(sizes.get(tank)!, tank).toBeLessThanOrEqual(3200)
  })

  it('racks into no tank that would stay mostly empty, in a full cellar too, but for one that a person wants', () => {
    const sizes = new Map(demo.vessels.map((v) => [v.id, v.volumeL]))
    const { tasks } = planCellar(demo, { nowAt: EARLY })
    const wanted = (t: TaskPlan) => {
      const pins = Object.values(demo.lots.find((l) => l.id === t.lotId)!.vesselPins).flat()
      return t.toVessels.every((id) => pins.includes(id))
    }
    for (const rack of tasks.filter((t) => t.step === 'rack-gross' || t.step === 'blend')) {
      const litres = Number(rack.detail.match(/([\d,]+) L/)![1]!.replaceAll(',', ''))
      const room = rack.toVessels.reduce((all, id) => all + sizes.get(id)!, 0)
      if (room > 0 && !wanted(rack))
        expect(room - litres < 3000 || litres / room >= 0.4, `${rack.key} ${litres} L in ${room} L`).toBe(true)
    }
  })
})
