import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Style } from '../../api/protocol/choices.ts'
import {
  type Booking,
  type Facts,
  type Machine,
  type Reading,
  type TaskFact,
  TROUBLE_KINDS,
  type Trouble,
} from '../../api/protocol/facts.ts'
import { fermentOf } from '../../api/protocol/forecast.ts'
import { buildNetwork } from '../../api/protocol/network.ts'
import { minOf, settingOf } from '../../api/protocol/setting.ts'
import { ticksOf } from '../../api/protocol/ticks.ts'
import type { Work } from '../../api/protocol/work.ts'
import { Temporal } from '../../api/time.ts'
import { EARLY, makeFacts, makeLot } from '../helpers/make.ts'

const at = (text: string) => Temporal.Instant.from(text)
const done = (key: string, on: Temporal.Instant): TaskFact => ({
  id: `${key} ${on}`,
  taskKey: key,
  kind: 'done',
  at: on,
})

/** The 18th of March 2027, 06:00 UTC: 19:00 in the cellar, which is 13 hours ahead until the 4th of April. */
const PITCHED = at('2027-03-18T06:00:00Z')
const STARTED = ['inoculate', 'fill-barrels', 'destem-crush'].map((step) => done(`X01/${step}/1`, PITCHED))

function worksOf(style: Style, nowAt: Temporal.Instant, more: Partial<Facts>): readonly Work[] {
  const lot = makeLot(style)
  const facts: Facts = { ...makeFacts([lot]), taskFacts: STARTED, readings: [], ...more }
  const ground = { facts, startAt: EARLY, nowAt, ticks: ticksOf(facts.taskFacts), placed: new Map() }
  const setting = settingOf(lot, ground)
  return buildNetwork(setting, fermentOf(setting, minOf(setting, PITCHED))).works
}

const twice = (works: readonly Work[]) => works.map((w) => w.task.key).filter((key, i, all) => all.indexOf(key) !== i)
const chillersOut = (...bookings: readonly (readonly Booking[])[]): readonly Machine[] => {
  const { machines } = makeFacts([])
  const chiller = machines.find((m) => m.kind === 'chiller')!
  return [
    ...machines.filter((m) => m.kind !== 'chiller'),
    ...bookings.map((own, i) => ({ ...chiller, id: `cold-${i}`, code: `C${i}`, bookings: own })),
  ]
}
const booked = (from: string, to: string): Booking => ({ fromAt: at(from), toAt: at(to), why: 'compressor' })
const awayRounds = (works: readonly Work[]) => works.filter((w) => w.detail.startsWith('the cold is away'))

describe('a chiller that is away', () => {
  // Saturday 20 March in the cellar, 08:00 to 16:00: 19:00 UTC of the 19th to 03:00. Rounds at 09, 11, 13 and 15.
  const saturday = booked('2027-03-19T19:00:00Z', '2027-03-20T03:00:00Z')
  const sunday = booked('2027-03-20T19:00:00Z', '2027-03-21T03:00:00Z')
  const nowAt = at('2027-03-19T18:00:00Z')
  const roundsWith = (...bookings: readonly (readonly Booking[])[]) =>
    awayRounds(worksOf('crisp', nowAt, { machines: chillersOut(...bookings) }))

  it('asks for one reading an hour where two are away at once, and where two bookings overlap', () => {
    expect(roundsWith([saturday])).toHaveLength(4)
    for (const rounds of [roundsWith([saturday], [saturday]), roundsWith([saturday, saturday])]) {
      expect(rounds).toHaveLength(4)
      expect(twice(rounds)).toEqual([])
    }
  })

  it('asks for those of both days where it is away again the next day, and remembers one that was read once', () => {
    const rounds = roundsWith([saturday, sunday])
    expect(rounds).toHaveLength(8)
    const read = rounds[4]!.task.key
    // Sunday's first round lies within four days of both bookings.
    const later = awayRounds(
      worksOf('crisp', at('2027-03-20T21:00:00Z'), {
        machines: chillersOut([saturday, sunday]),
        taskFacts: [...STARTED, done(read, at('2027-03-20T20:00:00Z'))],
      }),
    )
    expect(later.filter((w) => w.task.key === read)).toHaveLength(1)
    expect(twice(later)).toEqual([])
  })
})

