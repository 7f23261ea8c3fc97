/** Fruit that comes sooner, or more of it, and the last day it may come. */
import { dayOf, minutesFrom, Temporal, wallTimeAt } from '../../time.ts'
import { shiftsOf } from '../calendars.ts'
import { demandOf, poolAt } from '../demand-of.ts'
import type { Lot } from '../facts.ts'
import { pressLoads } from '../loads.ts'
import { changedLot, withChanges } from '../trial/apply.ts'
import type { TrialChange } from '../trial/change.ts'
import { compare } from '../trial/compare.ts'
import { type Answer, type AskGround, type AskPlan, byStart, count, isOpen, number, saying } from './ask.ts'
import { freshHard } from './people.ts'
import { storeWords } from './stores.ts'

/** "What if we press tomorrow instead?" */
export async function pressOn(
  g: AskGround,
  asked: { readonly lot: Lot; readonly on: Temporal.PlainDate },
): Promise<Answer> {
  const say = saying(g)
  const { lot } = asked
  const started = g.plan.tasks.find(
    (t) => t.lotId === lot.id && t.step === 'receive' && !isOpen(t) && t.state !== 'cancelled',
  )
  if (started)
    return {
      verdict: 'no',
      sentences: [`${lot.code} is in the cellar since ${say.start(started)}: its pick cannot move.`],
    }
  const change: TrialChange = { kind: 'pick', lot: lot.id, pickOn: asked.on.toString() }
  const tried = withChanges(g.facts, [change], g.nowAt, (i) => `tried-${i}`)
  const after = await g.planOf(tried)
  const own = (plan: AskPlan, step: string) =>
    plan.tasks.filter((t) => t.lotId === lot.id && t.step === step && t.state !== 'cancelled').sort(byStart)
  const settles = after.phases.find((p) => p.lotId === lot.id && p.kind === 'settle')
  const fresh = freshHard(g, after)
  const moved = after.tasks.filter((t) => {
    const was = g.plan.tasks.find((o) => o.key === t.key)
    return was && isOpen(was) && t.lotId !== lot.id && Math.abs(minutesFrom(was.startAt, t.startAt)) >= 15
  })
  const firsts = ['receive', 'press', 'rack-juice', 'fill-barrels', 'inoculate']
  return {
    verdict: fresh.length > 0 ? 'no' : moved.length > 0 ? 'with-changes' : 'yes',
    sentences: [
      `${lot.code} on ${say.day(asked.on)} instead of ${say.day(lot.pickOn)}.`,
      ...staffWords(g, asked.on),
      ...(settles
        ? [`It settles in ${settles.vessels.map(say.nameOf).join(' and ')} until ${say.at(settles.endAt)}.`]
        : []),
      moved.length === 0
        ? 'No other lot moves by a quarter of an hour.'
        : `${count(moved.length, 'task')} of other lots would move: ${moved.slice(0, 4).map(say.task).join(', ')}${moved.length > 4 ? ' and more' : ''}.`,
      fresh.length === 0
        ? 'No hard rule breaks that holds now.'
        : `${count(fresh.length, 'conflict')}: ${fresh.join('; ')}.`,
    ],
    table: {
      head: ['Work', 'Now', 'Then', 'By'],
      rows: firsts.flatMap((step) => {
        const next = own(after, step)[0]
        const was = own(g.plan, step)[0]
        if (!next) return []
        return [
          {
            cells: [next.name, was ? say.start(was) : '–', say.start(next), say.crew(next)],
            taskKey: next.key,
          },
        ]
      }),
    },
    tried: [change],
  }
}

/** Who is off that day, and when the others are there. */
function staffWords(g: AskGround, on: Temporal.PlainDate): readonly string[] {
  const people = g.facts.people.filter((p) => p.role !== 'viewer' && p.shifts.length > 0)
  const off = people.filter((p) => shiftsOf(p)({ on: on.toString(), weekday: on.dayOfWeek }) === undefined)
  return [off.length === 0 ? 'Everybody works that day.' : `Off that day: ${off.map((p) => p.name).join(', ')}.`]
}

