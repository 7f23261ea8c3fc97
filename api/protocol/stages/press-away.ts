/** A press that is away gives its loads to one that is there (change 8 of the practice). */
import { type AblePress, ablePresses, type Entering, loadOn, type PressLoad, pressLoads } from '../loads.ts'
import { dayAt, HOUR, minOf, type Setting, toldMinOf, wallMin, wallNear } from '../setting.ts'
import { keyOf } from '../work.ts'
import { cycleH, daysOfLoads, LAST_PRESS_ENDS_H, PRESS_DAY_H, pressableFromMin } from './fruit.ts'

type Span = readonly [number, number]

/** Hours of one day in which the lot's fruit may be pressed. Minutes from plan start. */
interface PressDay {
  readonly fromMin: number
  readonly lastStartMin: number
  readonly untilMin: number
}

/** One more load is worth it where the last ends this much sooner: it is one more to load and to empty. Common practice. */
const WORTH_A_LOAD_MIN = 30

/** The line is seldom ready with the first bins: a day split anew that must go by the minute does not. Common practice. */
const SPARE_MIN = 90

/**
 * The lot's loads as the presses take them that are there on its day. A press gives way where it is away for so much of
 * the day that its loads cannot be done; where no other takes the fruit, the loads stay on it. What was begun stays.
 */
export function loadsThere(s: Setting, entering: Entering): readonly PressLoad[] {
  const { tonnes } = s.fruit
  const program = s.choices.pressProgram
  const usual = pressLoads(tonnes, entering, program, s.machines)
  const days = pressDays(s, usual)
  const away = awayOf(s, days)
  if (away.size === 0) return usual
  const able = ablePresses(entering, program, s.machines)
  const over = (presses: readonly AblePress[]) =>
    pressLoads(
      tonnes,
      entering,
      program,
      presses.map((p) => p.machine),
    )
  const again = days.length === 1 ? backAgain(s, usual, over, able, days[0]!, away) : undefined
  if (canBeDone(s, usual, days, away)) return again ?? usual
  const from = Math.min(...[...away].flatMap(([id, spans]) => (uses(usual, id) ? spans.map(([a]) => a) : [])))
  const fruitIsIn = (toldMinOf(s, keyOf(s, 'receive')) ?? Infinity) < from
  const there = able.filter((p) => turns(s, p, p.range[1], days, away).length > 0)
  const anew =
    (days.length === 1 ? splitIn(s, tonnes, able, withSpare(days[0]!), away) : undefined) ??
    (there.length > 0 && there.length < able.length && !fruitIsIn ? over(there) : undefined)
  if (anew && stoodSo(s, anew)) return anew
  return (days.length === 1 ? restAnew(s, usual, able, days[0]!, away, from) : undefined) ?? again ?? usual
}

const withSpare = (day: PressDay): PressDay => ({ ...day, fromMin: day.fromMin + SPARE_MIN })

const uses = (loads: readonly PressLoad[], id: string): boolean => loads.some((l) => l.presses[0] === id)

/** The days on which the presses take a lot, one after the other. */
function pressDays(s: Setting, loads: readonly PressLoad[]): readonly PressDay[] {
  const firstMin = pressableFromMin(s)
  const minuteOfDay = firstMin - wallMin(s, dayAt(s, firstMin), 0)
  return Array.from({ length: Math.max(...daysOfLoads(s, loads)) + 1 }, (_, day) => {
    const fromMin = day === 0 ? firstMin : wallNear(s, firstMin, day, minuteOfDay)
    return {
      fromMin,
      lastStartMin: fromMin + PRESS_DAY_H * HOUR,
      untilMin: wallMin(s, dayAt(s, fromMin), LAST_PRESS_ENDS_H * HOUR),
    }
  })
}

/** When presses are away on these days, by id; those that are there all the time are not named. */
function awayOf(s: Setting, days: readonly PressDay[]): ReadonlyMap<string, readonly Span[]> {
  return new Map(
    s.machines.flatMap((m) => {
      const spans = m.bookings
        .map((b): Span => [minOf(s, b.fromAt), minOf(s, b.toAt)])
        .filter(([a, b]) => days.some((d) => a < d.untilMin && b > d.fromMin))
      return m.press && spans.length > 0 ? [[m.id, spans] as const] : []
    }),
  )
}

/** Whether each press that is away for a time still has hours for its loads. */
function canBeDone(
  s: Setting,
  loads: readonly PressLoad[],
  days: readonly PressDay[],
  away: ReadonlyMap<string, readonly Span[]>,
): boolean {
  return [...away.keys()].every((id) => {
    const own = loads.filter((l) => l.presses[0] === id && l.presses.every((p) => away.has(p)))
    if (own.length === 0) return true
    const machine = s.machines.find((m) => m.id === id)!
    const press: AblePress = { machine, range: [0, own[0]!.tonnes], hours: own[0]!.programH }
    return turns(s, press, own[0]!.tonnes, days, away).length >= own.length
  })
}

/** Starts of as many loads as a press takes in these days, minutes from plan start. */
function turns(
  s: Setting,
  press: AblePress,
  tonnes: number,
  days: readonly PressDay[],
  away: ReadonlyMap<string, readonly Span[]>,
): readonly number[] {
  const load = loadOn(press, tonnes)
  const cycleMin = cycleH(s, load) * HOUR
  const busyMin = cycleMin - load.rinseH * HOUR
  const gone = [...(away.get(press.machine.id) ?? [])].sort((a, b) => a[0] - b[0])
  return days.flatMap((day) => {
    const starts: number[] = []
    let at = day.fromMin
    while (at <= day.lastStartMin && at + busyMin <= day.untilMin) {
      const inTheWay = gone.find(([a, b]) => a < at + busyMin && b > at)
      if (!inTheWay) starts.push(at)
      at = inTheWay ? inTheWay[1] : at + cycleMin
    }
    return starts
  })
}