describe('hot readings of one hour', () => {
  const hot = (id: string, minute: number, vesselId?: string): Reading => ({
    id,
    lotId: 'X01',
    kind: 'temp',
    // Far over any set point, and no slip of the pen yet (45 C).
    value: 40,
    takenAt: at('2027-03-20T00:00:00Z').add({ minutes: minute }),
    ...(vesselId ? { vesselId } : {}),
  })
  const cooled = (...readings: readonly Reading[]) =>
    worksOf('crisp', at('2027-03-20T01:00:00Z'), { readings }).filter((w) => w.detail.startsWith('too hot'))

  it('ask for the cold once, in all the vessels they name', () => {
    const works = cooled(hot('a', 5, 'T01'), hot('b', 20, 'T02'), hot('c', 40, 'T01'))
    expect(works).toHaveLength(1)
    expect(works[0]!.at).toEqual(['T01', 'T02'])
  })

  it('ask for it wherever the lot lies where one of them names no vessel', () => {
    const works = cooled(hot('a', 5, 'T01'), hot('b', 20))
    expect(works).toHaveLength(1)
    expect(works[0]!.at).toBeUndefined()
    expect(works[0]!.from.length).toBeGreaterThan(0)
  })

  it('ask for it again an hour later', () => {
    expect(cooled(hot('a', 5), hot('b', 65))).toHaveLength(2)
  })
})

describe('whatever is read, reported and booked, twice over', () => {
  const hour = fc.integer({ min: 0, max: 40 * 24 * 4 }).map((quarters) => PITCHED.add({ minutes: quarters * 15 }))
  const vessel = fc.option(fc.constantFrom('T01', 'T02'), { nil: undefined })
  const readings = fc.array(
    fc.record({
      kind: fc.constantFrom<Reading['kind']>('temp', 'density', 'malic', 'sugar', 'free-so2', 'glucose-fructose'),
      value: fc.constantFrom(0.5, 2, 14, 40, 1010, 1070),
      takenAt: hour,
      vessel,
    }),
    { maxLength: 12 },
  )
  const reports = fc.array(fc.record({ kind: fc.constantFrom(...TROUBLE_KINDS), at: hour, vessel }), { maxLength: 6 })
  const bookings = fc.array(fc.record({ from: hour, hours: fc.integer({ min: 1, max: 200 }) }), { maxLength: 4 })
  const styles = fc.constantFrom<Style>('crisp', 'textured', 'offdry', 'sparkling', 'orange', 'neutral', 'sweet')
  const day = fc.integer({ min: 0, max: 60 })

  it('no two tasks of a lot have one key, neither then nor once all of them are ticked', () => {
    fc.assert(
      fc.property(styles, day, readings, reports, bookings, (style, days, read, told, away) => {
        const doubled = <T>(list: readonly T[]) => [...list, ...list]
        const own = ({ vessel: id }: { readonly vessel: string | undefined }) => (id ? { vesselId: id } : {})
        const out = away.map((b) => ({ fromAt: b.from, toAt: b.from.add({ hours: b.hours }), why: 'away' }))
        const more: Partial<Facts> = {
          machines: chillersOut(doubled(out), out),
          readings: doubled(read).map((r, i) => ({
            id: `r${i}`,
            lotId: 'X01',
            kind: r.kind,
            value: r.value,
            takenAt: r.takenAt,
            ...own(r),
          })),
          troubles: doubled(told).map(
            (t, i): Trouble => ({
              id: `t${i}`,
              lotId: 'X01',
              kind: t.kind,
              at: t.at,
              words: '',
              personId: 'kim',
              ...own(t),
            }),
          ),
        }
        const nowAt = PITCHED.add({ hours: days * 24 })
        const works = worksOf(style, nowAt, more)
        expect(twice(works)).toEqual([])
        const raised = works.filter((w) => w.count > 8000).map((w) => done(w.task.key, nowAt))
        const after = worksOf(style, nowAt.add({ hours: 30 }), { ...more, taskFacts: [...STARTED, ...raised] })
        expect(twice(after)).toEqual([])
      }),
      { numRuns: 30, seed: 7 },
    )
  })
})