/** "Can we take 12 more tonnes on Saturday?" */
export async function takeMore(
  g: AskGround,
  asked: { readonly like: Lot; readonly on: Temporal.PlainDate; readonly tonnes: number },
): Promise<Answer> {
  const say = saying(g)
  const code = freeCode(g)
  const change: TrialChange = {
    kind: 'more-fruit',
    like: asked.like.id,
    code,
    on: asked.on.toString(),
    tonnes: asked.tonnes,
  }
  const tried = withChanges(g.facts, [change], g.nowAt, () => 'tried')
  const after = await g.planOf(tried)
  const own = after.tasks.filter((t) => t.lotCode === code).sort(byStart)
  const { choices, fruit } = asked.like
  const entering =
    choices.processing === 'whole-bunch' ? 'wholeBunchT' : choices.skinFermentDays > 0 ? 'fermentedT' : 'destemmedT'
  const presses = own.filter((t) => t.step === 'press')
  const loads = presses.length || pressLoads(asked.tonnes, entering, choices.pressProgram, g.facts.machines).length
  const pressH = presses.reduce((sum, t) => sum + minutesFrom(t.startAt, t.endAt) / 60, 0)
  const receive = own.find((t) => t.step === 'receive')
  const settles = after.phases.find((p) => p.lotCode === code && p.kind === 'settle')
  const juiceL = asked.tonnes * fruit.yieldLPerT
  const fresh = freshHard(g, after)
  const grounds = (facts: AskGround['facts']) => ({
    ...facts,
    zone: say.zone,
    presses: facts.machines.filter((m) => m.kind === 'press' || m.kind === 'basket-press'),
  })
  const numbers = compare(g.plan, after, { before: grounds(g.facts), after: grounds(tried) }, g.nowAt)
  const last = presses
    .map((t) => t.endAt)
    .sort(Temporal.Instant.compare)
    .at(-1)
  return {
    verdict: fresh.length > 0 ? 'no' : numbers.moved > 0 ? 'with-changes' : 'yes',
    sentences: [
      `${number(asked.tonnes, 1)} t like ${asked.like.code} on ${say.day(asked.on)}: ${count(loads, 'load')} of ${number(asked.tonnes / loads, 1)} t${
        presses.length > 0
          ? ` on ${[...new Set(presses.flatMap((t) => t.machines.filter((m) => g.facts.machines.some((x) => x.id === m && x.kind === 'press'))))].map(say.nameOf).join(' and ')}`
          : ''
      }, ${number(pressH, 1)} h of pressing${last ? `, the last ends ${say.at(last)}` : ''}.`,
      ...(receive
        ? [
            `The first truck is received at ${say.start(receive)} by ${say.crew(receive)}; it may come as late as ${say.at(receive.latestAt)}.`,
          ]
        : []),
      settles && settles.vessels.length > 0
        ? `${number(juiceL)} L of juice go to ${settles.vessels.map(say.nameOf).join(' and ')}.`
        : `No vessel is found for ${number(juiceL)} L of juice.`,
      ...storeWords(after, tried, code),
      ...staffWords(g, asked.on),
      `The most cold asked for in an hour is ${number(numbers.cooling.after.kW, 1)} kW (${number(numbers.cooling.before.kW, 1)} kW without it)${
        numbers.cooling.after.shortKWh > 0
          ? `, and the chillers fall short of ${number(numbers.cooling.after.shortKWh, 1)} kWh`
          : '; the chillers give it'
      }.`,
      `Overtime of the next 14 days: ${number(numbers.overtimeMin.after / 60, 1)} h (${number(numbers.overtimeMin.before / 60, 1)} h without it).`,
      numbers.moved === 0 ? 'No other task moves.' : `${count(numbers.moved, 'other task')} would move.`,
      ...(fresh.length > 0 ? [`In the way: ${fresh.join('; ')}.`] : []),
    ],
    table: {
      head: ['Work', 'When', 'By'],
      rows: own
        .filter((t) =>
          ['receive', 'destem-crush', 'load-press', 'press', 'settle', 'float', 'rack-juice', 'inoculate'].includes(
            t.step,
          ),
        )
        .slice(0, 10)
        .map((t) => ({ cells: [t.name, say.start(t), say.crew(t)] })),
    },
    tried: [change],
  }
}

function freeCode(g: AskGround): string {
  const taken = new Set(g.facts.lots.map((l) => l.code.toLowerCase()))
  for (let i = g.facts.lots.length + 1; ; i++) {
    const code = `L${String(i).padStart(2, '0')}`
    if (!taken.has(code.toLowerCase())) return code
  }
}

