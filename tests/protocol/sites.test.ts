import { describe, expect, it } from 'vitest'
import { layCellar, planCellar } from '../../api/plan.ts'
import type { Facts, Lot, TaskFact } from '../../api/protocol/facts.ts'
import { bySite, HOME, homeOf, machinesAt, siteAt, travelBetween } from '../../api/protocol/sites.ts'
import { type Speech, whyNotEarlier, whyNotLater } from '../../api/protocol/words.ts'
import { Temporal } from '../../api/time.ts'
import { EARLY, makeFacts, makeLot } from '../helpers/make.ts'
import { judge, reported } from '../schedule/checker.ts'

const HILL = ['T05', 'T06', 'T07', 'T08']

/** T05 to T08 stand half an hour away, on the hill; one lot is wanted there for its ferment, the other nowhere. */
function twoSites(more: Partial<Lot> = {}, away = 30): Facts {
  const lots = [makeLot('crisp', { code: 'A01' }), { ...makeLot('crisp', { code: 'B01' }), ...more }]
  // Planned to the minute throughout: of work by the day no way is asked for.
  const facts = makeFacts(lots, { sites: [{ name: 'Hill', awayMin: away }], exactWeeks: undefined })
  return { ...facts, vessels: facts.vessels.map((v) => (HILL.includes(v.code) ? { ...v, site: 'Hill' } : v)) }
}
const onHill = { vesselPins: { ferment: ['T07'] } }

describe('where the work of a lot lies', () => {
  const facts = twoSites(onHill)
  const laid = layCellar(facts, { nowAt: EARLY })
  const holdOf = (key: string) => laid.problem.holds.find((h) => h.key === key)!
  const taskOf = (key: string) => laid.problem.tasks.find((t) => t.key === key)!

  it('is the cellar itself where nothing else is said', () => {
    expect(homeOf(facts.lots[0]!, facts)).toBe(HOME)
    for (const hold of laid.problem.holds.filter((h) => h.group === 'A01'))
      expect(
        hold.candidates.filter((id) => HILL.includes(id)),
        hold.key,
      ).toEqual([])
    expect(laid.problem.tasks.filter((t) => t.group === 'A01' && t.site !== 0)).toEqual([])
  })

  it('is the site of the vessel a person pins, from that stage on: wine does not come back by itself', () => {
    // Pressed and settled at home, where the presses are; fermented on the hill and racked there: 2,640 L into 3,200 L.
    expect(holdOf('B01/settle').candidates.some((id) => HILL.includes(id))).toBe(false)
    expect(holdOf('B01/ferment').candidates[0]).toBe('T07')
    for (const key of ['B01/ferment', 'B01/store'])
      expect(
        holdOf(key).candidates.filter((id) => !HILL.includes(id)),
        key,
      ).toEqual([])
    expect(taskOf('B01/press/1').site).toBe(0)
    expect(taskOf('B01/check-ferment/1').site).toBe(1)
    expect(taskOf('B01/rack-gross/1').site).toBe(1)
  })

  it('has the way between one person’s work here and there, by the plainest check of all', () => {
    expect(judge(laid.problem, laid.plan)).toEqual({ violated: reported(laid.plan), absurd: [] })
    expect(laid.plan.broken.filter((b) => b.rule === 'travel-short')).toEqual([])
    // Held up to the same table, the plan of a cellar in one place would not do.
    const one = layCellar({ ...facts, cellar: { ...facts.cellar, sites: [] } }, { nowAt: EARLY })
    const keys = new Set(one.problem.tasks.map((t) => t.key))
    const sites = new Map(laid.problem.tasks.map((t) => [t.key, t.site]))
    const asked = {
      ...one.problem,
      travel: laid.problem.travel,
      tasks: one.problem.tasks.map((t) => ({ ...t, site: sites.get(t.key) })),
    }
    expect(laid.problem.tasks.every((t) => keys.has(t.key))).toBe(true)
    expect(judge(asked, one.plan).violated.some((v) => v.startsWith('travel-short'))).toBe(true)
  })

  it('is not asked in a cellar of one site: no table, no site', () => {
    const { problem } = layCellar(makeFacts(facts.lots), { nowAt: EARLY })
    expect(problem.travel).toBeUndefined()
    expect(problem.tasks.some((t) => 'site' in t)).toBe(false)
  })

  it('is where the wine lies, once it lies somewhere', () => {
    const stock = [
      { lotId: 'A01', vesselId: 'T06', volumeL: 2000 },
      { lotId: 'A01', vesselId: 'T01', volumeL: 400 },
    ]
    expect(homeOf(facts.lots[0]!, { ...facts, stock })).toBe('Hill')
  })

  it('is where its first vessel is wanted; with a ferment alone, only where there is a press too', () => {
    const wanted = (vesselPins: Lot['vesselPins']) => ({ ...facts.lots[0]!, vesselPins })
    expect(homeOf(wanted({ settle: ['T05'] }), facts)).toBe('Hill')
    expect(homeOf(wanted({ ferment: ['T05'] }), facts)).toBe(HOME)
    const machines = facts.machines.map((m) => (m.code === 'PB' ? { ...m, site: 'Hill' } : m))
    expect(homeOf(wanted({ ferment: ['T05'] }), { ...facts, machines })).toBe('Hill')
  })

  it('counts as the cellar itself where a site is not listed any more', () => {
    const gone = { ...facts, cellar: { ...facts.cellar, sites: [{ name: 'Dale', awayMin: 10 }] } }
    expect(homeOf({ ...facts.lots[0]!, vesselPins: { settle: ['T05'] } }, gone)).toBe(HOME)
  })
})

