/** Which tank is free, and which must be washed. */
import { minutesFrom, type Temporal, wallTimeAt } from '../../time.ts'
import type { Vessel } from '../facts.ts'
import { stepOf, USUAL_SIZES } from '../steps.ts'
import { FILL } from '../volumes.ts'
import { type Answer, type AskGround, byStart, count, isOpen, number, saying } from './ask.ts'
import { staysOf } from './stays.ts'

export type FillFor = 'settling' | 'fermenting' | 'storing'

const SHARE: Readonly<Record<FillFor, number>> = {
  settling: FILL.settle,
  fermenting: FILL.ferment,
  storing: FILL.store,
}
const TANKS: ReadonlySet<Vessel['kind']> = new Set(['tank', 'cold-tank', 'floating-lid', 'pressure-tank'])
const DAY_MIN = 1440

/** "Which tank is free on Thursday for 6,200 L?" */
export function freeTank(
  g: AskGround,
  asked: { readonly on: Temporal.PlainDate; readonly volumeL: number; readonly purpose: FillFor },
): Answer {
  const say = saying(g)
  const fromAt = wallTimeAt(asked.on, 0, say.zone)
  const toAt = wallTimeAt(asked.on.add({ days: 1 }), 0, say.zone)
  const share = SHARE[asked.purpose]
  const stays = staysOf(g.plan)
  const tanks = g.facts.vessels
    .filter((v) => TANKS.has(v.kind) && v.state !== 'out-of-service' && (asked.purpose !== 'fermenting' || v.jacket))
    .map((v) => {
      const taken = [
        ...stays.filter((s) => s.vessel === v.id).map((s) => ({ ...s, who: s.lotCode })),
        ...v.bookings.map((b) => ({ fromAt: b.fromAt, toAt: b.toAt, who: b.why })),
      ]
      const touches = taken.filter((s) => minutesFrom(s.fromAt, toAt) > 0 && minutesFrom(fromAt, s.toAt) > 0)
      const whole = touches.filter((s) => minutesFrom(s.fromAt, fromAt) >= 0 && minutesFrom(s.toAt, toAt) <= 0)
      const next = taken
        .filter((s) => minutesFrom(fromAt, s.fromAt) > 0)
        .sort((a, b) => minutesFrom(b.fromAt, a.fromAt))[0]
      const left = touches
        .filter((s) => minutesFrom(s.toAt, toAt) > 0)
        .sort((a, b) => minutesFrom(b.toAt, a.toAt))
        .at(-1)
      return { v, whole: whole[0], next, freeFromAt: left?.toAt, usableL: v.volumeL * share }
    })
  const free = tanks.filter((t) => !t.whole && !(t.next && minutesFrom(t.next.fromAt, toAt) > 0))
  const fits = free.filter((t) => t.usableL >= asked.volumeL).sort((a, b) => a.v.volumeL - b.v.volumeL)
  const small = free.filter((t) => t.usableL < asked.volumeL).sort((a, b) => b.v.volumeL - a.v.volumeL)
  const cleanH = (v: Vessel) => stepOf('clean-tank').elapsedH({ ...USUAL_SIZES, volumeL: v.volumeL })
  const fullPct = (v: Vessel) => number((asked.volumeL / v.volumeL) * 100, 1)
  const where = (t: (typeof tanks)[number]) =>
    `${t.v.code}${t.freeFromAt ? ` from ${say.at(t.freeFromAt)}` : ''}, ${fullPct(t.v)} % full, ${number(cleanH(t.v), 1)} h of cleaning first${
      t.next ? `, booked for ${t.next.who} from ${say.at(t.next.fromAt)}` : ''
    }`
  const pair = fits.length > 0 ? undefined : pairOf(small, asked.volumeL)
  const limit = `${number(share * 100)} % is the most for ${asked.purpose}`
  return {
    verdict: fits.length > 0 ? 'yes' : pair ? 'with-changes' : 'no',
    sentences: [
      fits.length > 0
        ? `${say.day(asked.on)}, ${number(asked.volumeL)} L for ${asked.purpose}: ${fits.map((t) => t.v.code).join(', ')} ${fits.length === 1 ? 'is' : 'are'} free.`
        : `No one tank is free on ${say.day(asked.on)} for ${number(asked.volumeL)} L of ${asked.purpose}.`,
      ...fits.map((t) => `${where(t)}.`),
      ...(pair
        ? [
            `Split over ${pair.map((t) => t.v.code).join(' and ')}: ${number(pair.reduce((sum, t) => sum + t.usableL, 0))} L fit.`,
          ]
        : []),
      ...(small.length > 0
        ? [
            `Free but too small: ${small
              .map((t) => `${t.v.code} (${fullPct(t.v)} % full; holds ${number(t.usableL)} L)`)
              .join(', ')}. ${limit} (common practice).`,
          ]
        : [`${limit} (common practice).`]),
    ],
    table: {
      head: ['Tank', 'Litres', 'Full', 'Free', 'Next'],
      rows: tanks.map((t) => ({
        cells: [
          t.v.code,
          number(t.v.volumeL),
          `${fullPct(t.v)} %`,
          t.whole
            ? `no: ${t.whole.who} until ${say.at(t.whole.toAt)}`
            : t.freeFromAt
              ? `from ${say.at(t.freeFromAt)}`
              : 'all day',
          t.next ? `${t.next.who} from ${say.at(t.next.fromAt)}` : '–',
        ],
      })),
    },
  }
}