/** "Do we have cooling for that?" The heat to be taken out, against what the pool leaves hour by hour. */
export function coolingFor(
  g: AskGround,
  asked: { readonly at: Temporal.Instant; readonly volumeL: number; readonly byC: number; readonly inH: number },
): Answer {
  const say = saying(g)
  const needKW = (asked.volumeL * MUST_KG_PER_L * MUST_KJ_PER_KG_K * asked.byC) / (asked.inH * 3600)
  const hours = demandOf(
    g.plan,
    g.facts,
    asked.at.round({ smallestUnit: 'hour', roundingMode: 'floor' }),
    Math.ceil(asked.inH),
  )
  const left = hours.map((h) => ({
    h,
    poolKW: poolAt(g.facts.machines, h.at),
    freeKW: poolAt(g.facts.machines, h.at) - h.coolingKW,
  }))
  const tight = left.reduce((a, b) => (b.freeKW < a.freeKW ? b : a), left[0]!)
  const fits = tight.freeKW >= needKW
  const freeKWh = left.reduce((sum, x) => sum + Math.max(0, x.freeKW), 0)
  return {
    verdict: fits ? 'yes' : freeKWh >= needKW * asked.inH ? 'with-changes' : 'no',
    sentences: [
      `${number(asked.volumeL)} L by ${number(asked.byC, 1)} C in ${number(asked.inH, 1)} h asks for ${number(needKW, 1)} kW: ${number(asked.volumeL)} L x ${MUST_KG_PER_L} kg/L x ${MUST_KJ_PER_KG_K} kJ/(kg K) x ${number(asked.byC, 1)} K / ${number(asked.inH * 3600)} s.`,
      `The chillers give ${number(tight.poolKW, 1)} kW; in the fullest of those hours, ${say.at(tight.h.at)}, ferments and chilling take ${number(tight.h.coolingKW, 1)} kW and leave ${number(tight.freeKW, 1)} kW.`,
      fits
        ? 'Yes.'
        : freeKWh >= needKW * asked.inH
          ? `Not evenly: over the whole time ${number(freeKWh, 1)} kWh are free and ${number(needKW * asked.inH, 1)} are needed, so chill harder when others do not.`
          : `No: over the whole time ${number(freeKWh, 1)} kWh are free and ${number(needKW * asked.inH, 1)} are needed.`,
    ],
    table: {
      head: ['Hour', 'Given', 'Taken', 'Free'],
      rows: left.map((x) => ({
        cells: [
          say.at(x.h.at),
          `${number(x.poolKW, 1)} kW`,
          `${number(x.h.coolingKW, 1)} kW`,
          `${number(x.freeKW, 1)} kW`,
        ],
      })),
    },
  }
}

/** Must of about 22 Brix. Common practice for sizing: 1.08 kg/L and 3.6 kJ/(kg K). */
const MUST_KG_PER_L = 1.08
const MUST_KJ_PER_KG_K = 3.6

/** "The chiller is down: which tank first?" Hours until each jacketed ferment is 3 C above where it stands now. */
export function warmsFirst(g: AskGround): Answer {
  const fromAt = g.nowAt.round({ smallestUnit: 'hour', roundingMode: 'floor' })
  const [now] = demandOf(g.plan, g.facts, fromAt, 1)
  const tanks = g.plan.phases
    .filter((p) => p.kind === 'ferment' && minutesFrom(p.startAt, g.nowAt) >= 0 && minutesFrom(g.nowAt, p.endAt) > 0)
    .flatMap((p) => {
      const kW = now?.loads.find((l) => l.name === `${p.lotCode} ferment`)?.kW ?? 0
      if (kW <= 0) return []
      return [{ p, kW, hours: (ALARM_K * p.volumeL * MUST_KG_PER_L * MUST_KJ_PER_KG_K) / (kW * 3600) }]
    })
    .sort((a, b) => a.hours - b.hours || (a.p.lotCode < b.p.lotCode ? -1 : 1))
  const say = saying(g)
  const where = (p: (typeof tanks)[number]['p']) => p.vessels.map(say.nameOf).join(', ')
  const first = tanks[0]
  return {
    sentences: first
      ? [
          `Without cold ${first.p.lotCode} in ${where(first.p)} is 3 C warmer first, in ${number(first.hours, 1)} h: ${number(first.kW, 1)} kW into ${number(first.p.volumeL)} L.`,
          'Give what cold there is to the first of the list; read all of them every two hours until it is back.',
          'Heat of the ferment alone: walls and warm rooms come on top (common practice: count with half the time).',
        ]
      : ['No ferment gives off heat now.'],
    table: {
      head: ['Lot', 'Where', 'Until 3 C more', 'Heat'],
      rows: tanks.map(({ p, kW, hours }) => ({
        cells: [p.lotCode, where(p), `${number(hours, 1)} h`, `${number(kW, 2)} kW`],
      })),
    },
  }
}