/** Loads of equal fill over the two largest presses that are there, so that the last ends soonest; in the order of their starts. */
function splitIn(
  s: Setting,
  tonnes: number,
  able: readonly AblePress[],
  day: PressDay,
  away: ReadonlyMap<string, readonly Span[]>,
): readonly PressLoad[] | undefined {
  const [big, small] = able.filter((p) => turns(s, p, p.range[1], [day], away).length > 0)
  if (!big) return undefined
  const most = (p: AblePress | undefined) => (p ? turns(s, p, p.range[0], [day], away).length : 0)
  let best: { readonly costMin: number; readonly loads: readonly PressLoad[] } | undefined
  for (let bigs = 0; bigs <= most(big); bigs++) {
    for (let smalls = 0; smalls <= most(small); smalls++) {
      const roomT = bigs * big.range[1] + smalls * (small?.range[1] ?? 0)
      if (roomT + 1e-9 < tonnes) continue
      const placed = [
        { press: big, count: bigs },
        { press: small, count: smalls },
      ].flatMap(({ press, count }) => {
        if (!press || count === 0) return []
        const load = loadOn(press, (press.range[1] * tonnes) / roomT)
        const starts = turns(s, press, load.tonnes, [day], away)
        const busyMin = (cycleH(s, load) - load.rinseH) * HOUR
        return Array.from({ length: count }, (_, i) => ({ load, startMin: starts[i] ?? Infinity, busyMin }))
      })
      if (placed.some((p) => p.startMin === Infinity || p.load.outside)) continue
      const costMin = Math.max(...placed.map((p) => p.startMin + p.busyMin)) + WORTH_A_LOAD_MIN * placed.length
      if (best && costMin >= best.costMin) continue
      best = { costMin, loads: placed.sort((a, b) => a.startMin - b.startMin).map((p) => p.load) }
    }
  }
  return best?.loads
}

/** What was begun on others while a press was away stays as it was split then; the rest has all of them from its return on. */
function backAgain(
  s: Setting,
  usual: readonly PressLoad[],
  over: (presses: readonly AblePress[]) => readonly PressLoad[],
  able: readonly AblePress[],
  day: PressDay,
  away: ReadonlyMap<string, readonly Span[]>,
): readonly PressLoad[] | undefined {
  const there = able.filter((p) => !away.has(p.machine.id))
  const backMin = Math.max(...[...away.values()].flatMap((spans) => spans.map(([, b]) => b)))
  const begun = begunLoads(s).filter((b) => b.startMin < backMin)
  if (there.length === 0 || stoodSo(s, usual, begun)) return undefined
  const then = over(there)
  return stoodSo(s, then, begun) ? (restAnew(s, then, able, day, away, backMin) ?? then) : undefined
}

/** Whether what was begun was done so: each begun load on the press that it has here. */
function stoodSo(s: Setting, loads: readonly PressLoad[], begun = begunLoads(s)): boolean {
  return begun.every(({ index, presses }) => presses.length === 0 || uses(loads.slice(index, index + 1), presses[0]!))
}

interface Begun {
  readonly index: number
  readonly startMin: number
  /** The press that it was on, as the plan people know had it; empty where nobody knows. */
  readonly presses: readonly string[]
}

function begunLoads(s: Setting): readonly Begun[] {
  const isPress = (id: string) => s.machines.some((m) => m.id === id && m.press)
  return [...s.ticks].flatMap(([key, tick]) => {
    const [code, step, count] = key.split('/')
    const fact = tick.done ?? tick.started
    if (code !== s.lot.code || step !== 'load-press' || !fact) return []
    return [
      {
        index: Number(count) - 1,
        startMin: minOf(s, fact.startAt ?? tick.started?.startAt ?? tick.started?.at ?? fact.at),
        presses: (s.worked?.get(key) ?? []).filter(isPress),
      },
    ]
  })
}

/** What was begun before the press went away stays as it was; the rest of the fruit is split anew from that moment on. */
function restAnew(
  s: Setting,
  usual: readonly PressLoad[],
  able: readonly AblePress[],
  day: PressDay,
  away: ReadonlyMap<string, readonly Span[]>,
  fromMin: number,
): readonly PressLoad[] | undefined {
  const begun = begunLoads(s).filter((b) => b.startMin < fromMin && b.index < usual.length)
  const restT = s.fruit.tonnes - begun.reduce((sum, b) => sum + usual[b.index]!.tonnes, 0)
  if (begun.length === 0 || restT < 1e-9) return undefined
  const taken = begun.map(({ index, startMin }): readonly [string, Span] => {
    const load = usual[index]!
    return [load.presses[0] ?? '', [startMin, startMin + cycleH(s, load) * HOUR]]
  })
  const ids = new Set([...away.keys(), ...taken.map(([id]) => id)])
  const blocked = new Map(
    [...ids].map((id) => [
      id,
      [...(away.get(id) ?? []), ...taken.flatMap(([own, span]) => (own === id ? [span] : []))],
    ]),
  )
  const rest = splitIn(s, restT, able, { ...day, fromMin: Math.max(day.fromMin, fromMin) }, blocked)
  if (!rest) return undefined
  const kept = new Set(begun.map((b) => b.index))
  const left = [...rest]
  const loads: PressLoad[] = []
  for (let i = 0; left.length > 0 || kept.size > 0; i++) {
    const next = kept.delete(i) ? usual[i]! : left.shift()
    if (next) loads.push(next)
    else break
  }
  return loads
}
