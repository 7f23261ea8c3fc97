/** A hard rule is broken: which limits cannot all be kept, and what it costs to get out of it. */
import { dayOf, Temporal } from '../../time.ts'
import { isAway } from '../calendars.ts'
import { stepOf } from '../steps.ts'
import { withChanges } from '../trial/apply.ts'
import type { TrialChange } from '../trial/change.ts'
import { compare } from '../trial/compare.ts'
import { stayHours } from '../trial/stay.ts'
import { hourWords } from '../trial/words.ts'
import { type Answer, type AskGround, type AskTask, count, isOpen, number, saying } from './ask.ts'

/** The limits behind a broken rule, in words. */
export interface ConflictTold {
  readonly words: string
  readonly taskKeys: readonly string[]
  /** Minutes, where the rule is about time. */
  readonly byMin?: number
  /** They cannot all be kept; without any one of them a plan was found. Empty: hands and machines alone are short. */
  readonly limits: readonly string[]
  /** What letting go of one of them leaves broken in the whole plan. */
  readonly letGo: readonly { readonly words: string; readonly hardBroken: number }[]
  /** False: none was found even without all of the limits near by. That proves nothing. */
  readonly freed: boolean
  readonly schedules: number
}

/** Something that may be tried, and what it plainly costs. */
interface Way {
  readonly words: string
  readonly changes: readonly TrialChange[]
  readonly days: number
  readonly litres: number
}

/** A way that was tried: whether the trouble is gone, and what else it does. */
interface Tried extends Way {
  readonly gone: boolean
  readonly hardBroken: number
  readonly moved: number
  readonly overtimeH: number
  /** The plan it gives, and of which facts. */
  readonly ground: AskGround
}

/** Practice, change 4: as much more or less than booked is common. */
const LESS_FRUIT = 0.15
const MOST_LOTS = 2
/** People who are tried to stay, and changes tried together with them: each costs a plan. */
const MOST_STAYS = 3
const MOST_PARTS = 2
const QUARTER_MIN = 15
/** What is done in these is not counted back from the finish. */
const BEFORE_FINISH: ReadonlySet<string> = new Set(['fruit', 'pressing', 'additions', 'fermentation'])

/** "What is in the way, and how do we get out of it?" */
export async function waysOut(g: AskGround, asked: { readonly key?: string }): Promise<Answer> {
  const conflict = await g.conflict?.(asked.key)
  if (!conflict)
    return {
      verdict: 'yes',
      sentences: [
        asked.key ? 'No hard rule is broken at it.' : 'Every hard rule is kept: there is nothing to get out of.',
      ],
    }
  const tried: Tried[] = []
  for (const way of waysOf(g, conflict)) tried.push(await tryOut(g, conflict, way))
  // What helps only in part may help with somebody who stays for the rest.
  if (!tried.some((t) => t.gone))
    for (const part of [...tried].sort((a, b) => cost(a) - cost(b)).slice(0, MOST_PARTS))
      for (const more of stayWays(part.ground, conflict).slice(0, MOST_STAYS))
        tried.push(await tryOut(g, conflict, both(part, more)))
  const out = tried.filter((t) => t.gone).sort((a, b) => cost(a) - cost(b))
  const best = out[0]
  return {
    verdict: out.length > 0 ? 'with-changes' : 'no',
    sentences: [
      `Broken: ${conflict.words}.`,
      conflict.limits.length > 0
        ? `These cannot all be kept: ${[...new Set(conflict.limits)].join('; ')}.`
        : conflict.freed
          ? 'No limit that people set is behind it: hands and machines are short.'
          : `None found: also without the limits near by no plan kept it (${count(conflict.schedules, 'plan')} made). That does not prove that there is none.`,
      ...letGoWords(conflict),
      out.length > 0
        ? `${count(out.length, 'way')} out among ${count(tried.length, 'change')} tried, the cheapest first.`
        : `None found among ${count(tried.length, 'change')} tried. That does not prove that there is none.`,
    ],
    table: {
      head: ['Way out', 'Days', 'Litres less', 'Overtime, h', 'Tasks of others moved', 'Hard rules broken'],
      rows: [...out, ...tried.filter((t) => !t.gone)].map((t) => ({
        cells: [
          t.gone ? t.words : `${t.words}: does not help`,
          number(t.days),
          number(t.litres),
          number(t.overtimeH, 1),
          String(t.moved),
          String(t.hardBroken),
        ],
      })),
    },
    ...(best ? { tried: best.changes } : {}),
  }
}