const ALARM_K = 3

const MOST_DAYS = 180

/** "What is the last day to pick this block for that bottling date?" Found by planning this lot alone, later and later. */
export async function lastPick(
  g: AskGround,
  asked: { readonly lot: Lot; readonly finishOn: Temporal.PlainDate },
): Promise<Answer> {
  const say = saying(g)
  const booked = changedLot(asked.lot, {
    kind: 'choices',
    lot: asked.lot.id,
    choices: { finishOn: asked.finishOn.toString() },
  })
  const from =
    Temporal.PlainDate.compare(asked.lot.pickOn, dayOf(g.nowAt, say.zone)) < 0
      ? dayOf(g.nowAt, say.zone)
      : asked.lot.pickOn
  const tryOn = async (days: number) => {
    const pickOn = from.add({ days })
    // Nothing of this lot has happened in the trial: it asks about fruit still on the vine.
    const lots = [{ ...booked, pickOn }]
    const bare = { ...g.facts, lots, readings: [], transfers: [], additions: [], taskFacts: [] }
    const plan = await g.planOf(bare, 'alone')
    const end =
      plan.tasks
        .filter((t) => t.lotId === asked.lot.id && t.step === 'release')
        .sort(byStart)
        .at(-1) ??
      plan.tasks
        .filter((t) => t.lotId === asked.lot.id)
        .sort(byStart)
        .at(-1)
    const dueAt = wallTimeAt(asked.finishOn.add({ days: 1 }), 0, say.zone)
    const late = plan.broken.filter(
      (b) => LATE.has(b.rule) && b.taskKeys.some((key) => key.startsWith(`${asked.lot.code}/`)),
    )
    const ok = end !== undefined && minutesFrom(end.endAt, dueAt) >= 0 && !late.some((b) => b.strength === 'hard')
    return { ok, pickOn, end, late }
  }
  const span = Math.min(MOST_DAYS, Math.max(0, from.until(asked.finishOn, { largestUnit: 'days' }).days))
  const now = await tryOn(0)
  if (!now.ok) {
    return {
      verdict: 'no',
      sentences: [
        `None found: picked on ${say.day(from)}, ${asked.lot.code} is not ready by ${say.day(asked.finishOn)}${now.end ? `; its last work would be ${say.end(now.end)}` : ''}.`,
        ...now.late.slice(0, 3).map((b) => `${b.words}.`),
        'A later date, a shorter rest on lees, or another stabilisation would free it.',
      ],
    }
  }
  let good = 0
  let bad = span + 1
  while (bad - good > 1) {
    const mid = Math.floor((good + bad) / 2)
    if ((await tryOn(mid)).ok) good = mid
    else bad = mid
  }
  const best = good === 0 ? now : await tryOn(good)
  const slackDays = asked.lot.pickOn.until(best.pickOn, { largestUnit: 'days' }).days
  const next = good < span ? await tryOn(good + 1) : undefined
  return {
    verdict: 'yes',
    sentences: [
      `${asked.lot.code} for ${say.day(asked.finishOn)}: the last day to pick is ${say.day(best.pickOn)}.`,
      `It is planned for ${say.day(asked.lot.pickOn)}: ${count(slackDays, 'day')} of slack.`,
      ...(next?.end
        ? [`A day later its last work would be ${say.end(next.end)}${next.late[0] ? `: ${next.late[0].words}` : ''}.`]
        : []),
      'Counted for this lot alone, with the vessels, machines and people of the cellar to itself.',
    ],
  }
}

const LATE: ReadonlySet<string> = new Set(['after-due', 'link-too-long', 'link-too-short', 'before-release', 'cycle'])
