/** Who does what, what cannot wait, and how full the days are. */
import { dayOf, minutesFrom, type Temporal, wallTimeAt } from '../../time.ts'
import { shiftsOf } from '../calendars.ts'
import { covered } from '../covered.ts'
import type { Person } from '../facts.ts'
import { withChanges } from '../trial/apply.ts'
import type { TrialChange } from '../trial/change.ts'
import { type Answer, type AskGround, type AskTask, byStart, count, isOpen, length, number, saying } from './ask.ts'

/** "Who tops row B on Friday?" A row is the letter of its barrels; a vessel its code. */
export function whoTops(g: AskGround, asked: { readonly row: string; readonly on: Temporal.PlainDate }): Answer {
  const say = saying(g)
  const inRow = new Set(g.facts.vessels.filter((v) => v.row === asked.row || v.code === asked.row).map((v) => v.id))
  if (inRow.size === 0) return { verdict: 'no', sentences: [`There is no row or vessel ${asked.row} here.`] }
  const toppings = g.plan.tasks
    .filter((t) => (t.step === 'top-barrels' || t.step === 'top-tank') && isOpen(t))
    .filter((t) => [...t.fromVessels, ...t.toVessels].some((v) => inRow.has(v)))
    .sort(byStart)
  const onDay = toppings.filter((t) => say.dayOf(t.startAt) === asked.on.toString())
  const next = toppings.find((t) => say.dayOf(t.startAt) > asked.on.toString())
  const done = g.plan.tasks
    .filter(
      (t) =>
        t.step === 'top-barrels' && t.state === 'done' && [...t.fromVessels, ...t.toVessels].some((v) => inRow.has(v)),
    )
    .sort(byStart)
    .at(-1)
  const line = (t: AskTask) => `${say.crew(t)}, ${say.start(t)}, ${t.lotCode} (${t.detail})`
  return {
    verdict: onDay.length > 0 ? 'yes' : 'no',
    sentences: [
      onDay.length > 0
        ? `Row ${asked.row} on ${say.day(asked.on)}: ${onDay.map(line).join('; ')}.`
        : `On ${say.day(asked.on)} nothing of row ${asked.row} is due.`,
      ...(next ? [`The next topping is ${say.start(next)}: ${say.crew(next)}.`] : []),
      ...(!next && onDay.length === 0 ? ['No topping of it is planned.'] : []),
      ...(done ? [`It was last topped on ${say.end(done)}.`] : []),
    ],
    table: {
      head: ['When', 'Lot', 'Who'],
      rows: toppings.slice(0, 6).map((t) => ({ cells: [say.start(t), t.lotCode, say.crew(t)], taskKey: t.key })),
    },
  }
}

/** "What must be done before I go home?" Work whose last lawful start comes before the next shift begins. */
export function beforeHome(g: AskGround, asked: { readonly person?: string }): Answer {
  const say = saying(g)
  const person = g.facts.people.find((p) => p.id === asked.person)
  const nextAt = nextShift(person ? [person] : g.facts.people, g)
  if (!nextAt) return { sentences: ['Nobody has a shift in the next weeks.'] }
  const hard = g.plan.tasks
    .filter((t) => isOpen(t) && t.state !== 'underway' && t.crew + t.crewMin > 0)
    .filter((t) => !person || t.people.length === 0 || t.people.includes(person.id))
    .filter((t) => minutesFrom(t.latestAt, nextAt) > 0)
    .sort((a, b) => minutesFrom(b.latestAt, a.latestAt) || byStart(a, b))
  const whose = person ? `${person.name}’s next shift` : 'the next shift'
  return {
    sentences: [
      hard.length === 0
        ? `Nothing has to be done before ${whose} begins, ${say.at(nextAt)}.`
        : `${count(hard.length, 'task')} cannot wait for ${whose}, ${say.at(nextAt)}.`,
      ...hard
        .slice(0, 12)
        .map((t) =>
          minutesFrom(g.nowAt, t.latestAt) < 0
            ? `${say.task(t)}: its last moment was ${say.at(t.latestAt)}, ${length(-minutesFrom(g.nowAt, t.latestAt))} ago.`
            : `${say.task(t)}: start it by ${say.at(t.latestAt)}, in ${length(minutesFrom(g.nowAt, t.latestAt))}.`,
        ),
    ],
    table: {
      head: ['Start by', 'Planned', 'Work', 'Who'],
      rows: hard.map((t) => ({
        cells: [say.at(t.latestAt), say.start(t), say.task(t), say.crew(t)],
        taskKey: t.key,
      })),
    },
  }
}

