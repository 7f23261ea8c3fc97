import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { type Laid, layCellar, planCellar } from '../api/plan.ts'
import { blocking, findConflicts } from '../api/protocol/conflicts.ts'
import type { Facts, Lot, TaskFact } from '../api/protocol/facts.ts'
import { contextOf } from '../api/protocol/judged.ts'
import { settingOf } from '../api/protocol/setting.ts'
import { ticksOf } from '../api/protocol/ticks.ts'
import type { Link } from '../api/schedule/types.ts'
import { Temporal } from '../api/time.ts'
import { anyLot, ZONES } from './helpers/lots.ts'
import { makeFacts } from './helpers/make.ts'

/** A cellar of one or two lots, in either hemisphere, in any of the zones, whose choices do not block. */
const anyCellar: fc.Arbitrary<{ readonly facts: Facts; readonly nowAt: Temporal.Instant }> = fc
  .record({ zone: fc.constantFrom(...ZONES), north: fc.boolean(), two: fc.boolean() })
  .chain(({ zone, north, two }) => {
    const pickFrom = north ? '2027-09-01' : '2027-02-20'
    const nowAt = Temporal.Instant.from(north ? '2027-07-20T00:00:00Z' : '2027-01-10T00:00:00Z')
    const lots = two
      ? fc.tuple(anyLot({ code: 'X01', pickFrom }), anyLot({ code: 'X02', pickFrom }))
      : fc.tuple(anyLot({ code: 'X01', pickFrom }))
    return lots.map((made) => ({ facts: makeFacts(made, { zone, hemisphere: north ? 'north' : 'south' }), nowAt }))
  })
  .filter(({ facts, nowAt }) => facts.lots.every((lot) => !blocks(lot, facts, nowAt)))

function blocks(lot: Lot, facts: Facts, nowAt: Temporal.Instant): boolean {
  const setting = settingOf(lot, { facts, startAt: nowAt, nowAt, ticks: ticksOf([]), placed: new Map() })
  return blocking(findConflicts(contextOf(setting, facts, undefined)), []).length > 0
}

/** What must hold of every laid-out cellar; each returns what does not. */
const RULES: Readonly<Record<string, (laid: Laid, facts: Facts) => readonly string[]>> = {
  'no task waits for itself': ({ problem, plan }) => [
    ...(circular(problem.links) ?? []),
    ...plan.broken.filter((b) => b.rule === 'cycle').map((b) => b.tasks.join(' > ')),
  ],
  'every link holds in the plan or is reported': ({ problem, plan }) => {
    const placed = new Map(plan.placed.map((p) => [p.key, p]))
    const told = new Set(plan.broken.map((b) => b.tasks.join(' ')))
    return problem.links
      .filter((l) => {
        const prev = placed.get(l.prev)!
        const lag = placed.get(l.next)!.startMin - (l.from === 'start' ? prev.startMin : prev.endMin)
        const broken = lag < l.minLagMin || (l.maxLagMin !== undefined && lag > l.maxLagMin)
        return l.clock !== 'working' && broken && !told.has(`${l.prev} ${l.next}`)
      })
      .map((l) => `${l.prev} -> ${l.next}`)
  },
  'no vessel is overfilled': (laid, facts) => {
    const volume = new Map(facts.vessels.map((v) => [v.id, v.volumeL]))
    const berth = new Map(laid.plan.holds.map((h) => [h.key, h.units]))
    return laid.works.flatMap((w) => {
      const units = [...new Set(w.to.flatMap((key) => berth.get(key) ?? []))]
      if (!MOVES.has(w.step) || w.to.length === 0 || w.to.some((key) => (berth.get(key) ?? []).length === 0)) return []
      const roomL = units.reduce((sum, id) => sum + (volume.get(id) ?? 0), 0)
      return w.volumeL * ARRIVES > roomL ? [`${w.task.key}: ${w.volumeL} L into ${units.join()}`] : []
    })
  },
  'a vessel holds one wine at a time, or the plan says it does not': ({ problem, plan }) => {
    const told = new Set(plan.broken.filter((b) => b.rule === 'unit-taken').map((b) => b.ref))
    const shared = new Set(problem.holds.filter((h) => h.amount !== undefined).map((h) => h.key))
    const berths = plan.holds.filter((h) => !shared.has(h.key)).flatMap((h) => h.units.map((unit) => ({ ...h, unit })))
    return berths.flatMap((a) =>
      berths
        .filter((b) => a.key < b.key && a.unit === b.unit && a.fromMin < b.toMin && b.fromMin < a.toMin)
        .filter(() => !told.has(a.unit))
        .map((b) => `${a.key} and ${b.key} in ${a.unit}`),
    )
  },
  'the cold room never holds more than its tonnes, or the plan says it does': ({ problem, plan }) => {
    const room = problem.units.find((u) => u.pool === 'cold-room')
    const tonnes = new Map(problem.holds.map((h) => [h.key, h.amount ?? 0]))
    const inside = plan.holds.filter((h) => h.units.includes(room?.id ?? ''))
    const told = plan.broken.some((b) => b.rule === 'pool-short' && b.ref === room?.id)
    return inside.flatMap((h) => {
      const there = inside.filter((o) => o.fromMin <= h.fromMin && h.fromMin < o.toMin)
      const sum = there.reduce((all, o) => all + (tonnes.get(o.key) ?? 0), 0)
      return sum > (room?.capacity ?? 0) + 1e-9 && !told ? [`${there.map((o) => o.key).join(' and ')}: ${sum} t`] : []
    })
  },
  'litres are conserved: no move makes wine': ({ works, lots }) =>
    lots.flatMap(({ lot }) => {
      const fruitL = lot.fruit.tonnes * lot.fruit.yieldLPerT
      const own = works.filter((w) => w.task.group === lot.code && WINE_MOVES.has(w.step))
      const racked = own.filter((w) => w.step === 'rack-juice').reduce((sum, w) => sum + w.volumeL, 0)
      return [
        ...own.filter((w) => w.volumeL > fruitL + 1e-6).map((w) => `${w.task.key}: ${w.volumeL} L from ${fruitL} L`),
        ...(racked > 0 && Math.abs(racked - fruitL) > 1e-3 ? [`racked ${racked} of ${fruitL} L`] : []),
      ]
    }),
}