/** What letting go of one limit leaves broken, the limits of one outcome told together. */
function letGoWords({ limits, letGo }: ConflictTold): readonly string[] {
  const byOutcome = new Map<number, Set<string>>()
  for (const { words, hardBroken } of letGo) {
    byOutcome.set(hardBroken, (byOutcome.get(hardBroken) ?? new Set()).add(words))
  }
  const all = new Set(limits).size
  return [...byOutcome]
    .sort(([a], [b]) => a - b)
    .map(
      ([hardBroken, words], i, outcomes) =>
        `${withoutWords(words, all, i > 0 && i + 1 === outcomes.length)}: ${hardWords(hardBroken)}.`,
    )
}

/** All limits were named before: the last of several outcomes need not name most of them again. */
function withoutWords(words: ReadonlySet<string>, all: number, isRest: boolean): string {
  if (words.size > 1 && words.size === all) return 'Without any one of them'
  return isRest && words.size > 2 ? 'Without any one of the others' : `Without one of them, ${[...words].join(', or ')}`
}

/** Rules first, then days, then wine, then hours. */
function cost(t: Tried): number {
  return t.hardBroken * 1e6 + t.days * 1e3 + t.litres / 10 + Math.max(0, t.overtimeH)
}

function hardWords(n: number): string {
  return n === 0 ? 'every hard rule is kept' : `${count(n, 'hard rule')} broken`
}

function waysOf(g: AskGround, told: ConflictTold): readonly Way[] {
  const tasks = told.taskKeys.flatMap((key) => g.plan.tasks.find((t) => t.key === key) ?? [])
  const lots = [...new Set(tasks.flatMap((t) => t.lotId ?? []))].slice(0, MOST_LOTS)
  return [
    ...stayWays(g, told).slice(0, MOST_STAYS),
    ...lots.flatMap((id) => [...fruitWays(g, id), ...coldWays(g, id), ...finishWays(g, id, tasks, told.byMin)]),
  ]
}

const both = (a: Way, b: Way): Way => ({
  words: `${a.words}, and ${b.words}`,
  changes: [...a.changes, ...b.changes],
  days: a.days + b.days,
  litres: a.litres + b.litres,
})

/** Somebody who could do the work stays until it is done, or as long as anybody may; who stays shortest comes first. */
function stayWays(g: AskGround, told: ConflictTold): readonly Way[] {
  const say = saying(g)
  const { zone } = g.facts.cellar
  const lacking = g.plan.broken.filter((b) => b.rule === 'no-person' && b.strength === 'hard')
  const short = lacking.filter((b) => b.taskKeys.some((key) => told.taskKeys.includes(key)))
  const works = [...new Set(short.flatMap((b) => b.taskKeys))].flatMap(
    (key) => g.plan.tasks.find((t) => t.key === key) ?? [],
  )
  const ways = works.flatMap((t) => {
    const skills = stepOf(t.step).skills
    const wall = t.startAt.toZonedDateTimeISO(zone)
    const on = wall.toPlainDate().toString()
    const doneMin = Math.ceil((wall.hour * 60 + wall.minute + t.crewMin) / QUARTER_MIN) * QUARTER_MIN
    return g.facts.people.flatMap((p) => {
      const hours = stayHours(p, on, zone)
      const untilMin = Math.min(doneMin, hours?.longestMin ?? 0)
      if (!hours || untilMin <= hours.endMin || !skills.some((s) => p.skills.includes(s)) || isAway(p, t.startAt))
        return []
      return [
        {
          overMin: untilMin - hours.endMin,
          words: `${p.name} stays until ${hourWords(untilMin)} on ${say.day(on)}`,
          changes: [{ kind: 'stay', person: p.id, on, untilMin }] as const,
          days: 0,
          litres: 0,
        },
      ]
    })
  })
  return ways.sort((a, b) => a.overMin - b.overMin).map(({ overMin: _, ...way }) => way)
}