/** The first start of a shift after the one that runs now, or after the next if none runs. */
function nextShift(people: readonly Person[], g: AskGround): Temporal.Instant | undefined {
  const { zone } = g.facts.cellar
  const shifts = people.map(shiftsOf)
  const today = dayOf(g.nowAt, zone)
  const starts = Array.from({ length: 15 }, (_, i) => today.add({ days: i + 1 })).flatMap((on) => {
    const mins = shifts.flatMap((of) => of({ on: on.toString(), weekday: on.dayOfWeek })?.startMin ?? [])
    return mins.length > 0 ? [wallTimeAt(on, Math.min(...mins), zone)] : []
  })
  return starts[0]
}

/** "What happens if Kim is sick tomorrow?" */
export async function sick(
  g: AskGround,
  asked: { readonly person: string; readonly on: Temporal.PlainDate },
): Promise<Answer> {
  const say = saying(g)
  const person = g.facts.people.find((p) => p.id === asked.person)
  if (!person) return { verdict: 'no', sentences: [`${asked.person} is nobody here.`] }
  const change: TrialChange = {
    kind: 'away',
    person: person.id,
    fromAt: wallTimeAt(asked.on, 0, say.zone).toString(),
    toAt: wallTimeAt(asked.on.add({ days: 1 }), 0, say.zone).toString(),
    reason: 'ill',
  }
  const theirs = g.plan.tasks
    .filter(
      (t) => isOpen(t) && t.people.includes(person.id) && t.crewMin > 0 && say.dayOf(t.startAt) === asked.on.toString(),
    )
    .sort(byStart)
  if (theirs.length === 0)
    return {
      verdict: 'yes',
      sentences: [`${person.name} has no work on ${say.day(asked.on)}: nothing changes.`],
      tried: [change],
    }
  const after = await g.planOf(withChanges(g.facts, [change], g.nowAt, (i) => `tried-${i}`))
  const next = new Map(after.tasks.map((t) => [t.key, t]))
  // Where nobody else can, the plan leaves a round with its person as broken; whoever is ill does not do it all the same.
  const without = (now: AskTask | undefined) =>
    now && say.dayOf(now.startAt) === asked.on.toString()
      ? { ...now, people: now.people.filter((id) => id !== person.id) }
      : now
  const fates = theirs.map((t) => ({ t, now: without(next.get(t.key)) }))
  const sameDay = fates.filter(
    ({ now }) => now && now.people.length > 0 && say.dayOf(now.startAt) === asked.on.toString(),
  )
  const later = fates.filter(
    ({ now }) => now && now.people.length > 0 && say.dayOf(now.startAt) !== asked.on.toString(),
  )
  const nobody = fates.filter(({ now }) => !now || (now.people.length === 0 && now.crew > 0))
  const others = after.tasks.filter((t) => {
    const was = g.plan.tasks.find((o) => o.key === t.key)
    return was && isOpen(was) && !was.people.includes(person.id) && Math.abs(minutesFrom(was.startAt, t.startAt)) >= 15
  })
  const fresh = freshHard(g, after)
  return {
    verdict: nobody.length > 0 || fresh.length > 0 ? 'no' : later.length + others.length > 0 ? 'with-changes' : 'yes',
    sentences: [
      `${person.name} has ${count(theirs.length, 'task')} on ${say.day(asked.on)}, ${length(theirs.reduce((sum, t) => sum + t.crewMin, 0))} of work.`,
      ...(sameDay.length > 0 ? [`${count(sameDay.length, 'task')} can be done by others on the day.`] : []),
      ...later.map(({ t, now }) => `${say.task(t)} waits until ${say.start(now!)}.`),
      ...nobody.map(
        ({ t }) => `${say.task(t)} needs a decision: nobody can do it; its last moment is ${say.at(t.latestAt)}.`,
      ),
      ...(others.length > 0
        ? [`${count(others.length, 'other task')} would move by a quarter of an hour or more.`]
        : []),
      ...fresh.map((words) => `At risk: ${words}.`),
    ],
    table: {
      head: ['Work', 'From', 'To', 'By'],
      rows: fates.map(({ t, now }) => ({
        cells: [
          say.task(t),
          say.start(t),
          now ? say.start(now) : 'not done',
          now && now.people.length > 0 ? say.crew(now) : 'nobody',
        ],
        taskKey: t.key,
      })),
    },
    tried: [change],
  }
}