describe('what a site has', () => {
  const facts = twoSites(onHill)
  const machines = facts.machines.map((m) => (m.code === 'P3' ? { ...m, site: 'Hill' } : m))

  it('is its own machines, and of a kind that it has none of, whatever there is', () => {
    const codes = (site: string, kind: string) =>
      machinesAt({ cellar: facts.cellar, machines }, site).flatMap((m) => (m.kind === kind ? m.code : []))
    // Two pumps, one of them on the hill; one filter, at home.
    expect([codes(HOME, 'pump'), codes('Hill', 'pump')]).toEqual([['P2'], ['P3']])
    expect(codes('Hill', 'filter')).toEqual(['SF'])
  })

  it('is taken by work there', () => {
    const { problem } = layCellar({ ...facts, machines }, { nowAt: EARLY })
    const pumps = (site: number) =>
      new Set(
        problem.tasks
          .flatMap((t) => (t.site === site ? t.uses.filter((u) => u.pool === 'pump') : []))
          .map((u) => u.units?.join()),
      )
    expect([pumps(0), pumps(1)]).toEqual([new Set(['P2']), new Set(['P3'])])
  })

  it('comes first, then the others in the order told', () => {
    const cellar = {
      ...facts.cellar,
      sites: [
        { name: 'Hill', awayMin: 30 },
        { name: 'Dale', awayMin: 10 },
      ],
    }
    const all = [{ code: 'a' }, { code: 'b', site: 'Dale' }, { code: 'c', site: 'Hill' }]
    expect(bySite(cellar, 'Dale', all).map((list) => list.map((x) => x.code))).toEqual([['b'], ['a'], ['c']])
  })

  it('is asked stage by stage: the last pin up to it decides', () => {
    const s = { ...facts, lot: { vesselPins: { ferment: ['T07'], store: ['T01'] } }, home: HOME }
    expect((['must', 'settle', 'ferment', 'stop', 'store', 'cold'] as const).map((stage) => siteAt(s, stage))).toEqual([
      HOME,
      HOME,
      'Hill',
      'Hill',
      HOME,
      HOME,
    ])
  })
})

describe('the table of ways', () => {
  it('is as told, else over the cellar itself', () => {
    // Dale to Hill is told: 12. Quay to Hill and to Dale is not: 30 + 5 and 10 + 5.
    expect(
      travelBetween([
        { name: 'Hill', awayMin: 30 },
        { name: 'Dale', awayMin: 10, to: { Hill: 12 } },
        { name: 'Quay', awayMin: 5 },
      ]),
    ).toEqual([
      [0, 30, 10, 5],
      [30, 0, 12, 35],
      [10, 12, 0, 15],
      [5, 35, 15, 0],
    ])
  })
})

describe('the way in words', () => {
  const fixed = (key: string, startAt: string, people: readonly string[]): TaskFact => ({
    id: key,
    taskKey: key,
    kind: 'pin',
    at: EARLY,
    startAt: Temporal.Instant.from(startAt),
    people,
    personId: people[0]!,
  })

  it('says what is wanting where people fix two things too near each other', () => {
    // B01 ferments on the hill, A01 at home. Sam's third look at the ferment there is fixed for 9:00 on 24 March in Auckland
    // (20:00 UTC), at home for ten minutes after it ends: 20 of 30 minutes are wanting.
    const facts = twoSites(onHill)
    const sam = facts.people.find((p) => p.name === 'Sam')!.id
    const { problem } = layCellar(facts, { nowAt: EARLY })
    const min = problem.tasks.find((t) => t.key === 'B01/check-ferment/3')!.crewMin
    const first = Temporal.Instant.from('2027-03-23T20:00:00Z')
    const taskFacts = [
      fixed('B01/check-ferment/3', first.toString(), [sam]),
      fixed('A01/check-ferment/3', first.add({ minutes: min + 10 }).toString(), [sam]),
    ]
    const plan = planCellar({ ...facts, taskFacts }, { nowAt: EARLY })
    const short = plan.broken.filter((b) => b.rule === 'travel-short')
    const read = 'read density and temperature'
    expect(short.map((b) => b.words)).toEqual([`Sam has 20 min too little for the way from B01 ${read} to A01 ${read}`])
    const of = (key: string) => plan.tasks.find((t) => t.key === key)!
    expect(of('A01/check-ferment/3').broken.map((b) => b.rule)).toContain('travel-short')
    // Each says where it is done, and whether the crew of other work does it: who receives fruit looks at it as well.
    expect([of('B01/check-ferment/3').site, of('A01/check-ferment/3').site]).toEqual(['Hill', undefined])
    expect([of('A01/inspect-fruit/1').streams, of('A01/receive/1').streams]).toEqual([true, undefined])
  })

  it('is the reason why work is no earlier, or no later', () => {
    const speech = { nameOf: () => 'Sam', taskOf: () => 'B01: check', endOf: () => 0 } as unknown as Speech
    const cause = [{ kind: 'travel', ref: 'sam', by: 'B01/check-ferment/3', lagMin: 30 }] as const
    expect(whyNotEarlier(cause, speech)).toBe('no earlier: Sam is 30 min on the way from B01: check')
    expect(whyNotLater(cause, speech)).toBe('no later: Sam is 30 min on the way to B01: check')
  })
})