/** The two smallest that hold it together. */
function pairOf<T extends { readonly usableL: number }>(
  tanks: readonly T[],
  volumeL: number,
): readonly T[] | undefined {
  let best: readonly T[] | undefined
  const sum = (pair: readonly T[]) => pair.reduce((total, t) => total + t.usableL, 0)
  tanks.forEach((a, i) => {
    for (const b of tanks.slice(i + 1)) if (sum([a, b]) >= volumeL && (!best || sum([a, b]) < sum(best))) best = [a, b]
  })
  return best
}

/** "Which tanks need cleaning today and in what order?" First needed, first washed. */
export function cleaningOn(g: AskGround, asked: { readonly on: Temporal.PlainDate }): Answer {
  const say = saying(g)
  const tasks = g.plan.tasks
    .filter(
      (t) =>
        (t.step === 'clean-tank' || t.step === 'prep-barrels') &&
        isOpen(t) &&
        say.dayOf(t.startAt) === asked.on.toString(),
    )
    .map((t) => ({ t, first: firstUse(g, t.key) }))
    .sort((a, b) => order(a.first, b.first) || byStart(a.t, b.t))
  const rows = tasks.map(({ t, first }) => {
    const vessels = t.toVessels.map(say.nameOf)
    const shown =
      vessels.length > 4 ? `${vessels.slice(0, 3).join(', ')} and ${vessels.length - 3} more` : vessels.join(', ')
    return {
      cells: [shown || 'its vessel', say.start(t), first ? say.start(first) : 'not planned', say.crew(t)],
      taskKey: t.key,
      t,
      first,
      shown,
    }
  })
  return {
    sentences: [
      rows.length === 0
        ? `No tank or barrel has to be washed on ${say.day(asked.on)}.`
        : `${count(rows.length, 'washing', 'washings')} on ${say.day(asked.on)}, in this order.`,
      ...rows.map(
        ({ t, first, shown }, i) =>
          `${i + 1}. ${shown || t.name} for ${t.lotCode} at ${say.start(t)}${
            first
              ? `: filled by ${first.name.toLowerCase()} at ${say.start(first)}${stale(minutesFrom(t.endAt, first.startAt))}`
              : ''
          }.`,
      ),
      'A sanitised tank stays so for 24 h (common practice); later it is rinsed again.',
    ],
    table: {
      head: ['Vessel', 'Wash at', 'Filled at', 'By'],
      rows: rows.map(({ cells, taskKey }) => ({ cells, taskKey })),
    },
  }
}

const stale = (min: number) => (min > DAY_MIN ? ', more than 24 h after washing: rinse again' : '')

const order = (
  a: { readonly startAt: Temporal.Instant } | undefined,
  b: { readonly startAt: Temporal.Instant } | undefined,
) => (a && b ? minutesFrom(b.startAt, a.startAt) : a ? -1 : b ? 1 : 0)

function firstUse(g: AskGround, key: string) {
  const after = new Set(g.plan.tasks.find((t) => t.key === key)?.next ?? [])
  return g.plan.tasks.filter((t) => after.has(t.key) && t.state !== 'cancelled').sort(byStart)[0]
}