export function freshHard(g: AskGround, after: AskGround['plan']): readonly string[] {
  const sign = (b: { rule: string; taskKeys: readonly string[] }) => [b.rule, ...b.taskKeys].join(' ')
  const known = new Set(g.plan.broken.map(sign))
  return after.broken.filter((b) => b.strength === 'hard' && !known.has(sign(b))).map((b) => b.words)
}

/** "How full are the next days?" Work against the hours of each person and day. */
export function load(g: AskGround, asked: { readonly from: Temporal.PlainDate; readonly days: number }): Answer {
  const say = saying(g)
  const days = Array.from({ length: asked.days }, (_, i) => asked.from.add({ days: i }))
  const minutes = busyMin(g)
  const people = g.facts.people.filter((p) => p.role !== 'viewer')
  const cells = people.map((p) => {
    const of = shiftsOf(p)
    return days.map((on) => {
      const shift = of({ on: on.toString(), weekday: on.dayOfWeek })
      const away = p.absences.reduce((sum, a) => sum + overlap(a, on, shift, say.zone), 0)
      const hasMin = shift ? Math.max(0, shift.endMin - shift.startMin - away) : 0
      return { p, on, hasMin, workMin: minutes.get(`${p.id} ${on}`) ?? 0 }
    })
  })
  const over = cells.flat().filter((c) => c.workMin > c.hasMin)
  const totals = people.map((p, i) => ({ p, min: cells[i]!.reduce((sum, c) => sum + c.workMin, 0) }))
  const most = totals.reduce((a, b) => (b.min > a.min ? b : a), totals[0]!)
  const least = totals.reduce((a, b) => (b.min < a.min ? b : a), totals[0]!)
  const h = (min: number) => number(min / 60, 1)
  return {
    verdict: over.length === 0 ? 'yes' : 'with-changes',
    sentences: [
      ...(most && least
        ? [`${most.p.name} has most, ${h(most.min)} h, ${least.p.name} least, ${h(least.min)} h.`]
        : []),
      over.length === 0
        ? 'Nobody has more work than hours on a day.'
        : `More work than hours: ${over.map((c) => `${c.p.name} on ${say.day(c.on)} (${h(c.workMin)} of ${h(c.hasMin)} h)`).join(', ')}.`,
    ],
    table: {
      head: ['Person', ...days.map((on) => say.day(on))],
      rows: people.map((p, i) => ({
        cells: [
          p.name,
          ...cells[i]!.map((c) => (c.hasMin + c.workMin === 0 ? 'off' : `${h(c.workMin)} / ${h(c.hasMin)} h`)),
        ],
      })),
    },
  }
}

/** Minutes at work by person and day. Two things done as one stream are counted once. */
function busyMin(g: AskGround): ReadonlyMap<string, number> {
  const say = saying(g)
  const spans = new Map<string, [from: number, to: number][]>()
  for (const t of g.plan.tasks) {
    if (t.state === 'cancelled' || t.state === 'skipped' || t.crewMin === 0) continue
    const from = minutesFrom(g.nowAt, t.startAt)
    for (const id of t.people) {
      const key = `${id} ${say.dayOf(t.startAt)}`
      spans.set(key, [...(spans.get(key) ?? []), [from, from + t.crewMin]])
    }
  }
  return new Map([...spans].map(([key, list]) => [key, covered(list)]))
}

function overlap(
  away: Person['absences'][number],
  on: Temporal.PlainDate,
  shift: { readonly startMin: number; readonly endMin: number } | undefined,
  zone: string,
): number {
  if (!shift) return 0
  const from = Math.max(0, minutesFrom(wallTimeAt(on, shift.startMin, zone), away.fromAt))
  const to = Math.min(shift.endMin - shift.startMin, minutesFrom(wallTimeAt(on, shift.startMin, zone), away.toAt))
  return Math.max(0, to - from)
}
