import { sulphite } from '../doses.ts'
import type { PressLoad } from '../loads.ts'
import { DAY, dayAt, HOUR, isDone, type Setting, toldMinOf, wallMin, wallNear } from '../setting.ts'
import { MUST_L_PER_T } from '../volumes.ts'
import { fives, joined, keyOf, type Part, type Wait, work } from '../work.ts'
import { storesOf } from './stores.ts'

/** Fruit on the pad, load by load. */
export interface Arrived {
  readonly part: Part
  readonly loads: readonly ArrivedLoad[]
  readonly arriveMin: number
}

export interface ArrivedLoad {
  /** Number of the press load, from 0. */
  readonly load: number
  readonly day: number
  readonly tonnes: number
  readonly receive: string
  /** What the press follows: destemmer, cold room or the pad itself. */
  readonly from: Wait
  /** Its crew works the stream on to the press. */
  readonly crewOf?: string
}

/** Days before the pick on which the block is sampled: weekly, then every three days (common practice). */
const SAMPLE_DAYS_BEFORE = [28, 21, 14, 10, 7, 3, 1] as const

/** From the first cut to the first bins or the truck on the scale. Common practice. */
const ON_PAD_AFTER_MIN = { hand: 30, machine: 150 } as const

/** Fruit this much warmer than the cold room's target is worth the night. */
const WORTH_COOLING_C = 2
const ROT_TO_SORT_PCT = 3

/** What comes in on one day: as much as the presses take before it waits too long. */
interface FruitDay {
  /** 0 for the day of the pick. */
  readonly day: number
  readonly arriveMin: number
  /** Numbers of the press loads, from 0. */
  readonly loads: readonly number[]
  readonly trucks: readonly { readonly count: number; readonly tonnes: number }[]
}

/** The last load of a day is begun this long after the first bins. Common practice. */
export const PRESS_DAY_H = 10
/** And the press is empty when the late shift goes home, at 23:00 of the day. Common practice. */
export const LAST_PRESS_ENDS_H = 23

export function fruit(s: Setting, loads: readonly PressLoad[], onSkins: boolean): Arrived {
  const arriveMin = arrivalMin(s)
  const days = fruitDays(s, loads, arriveMin, onSkins)
  const parts = days.map((day) => oneDay(s, loads, day, onSkins, days.length))
  return {
    part: joined(samples(s), bookPick(s, days.length), ...parts.map((p) => p.part)),
    arriveMin,
    loads: parts.flatMap((p) => p.loads),
  }
}

function fruitDays(s: Setting, loads: readonly PressLoad[], arriveMin: number, onSkins: boolean): readonly FruitDay[] {
  const byTruck = s.choices.pickMode === 'machine' && !onSkins
  const dayOf = onSkins ? loads.map(() => 0) : daysOfLoads(s, loads)
  return [...new Set(dayOf)]
    .sort((a, b) => a - b)
    .map((day): FruitDay => {
      const own = loads.flatMap((_, i) => (dayOf[i] === day ? [i] : []))
      const tonnes = onSkins ? s.fruit.tonnes : own.reduce((sum, i) => sum + loads[i]!.tonnes, 0)
      return {
        day,
        arriveMin: day === 0 ? arriveMin : wallNear(s, arriveMin, day, arrivalMinute(s)),
        loads: own,
        trucks: byTruck ? own.map((i) => ({ count: i + 1, tonnes: loads[i]!.tonnes })) : [{ count: day + 1, tonnes }],
      }
    })
}

/** On which day each load is pressed, 0 for the day of the pick: as many on one press as its day has hours for. */
export function daysOfLoads(s: Setting, loads: readonly PressLoad[]): readonly number[] {
  const nth = loads.map((l, i) => loads.slice(0, i).filter((o) => o.presses[0] === l.presses[0]).length)
  return loads.map((l, i) => {
    const untilLastH = LAST_PRESS_ENDS_H - arrivalMinute(s) / HOUR
    const most = Math.min(1 + Math.floor(PRESS_DAY_H / cycleH(s, l)), Math.floor(untilLastH / cycleH(s, l)))
    return Math.floor(nth[i]! / Math.max(1, most))
  })
}

/** Loading, program, emptying, rinse. */
export const cycleH = (s: Setting, l: PressLoad): number =>
  l.tonnes / s.cellar.rates.pressLoadingTPerH + l.programH + 0.5 + l.rinseH