function fruitWays(g: AskGround, lotId: string): readonly Way[] {
  const say = saying(g)
  const lot = g.facts.lots.find((l) => l.id === lotId)
  const receive = g.plan.tasks.find((t) => t.lotId === lotId && t.step === 'receive' && t.state !== 'cancelled')
  if (!lot || !receive || !isOpen(receive) || receive.state === 'underway') return []
  const today = dayOf(g.nowAt, g.facts.cellar.zone)
  const days = [1, 2, -1].map((n) => ({ n, on: lot.pickOn.add({ days: n }) }))
  const tonnes = Math.round(lot.fruit.tonnes * (1 - LESS_FRUIT) * 100) / 100
  return [
    ...days
      .filter(({ on }) => Temporal.PlainDate.compare(on, today) > 0)
      .map(({ n, on }) => ({
        words: `pick ${lot.code} on ${say.day(on)}`,
        changes: [{ kind: 'pick', lot: lotId, pickOn: on.toString() }] as const,
        days: Math.abs(n),
        litres: 0,
      })),
    {
      words: `take ${number(tonnes, 2)} t of ${lot.code}`,
      changes: [{ kind: 'fruit', lot: lotId, fruit: { tonnes } }] as const,
      days: 0,
      litres: Math.round((lot.fruit.tonnes - tonnes) * lot.fruit.yieldLPerT),
    },
  ]
}

/** Whole bunches in a cold room wait for a day and a half instead of half a day (practice, change 7). */
function coldWays(g: AskGround, lotId: string): readonly Way[] {
  const lot = g.facts.lots.find((l) => l.id === lotId)
  const receive = g.plan.tasks.find((t) => t.lotId === lotId && t.step === 'receive' && t.state !== 'cancelled')
  const room = g.facts.machines.find((m) => m.kind === 'cold-room')
  if (!lot || !room || !receive || !isOpen(receive) || receive.state === 'underway') return []
  if (lot.choices.pickMode !== 'hand' || lot.choices.fruitCooling !== 'none') return []
  return [
    {
      words: `cool ${lot.code} in ${room.code} overnight`,
      changes: [{ kind: 'choices', lot: lotId, choices: { fruitCooling: 'cold-room' } }],
      days: 1,
      litres: 0,
    },
  ]
}

function finishWays(g: AskGround, lotId: string, tasks: readonly AskTask[], byMin: number | undefined): readonly Way[] {
  const say = saying(g)
  const lot = g.facts.lots.find((l) => l.id === lotId)
  const finishOn = lot?.choices.finishOn
  // What is pressed or fermented late does not wait for the bottler.
  const late = tasks.filter((t) => t.lotId === lotId && !BEFORE_FINISH.has(stepOf(t.step).stage))
  if (!lot || !finishOn || late.length === 0 || byMin === undefined) return []
  const least = Math.max(1, Math.ceil(byMin / 1440))
  return [least, least + 14].map((days) => {
    const on = Temporal.PlainDate.from(finishOn).add({ days })
    return {
      words: `finish ${lot.code} on ${say.day(on)}`,
      changes: [{ kind: 'choices', lot: lotId, choices: { finishOn: on.toString() } }] as const,
      days,
      litres: 0,
    }
  })
}

async function tryOut(g: AskGround, conflict: ConflictTold, way: Way): Promise<Tried> {
  const tried = withChanges(g.facts, way.changes, g.nowAt, (i) => `tried.${i}`)
  const after = await g.planOf(tried)
  const groundOf = (facts: AskGround['facts']) => ({
    ...facts,
    zone: facts.cellar.zone,
    presses: facts.machines.filter((m) => m.kind === 'press' || m.kind === 'basket-press'),
  })
  // Who stays longer works over the hours that are theirs.
  const grounds = { before: groundOf(g.facts), after: groundOf({ ...tried, people: g.facts.people }) }
  const numbers = compare(g.plan, after, grounds, g.nowAt)
  const lots = new Set(way.changes.flatMap((change) => ('lot' in change ? [change.lot] : [])))
  const own = new Set(g.facts.lots.flatMap((l) => (lots.has(l.id) ? [l.code] : [])))
  return {
    ...way,
    gone: !after.broken.some((b) => b.strength === 'hard' && b.taskKeys.some((key) => conflict.taskKeys.includes(key))),
    hardBroken: numbers.brokenHard.after,
    moved: numbers.byLot.filter((l) => !own.has(l.lotCode)).reduce((sum, l) => sum + l.moved, 0),
    overtimeH: (numbers.overtimeMin.after - numbers.overtimeMin.before) / 60,
    ground: { ...g, facts: tried, plan: after },
  }
}