/** Cellars that once broke a rule: a loop through several presses, one through a test of wine that was never cleared. */
const KEPT = [
  { seed: -2087889971, path: '4' },
  { seed: -1460644820, path: '8' },
  { seed: -1220220306, path: '28' },
] as const

const keepsItsRules = fc.property(anyCellar, ({ facts, nowAt }) => {
  const laid = layCellar(facts, { nowAt })
  for (const [rule, broken] of Object.entries(RULES)) expect(broken(laid, facts), rule).toEqual([])
})

describe('for any choices that do not block, any fruit, either hemisphere, six zones', () => {
  it(`the plan keeps its rules: ${Object.keys(RULES).join('; ')}`, () => {
    fc.assert(keepsItsRules, { numRuns: 80, endOnFailure: true })
  })

  it.each(KEPT)('also for the cellar kept from seed $seed', (kept) => {
    fc.assert(keepsItsRules, { ...kept, numRuns: 1, endOnFailure: true })
  })

  it('planning twice gives the same plan', () => {
    fc.assert(
      fc.property(anyCellar, ({ facts, nowAt }) => {
        const one = planCellar(facts, { nowAt })
        const two = planCellar(facts, { nowAt })
        expect(dates(two.tasks)).toEqual(dates(one.tasks))
      }),
      { numRuns: 8, endOnFailure: true },
    )
  })

  it('nothing that was done moves', () => {
    fc.assert(
      fc.property(anyCellar, fc.integer({ min: 5, max: 70 }), ({ facts, nowAt }, days) => {
        const first = planCellar(facts, { nowAt })
        const laterAt = nowAt.add({ hours: 24 * (days + 30) })
        const past = first.tasks.filter((t) => t.lotId !== null && Temporal.Instant.compare(t.endAt, laterAt) < 0)
        const taskFacts = past.map(
          (t, i): TaskFact => ({
            id: `f${i}`,
            taskKey: t.key,
            kind: 'done',
            at: t.endAt,
            startAt: t.startAt,
            people: t.people,
            ...(t.toVessels.length > 0 ? { vessels: t.toVessels } : {}),
          }),
        )
        const second = planCellar({ ...facts, taskFacts }, { nowAt: laterAt })
        const byKey = new Map(second.tasks.map((t) => [t.key, t]))
        for (const t of past) {
          const now = byKey.get(t.key)
          if (!now) continue
          expect(now.state, t.key).toBe('done')
          expect(now.startAt.toString(), t.key).toBe(t.startAt.toString())
          expect(now.endAt.toString(), t.key).toBe(t.endAt.toString())
        }
        expect(past.filter((t) => !byKey.has(t.key)).map((t) => t.key)).toEqual([])
        for (const t of second.tasks)
          if (t.state === 'planned' || t.state === 'due')
            expect(Temporal.Instant.compare(t.startAt, laterAt), `${t.key} starts in the past`).toBeGreaterThanOrEqual(
              0,
            )
      }),
      { numRuns: 15, endOnFailure: true },
    )
  })
})

const MOVES = new Set([
  'rack-juice',
  'fill-barrels',
  'rack-gross',
  'stop-so2',
  'rack-fining',
  'filter-coarse',
  'blend',
  'press-skins',
])
const WINE_MOVES = new Set([...MOVES, 'rack-out'])
/** A move is told by the litres it takes up; this share of them arrives at the least (juice lees 8 % at the most). */
const ARRIVES = 0.92

const dates = (
  tasks: readonly { readonly key: string; readonly startAt: Temporal.Instant; readonly people: readonly string[] }[],
) => tasks.map((t) => `${t.key} ${t.startAt} ${t.people.join()}`)

/** A chain of links that comes back to where it began. */
function circular(links: readonly Link[]): readonly string[] | undefined {
  const next = new Map<string, string[]>()
  for (const l of links) next.set(l.prev, [...(next.get(l.prev) ?? []), l.next])
  const state = new Map<string, 'open' | 'closed'>()
  const visit = (key: string, path: readonly string[]): readonly string[] | undefined => {
    if (state.get(key) === 'closed') return undefined
    if (state.get(key) === 'open') return [...path, key]
    state.set(key, 'open')
    for (const to of next.get(key) ?? []) {
      const found = visit(to, [...path, key])
      if (found) return found
    }
    state.set(key, 'closed')
    return undefined
  }
  for (const key of next.keys()) {
    const found = visit(key, [])
    if (found) return found
  }
  return undefined
}