function bookPick(s: Setting, days: number): Part {
  const c = s.choices
  const dayBefore = s.lot.pickOn.subtract({ days: 1 })
  const passes = c.pickPasses > 1 ? `, ${c.pickPasses} passes` : ''
  const over = days > 1 ? `; the presses take it in ${days} days` : ''
  return work(s, 'book-pick', {
    after: [
      sampled(s, 7)
        ? { key: keyOf(s, 'sample-block', 7), maxMin: 3 * DAY, strength: 'soft', reason: 'older samples mislead' }
        : undefined,
    ],
    bias: { nearMin: wallMin(s, dayBefore, 14 * HOUR) },
    dueMin: wallMin(s, dayBefore, 16 * HOUR),
    detail: `${c.pickMode === 'machine' ? 'machine' : 'hand'}, ${clock(c.pickHour * HOUR)}${passes}; ${s.fruit.tonnes} t${over}`,
  })
}

function oneDay(s: Setting, loads: readonly PressLoad[], d: FruitDay, onSkins: boolean, days: number) {
  const c = s.choices
  const count = d.day + 1
  const byHand = c.pickMode === 'hand'
  const cooled = isCooled(s)
  const sorted = s.fruit.rotPct >= ROT_TO_SORT_PCT && byHand
  const crushed = c.processing !== 'whole-bunch'
  const receiveOf = (load: number) => keyOf(s, 'receive', d.trucks.length > 1 ? load + 1 : d.trucks[0]!.count)
  const crushes = crushed ? (onSkins ? [0] : d.loads) : []
  const tonnes = d.trucks.reduce((sum, truck) => sum + truck.tonnes, 0)
  // Six or twelve hours, or as long as the loads before it take.
  const turnOf = (load: number) =>
    onSkins ? 0 : d.loads.filter((o) => o < load && loads[o]!.presses[0] === loads[load]!.presses[0]).length
  const waitOf = (load: number) =>
    Math.max(
      waitMost(s),
      (turnOf(load) * cycleH(s, loads[load]!) * 1.5 + tonnes / s.cellar.rates.receptionTPerH + 4) * HOUR,
    )
  const before = (load: number): Wait[] => [
    ...(cooled ? [{ key: keyOf(s, 'cool-fruit', count), maxMin: 36 * HOUR, strength: 'soft' as const }] : []),
    ...(sorted ? [{ key: keyOf(s, 'sort', count), from: 'start' as const, minMin: 15 }] : []),
    {
      key: receiveOf(load),
      from: 'start',
      minMin: 10,
      ...(cooled ? {} : { maxMin: waitOf(load) }),
      reason: 'fruit that waits warm oxidises',
    },
  ]
  const crushTonnes = (load: number) => (onSkins ? s.fruit.tonnes : loads[load]!.tonnes)
  const part = joined(
    work(s, 'prep-line', {
      count,
      after: [{ key: keyOf(s, 'book-pick') }],
      bias: { nearMin: d.arriveMin - (byHand ? 90 : 60) },
      ...(byHand ? { crew: 1, elapsedMin: 90, crewMin: 90 } : {}),
      detail: 'sanitised before the first load; the line was washed the evening before',
    }),
    receiveAll(s, d, soaking(s, loads.length) !== 'tank' && !cooled),
    work(s, 'inspect-fruit', {
      count,
      after: [{ key: receiveOf(d.loads[0] ?? 0), from: 'start', maxMin: 30, reason: 'with the load' }],
      crewOf: receiveOf(d.loads[0] ?? 0),
      detail: `sugar, pH, acid, rot; booked ${figure(s.fruit.brix)} Brix, rot ${s.fruit.rotPct} %`,
    }),
    cooled
      ? work(s, 'cool-fruit', {
          count,
          after: d.trucks.map((truck, i) => ({
            key: keyOf(s, 'receive', truck.count),
            ...(i === d.trucks.length - 1 ? { maxMin: 2 * HOUR } : {}),
          })),
          sizes: { tonnes, deltaC: Math.max(1, s.fruit.fruitTempC - c.fruitCoolToC) },
          // The room is the fruit's until it is pressed.
          without: ['cold-room'],
          detail: `${s.fruit.fruitTempC} to ${c.fruitCoolToC} C overnight`,
        })
      : undefined,
    sorted
      ? work(s, 'sort', {
          count,
          after: cooled
            ? [{ key: keyOf(s, 'cool-fruit', count) }]
            : [{ key: receiveOf(d.loads[0] ?? 0), maxMin: 12 * HOUR, strength: 'soft' }],
          sizes: { tonnes },
          detail: `rot ${s.fruit.rotPct} %`,
        })
      : undefined,
    ...crushes.map((load, k) => {
      const rateTPerH = Math.min(s.cellar.rates.receptionTPerH, destemmerTPerH(s))
      const elapsedMin = fives((crushTonnes(load) / rateTPerH + 0.25) * HOUR)
      return work(s, 'destem-crush', {
        count: load + 1,
        after: [...before(load), k > 0 ? { key: keyOf(s, 'destem-crush', crushes[k - 1]! + 1) } : undefined],
        sizes: { tonnes: crushTonnes(load) },
        elapsedMin,
        crewMin: elapsedMin,
        volumeL: crushTonnes(load) * MUST_L_PER_T,
        detail: `${figure(crushTonnes(load))} t, ${c.processing === 'destem-crush' ? 'destemmed and crushed' : 'rollers open'}`,
      })
    }),
    onSkins && c.so2CrushMgPerL > 0
      ? work(s, 'dose-so2-fruit', {
          after: [{ key: keyOf(s, 'destem-crush'), from: 'start', maxMin: HOUR }],
          volumeL: s.fruit.tonnes * MUST_L_PER_T,
          doses: [sulphite(c.so2CrushMgPerL, s.fruit.tonnes * MUST_L_PER_T)],
        })
      : undefined,
    work(s, 'clean-line', {
      count,
      after: [
        { key: receiveOf(d.loads.at(-1) ?? 0) },
        crushes.length > 0
          ? { key: keyOf(s, 'destem-crush', crushes.at(-1)! + 1), ...LINE_WAITS }
          : { key: keyOf(s, 'load-press', (d.loads.at(-1) ?? 0) + 1), ...LINE_WAITS },
      ],
      detail: days > 1 ? `after the last load of day ${count}` : 'after the last load of the day',
    }),
    {
      works: [],
      links: [],
      holds: storesOf(s, {
        count,
        tonnes,
        cooled,
        receive: receiveOf(d.loads[0] ?? 0),
        last:
          crushes.length > 0
            ? keyOf(s, 'destem-crush', crushes.at(-1)! + 1)
            : keyOf(s, 'load-press', (d.loads.at(-1) ?? 0) + 1),
      }),
    },
  )
  return {
    part,
    loads: onSkins
      ? []
      : d.loads.map((load) =>
          arrivedLoad(s, loads[load]!, load, {
            day: d.day,
            cooled,
            crushed,
            sorted,
            receive: receiveOf(load),
            waitMin: waitOf(load),
          }),
        ),
  }
}

