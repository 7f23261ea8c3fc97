import { sulphite } from '../doses.ts'
import type { PressLoad } from '../loads.ts'
import { DAY, dayAt, HOUR, isDone, type Setting, toldMinOf, wallMin } from '../setting.ts'
import { MUST_L_PER_T } from '../volumes.ts'
import { fives, joined, keyOf, type Part, type Wait, work } from '../work.ts'

/** Fruit on the pad, load by load. */
export interface Arrived {
  readonly part: Part
  readonly loads: readonly ArrivedLoad[]
  readonly arriveMin: number
}

export interface ArrivedLoad {
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

export function fruit(s: Setting, loads: readonly PressLoad[], onSkins: boolean): Arrived {
  const c = s.choices
  const arriveMin = arrivalMin(s)
  const byHand = c.pickMode === 'hand'
  const trucks = c.pickMode === 'machine' && !onSkins ? loads.map((l) => l.tonnes) : [s.fruit.tonnes]
  const receiving = receiveAll(s, trucks, arriveMin)
  const cooled = c.fruitCooling === 'cold-room' && s.fruit.fruitTempC > c.fruitCoolToC + WORTH_COOLING_C
  const sorted = s.fruit.rotPct >= ROT_TO_SORT_PCT && c.pickMode === 'hand'
  const crushed = c.processing !== 'whole-bunch'
  const receiveOf = (i: number) => keyOf(s, 'receive', trucks.length > 1 ? i + 1 : 1)
  const crushes = crushed ? (onSkins ? [s.fruit.tonnes] : loads.map((l) => l.tonnes)) : []
  const before = (i: number): Wait[] => [
    ...(cooled ? [{ key: keyOf(s, 'cool-fruit'), maxMin: 36 * HOUR, strength: 'soft' as const }] : []),
    ...(sorted
      ? [{ key: keyOf(s, 'sort'), from: 'start' as const, minMin: 15, maxMin: DAY, strength: 'soft' as const }]
      : []),
    {
      key: receiveOf(i),
      from: 'start',
      minMin: 10,
      maxMin: cooled ? 48 * HOUR : waitMost(s),
      reason: 'fruit that waits warm oxidises',
    },
  ]
  const part = joined(
    samples(s),
    work(s, 'book-pick', {
      after: [
        sampled(s, 7)
          ? { key: keyOf(s, 'sample-block', 7), maxMin: 3 * DAY, strength: 'soft', reason: 'older samples mislead' }
          : undefined,
      ],
      bias: { nearMin: wallMin(s, s.lot.pickOn.subtract({ days: 1 }), 14 * HOUR) },
      dueMin: wallMin(s, s.lot.pickOn.subtract({ days: 1 }), 16 * HOUR),
      detail: `${c.pickMode === 'machine' ? 'machine' : 'hand'}, ${clock(c.pickHour * HOUR)}${c.pickPasses > 1 ? `, ${c.pickPasses} passes` : ''}; ${s.fruit.tonnes} t`,
    }),
    work(s, 'prep-line', {
      after: [{ key: keyOf(s, 'book-pick'), strength: 'soft' }],
      bias: { nearMin: arriveMin - (byHand ? 90 : 60) },
      ...(byHand ? { crew: 1, elapsedMin: 90, crewMin: 90 } : {}),
      detail: 'sanitised before the first load; the line was washed the evening before',
    }),
    receiving,
    work(s, 'inspect-fruit', {
      after: [{ key: keyOf(s, 'receive'), from: 'start', maxMin: 30, reason: 'with the load' }],
      crewOf: keyOf(s, 'receive'),
      detail: `sugar, pH, acid, rot; booked ${s.fruit.brix} Brix, rot ${s.fruit.rotPct} %`,
    }),
    cooled
      ? work(s, 'cool-fruit', {
          after: trucks.map((_, i) => ({ key: receiveOf(i), maxMin: 2 * HOUR })),
          sizes: { deltaC: Math.max(1, s.fruit.fruitTempC - c.fruitCoolToC) },
          detail: `${s.fruit.fruitTempC} to ${c.fruitCoolToC} C overnight`,
        })
      : undefined,
    sorted
      ? work(s, 'sort', {
          after: cooled ? [{ key: keyOf(s, 'cool-fruit') }] : [{ key: keyOf(s, 'receive'), maxMin: 12 * HOUR }],
          detail: `rot ${s.fruit.rotPct} %`,
        })
      : undefined,
    ...crushes.map((tonnes, i) => {
      const elapsedMin = fives((tonnes / Math.min(s.cellar.rates.receptionTPerH, destemmerTPerH(s)) + 0.25) * HOUR)
      return work(s, 'destem-crush', {
        count: i + 1,
        after: [...before(i), i > 0 ? { key: keyOf(s, 'destem-crush', i) } : undefined],
        sizes: { tonnes },
        elapsedMin,
        crewMin: elapsedMin,
        volumeL: tonnes * MUST_L_PER_T,
        detail: `${figure(tonnes)} t, ${c.processing === 'destem' || c.processing === 'on-skins' ? 'rollers open' : 'destemmed and crushed'}`,
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
      after: [
        { key: receiveOf(trucks.length - 1) },
        crushes.length > 0
          ? { key: keyOf(s, 'destem-crush', crushes.length), maxMin: 10 * HOUR, strength: 'soft' }
          : { key: keyOf(s, 'load-press', loads.length), strength: 'soft' },
      ],
      detail: 'after the last load of the day',
    }),
  )
  return {
    part,
    arriveMin,
    loads: loads.map((load, i) => {
      const receive = receiveOf(i)
      if (crushed && !onSkins)
        return {
          tonnes: load.tonnes,
          receive,
          from: {
            key: keyOf(s, 'destem-crush', i + 1),
            from: 'start',
            maxMin: 2 * HOUR,
            reason: 'streams through the must pump',
          },
          crewOf: keyOf(s, 'destem-crush', i + 1),
        }
      if (cooled)
        return { tonnes: load.tonnes, receive, from: { key: keyOf(s, 'cool-fruit'), maxMin: DAY, strength: 'soft' } }
      return {
        tonnes: load.tonnes,
        receive,
        from: { key: receive, from: 'start', minMin: 30, maxMin: waitMost(s), reason: 'streams bin by bin' },
      }
    }),
  }
}

export const arrivalMin = (s: Setting): number =>
  toldMinOf(s, keyOf(s, 'receive')) ??
  wallMin(s, s.lot.pickOn, s.choices.pickHour * HOUR + ON_PAD_AFTER_MIN[s.choices.pickMode])

/** Machine fruit within 6 h, hand-picked fruit within 12 h (common practice; S1: crush at once). */
const waitMost = (s: Setting): number => (s.choices.pickMode === 'machine' ? 6 : 12) * HOUR

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

function receiveAll(s: Setting, trucks: readonly number[], arriveMin: number): Part {
  const dayEndMin = wallMin(s, dayAt(s, arriveMin), 20 * HOUR)
  return joined(
    ...trucks.map((tonnes, i) =>
      work(s, 'receive', {
        count: i + 1,
        sizes: { tonnes },
        // Bins come one by one and the forklift loads between them; a truck is tipped by two. The destemmer's crew is counted there.
        ...(s.choices.pickMode === 'hand' ? { crew: 1, without: ['forklift'] } : {}),
        after: [
          i === 0
            ? { key: keyOf(s, 'prep-line'), maxMin: 4 * HOUR, reason: 'a dirty line seeds every lot of the day' }
            : undefined,
          i === 0 ? { key: keyOf(s, 'book-pick'), maxMin: 4 * DAY, strength: 'soft' } : undefined,
          i > 0
            ? { key: keyOf(s, 'empty-press', i), reason: 'the truck is called when the press is free', strength: 'soft' }
            : undefined,
          i > 0 ? { key: keyOf(s, 'receive', i) } : undefined,
        ],
        ...(i === 0
          ? {
              releaseMin: arriveMin,
              dueMin: Math.max(arriveMin + 6 * HOUR, dayEndMin - 8 * HOUR),
              dueStrength: 'hard' as const,
            }
          : {}),
        starts: null,
        detail: trucks.length > 1 ? `truck ${i + 1}, ${figure(tonnes)} t` : `${figure(tonnes)} t`,
      }),
    ),
  )
}

const destemmerTPerH = (s: Setting): number =>
  Math.max(0, ...s.machines.filter((m) => m.kind === 'destemmer' && m.capacity > 1).map((m) => m.capacity)) || Infinity

export const figure = (value: number): string => String(Math.round(value * 100) / 100)

export const clock = (minuteOfDay: number): string =>
  `${String(Math.floor(minuteOfDay / 60) % 24).padStart(2, '0')}:${String(minuteOfDay % 60).padStart(2, '0')}`