/** Juice dried onto the line feeds vinegar flies. Practice: washed within two hours of the last load. */
const LINE_WAITS = { maxMin: 2 * HOUR, strength: 'soft' } as const

interface OnDay {
  readonly day: number
  readonly cooled: boolean
  readonly crushed: boolean
  readonly sorted: boolean
  readonly receive: string
  readonly waitMin: number
}

function arrivedLoad(s: Setting, load: PressLoad, index: number, on: OnDay): ArrivedLoad {
  const common = { load: index, day: on.day, tonnes: load.tonnes, receive: on.receive }
  if (on.crushed) {
    const crush = keyOf(s, 'destem-crush', index + 1)
    return {
      ...common,
      from: { key: crush, from: 'start', maxMin: 2 * HOUR, reason: 'streams through the must pump' },
      crewOf: crush,
    }
  }
  if (on.sorted)
    return {
      ...common,
      from: { key: keyOf(s, 'sort', on.day + 1), from: 'start', minMin: 30, maxMin: on.waitMin, strength: 'soft' },
    }
  if (on.cooled)
    return { ...common, from: { key: keyOf(s, 'cool-fruit', on.day + 1), maxMin: 36 * HOUR, strength: 'soft' } }
  return {
    ...common,
    from: { key: common.receive, from: 'start', minMin: 30, maxMin: on.waitMin, reason: 'streams bin by bin' },
  }
}

export const arrivalMin = (s: Setting): number =>
  toldMinOf(s, keyOf(s, 'receive')) ?? wallMin(s, s.lot.pickOn, arrivalMinute(s))

const arrivalMinute = (s: Setting): number => s.choices.pickHour * HOUR + ON_PAD_AFTER_MIN[s.choices.pickMode]

const isCooled = ({ choices, fruit }: Setting): boolean =>
  choices.fruitCooling === 'cold-room' && fruit.fruitTempC > choices.fruitCoolToC + WORTH_COOLING_C

/** Cooled overnight, fruit is pressed from this hour of the next day. */
const COOLED_FROM_H = 6

/** When the first load may go into a press: with the fruit, the morning after a night in the cold room, or when it has soaked. */
export function pressableFromMin(s: Setting): number {
  const arriveMin = arrivalMin(s)
  const inMin = isCooled(s) ? wallNear(s, arriveMin, 1, COOLED_FROM_H * HOUR) : arriveMin
  return s.choices.processing === 'whole-bunch' ? inMin : inMin + s.choices.skinContactH * HOUR
}

/** Machine fruit within 6 h, hand-picked fruit within 12 h (common practice; S1: crush at once). */
const waitMost = (s: Setting): number => (s.choices.pickMode === 'machine' ? 6 : 12) * HOUR

/** What waits worst goes first: machine fruit, then warm hand fruit, fruit for the cold room last (change 7 of the practice). */
const riskOf = (s: Setting): number =>
  s.choices.pickMode === 'machine' ? 8 : s.choices.fruitCooling === 'cold-room' ? 6 : 7

function samples(s: Setting): Part {
  return joined(
    ...SAMPLE_DAYS_BEFORE.map((days, i) => {
      if (!sampled(s, i + 1)) return undefined
      const on = s.lot.pickOn.subtract({ days })
      return work(s, 'sample-block', {
        count: i + 1,
        releaseMin: wallMin(s, on, 7 * HOUR),
        dueMin: wallMin(s, on, 10 * HOUR),
        bias: { nearMin: wallMin(s, on, 8 * HOUR) },
        detail: `${days} ${days === 1 ? 'day' : 'days'} before the pick; booked at ${s.fruit.brix} Brix`,
      })
    }),
  )
}

/** A sample not taken is not taken afterwards. */
function sampled(s: Setting, count: number): boolean {
  const days = SAMPLE_DAYS_BEFORE[count - 1] ?? 1
  return (
    isDone(s, keyOf(s, 'sample-block', count)) || wallMin(s, s.lot.pickOn.subtract({ days }), 10 * HOUR) >= s.nowMin
  )
}

function receiveAll(s: Setting, d: FruitDay, streams: boolean): Part {
  const byMachine = s.choices.pickMode === 'machine'
  // Broken berries are off the truck six hours from the first cut; bunches the same day, so that they are pressed by night.
  const handDueMin = Math.max(d.arriveMin + 6 * HOUR, wallMin(s, dayAt(s, d.arriveMin), 12 * HOUR))
  return joined(
    ...d.trucks.map(({ count, tonnes }, i) =>
      work(s, 'receive', {
        count,
        sizes: { tonnes },
        // Bins come one by one and the forklift loads between them; a truck is tipped by two. The destemmer's crew is counted there.
        ...(s.choices.pickMode === 'hand' ? { crew: 1, without: ['forklift'] } : {}),
        after: [
          i === 0
            ? {
                key: keyOf(s, 'prep-line', d.day + 1),
                maxMin: 4 * HOUR,
                reason: 'a dirty line seeds every lot of the day',
              }
            : undefined,
          i === 0 ? { key: keyOf(s, 'book-pick'), maxMin: (4 + d.day) * DAY, strength: 'soft' } : undefined,
          i > 0 && streams
            ? {
                key: keyOf(s, 'empty-press', d.trucks[i - 1]!.count),
                reason: 'the truck is called when the press is free',
              }
            : undefined,
          i > 0 ? { key: keyOf(s, 'receive', d.trucks[i - 1]!.count) } : undefined,
        ],
        ...(i === 0
          ? {
              releaseMin: d.arriveMin,
              dueMin: byMachine ? d.arriveMin - ON_PAD_AFTER_MIN.machine + waitMost(s) : handDueMin,
              dueStrength: 'hard' as const,
            }
          : {}),
        starts: null,
        weight: riskOf(s),
        detail: d.trucks.length > 1 ? `truck ${i + 1}, ${figure(tonnes)} t` : `${figure(tonnes)} t`,
      }),
    ),
  )
}

/** Contact no longer than this stays in the press, where one load takes the lot. Common practice. */
const IN_PRESS_MOST_H = 6

/** Where skins soak before pressing. */
export function soaking(s: Setting, loads: number): 'no' | 'press' | 'tank' {
  const { skinContactH, processing } = s.choices
  if (skinContactH <= 0 || processing === 'whole-bunch' || processing === 'on-skins') return 'no'
  return skinContactH <= IN_PRESS_MOST_H && loads === 1 ? 'press' : 'tank'
}

const destemmerTPerH = (s: Setting): number =>
  Math.max(0, ...s.machines.filter((m) => m.kind === 'destemmer' && m.capacity > 1).map((m) => m.capacity)) || Infinity

export const figure = (value: number): string => String(Math.round(value * 100) / 100)

export const clock = (minuteOfDay: number): string =>
  `${String(Math.floor(minuteOfDay / 60) % 24).padStart(2, '0')}:${String(minuteOfDay % 60).padStart(2, '0')}`
