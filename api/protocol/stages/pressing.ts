import type { Hold } from '../../schedule/types.ts'
import { perHL, sulphite } from '../doses.ts'
import type { PressLoad } from '../loads.ts'
import { type Body, chosen, holdOf, MUST_KINDS, roomFor, SETTLING_KINDS } from '../rooms.ts'
import { endMinOf, HOUR, type Setting, startMinOf } from '../setting.ts'
import { FILL, MUST_L_PER_T, SPARKLING_L_PER_T } from '../volumes.ts'
import { fives, joined, keyOf, NOTHING, type Part, startsId, type Wait, work } from '../work.ts'
import { type Arrived, type ArrivedLoad, figure, soaking } from './fruit.ts'

/** Juice in its settling vessels, and the presses that filled them. */
export interface Juice {
  readonly part: Part
  readonly bodies: readonly Body[]
  readonly presses: readonly string[]
  readonly endMin: number
}

/** One person and a forklift load this much. Common practice. */
const ONE_LOADS_T = 2.5
/** Enzyme in the pan, mL/hL: 3 for destemmed fruit that settles or floats (2-4 common practice). */
const ENZYME_ML_PER_HL = 3
const MORNING = startsId([[300, 720]], undefined, true)

export function pressing(s: Setting, loads: readonly PressLoad[], arrived: Arrived, washedTank: Wait): Juice {
  const c = s.choices
  const where = soaking(s, loads.length)
  const soaks = where !== 'no'
  const inPress = where === 'press'
  const soak = soaks ? macerate(s, arrived, inPress) : undefined
  const bodies = juiceBodies(s)
  const volumeL = bodies.reduce((sum, b) => sum + b.volumeL, 0)
  const oncePerLot = c.pickMode === 'hand' && c.processing === 'whole-bunch'
  const works = loads.map((_, i) =>
    loadAndPress(s, loads, i, arrived, { inPress, soak: soak?.after(i), washedTank, bodies }),
  )
  const doses = oncePerLot
    ? [dose(s, 1, volumeL)]
    : loads.map((l, i) => dose(s, i + 1, (volumeL * l.tonnes) / s.fruit.tonnes))
  const last = lastOfEachPress(loads)
  const presses = loads.map((_, i) => keyOf(s, 'press', i + 1))
  const part = joined(
    soak?.part,
    ...works,
    ...doses,
    c.fractions > 1
      ? work(s, 'cut-fractions', {
          after: [{ key: keyOf(s, 'press'), from: 'start', minMin: 30, maxMin: 3 * HOUR }],
          crewOf: keyOf(s, 'press'),
          detail: cutWords(s),
          to: bodies.slice(1).map((b) => b.hold),
        })
      : undefined,
    ...last.map((i, k) =>
      work(s, 'clean-press', {
        count: k + 1,
        // Within the hour is the rule; what ends at night waits for the morning.
        after: [{ key: keyOf(s, 'empty-press', i + 1), maxMin: 18 * HOUR, strength: 'soft' }],
        elapsedMin: fives(loads[i]!.washH * HOUR),
        crewMin: fives(loads[i]!.washH * HOUR),
        without: ['press', 'basket-press'],
        detail: 'full wash after the last load of the lot',
      }),
    ),
    { works: [], links: [], holds: pressHolds(s, loads, last) },
  )
  const guessEnd =
    arrived.arriveMin +
    Math.ceil(loads.length / Math.max(1, last.length)) * (loads[0]!.programH + 1.75) * HOUR +
    (soaks ? c.skinContactH * HOUR : 0)
  return {
    part,
    bodies,
    presses,
    endMin: Math.max(
      ...presses.map((key) => endMinOf(s, key, guessEnd - loads[0]!.programH * HOUR, loads[0]!.programH * HOUR)),
    ),
  }
}

interface Around {
  readonly inPress: boolean
  readonly soak?: Wait
  readonly washedTank: Wait
  readonly bodies: readonly Body[]
}

function loadAndPress(s: Setting, loads: readonly PressLoad[], i: number, arrived: Arrived, around: Around): Part {
  const load = loads[i]!
  const fruit = arrived.loads.find((l) => l.load === i)!
  const count = i + 1
  const chain = loads.slice(0, i).findLastIndex((l) => l.presses[0] === load.presses[0])
  const streams = fruit.crewOf !== undefined && (around.soak === undefined || around.inPress)
  const afterSoak = around.soak !== undefined && !around.inPress
  const cooled = s.choices.fruitCooling === 'cold-room' && fruit.from.key.includes('/cool-fruit/')
  const minutes = fives((load.tonnes / s.cellar.rates.pressLoadingTPerH) * HOUR)
  return joined(
    work(s, 'load-press', {
      count,
      after: [
        afterSoak ? around.soak : fruit.from,
        chain >= 0 ? { key: keyOf(s, 'empty-press', chain + 1), minMin: load.rinseH * HOUR } : undefined,
      ],
      sizes: { tonnes: load.tonnes },
      elapsedMin: minutes,
      // Two load a full press; one with a forklift loads a small one (common practice).
      ...(load.tonnes <= ONE_LOADS_T ? { crew: 1, crewMin: minutes } : {}),
      without: ['press', 'basket-press', ...(streams || afterSoak ? ['forklift'] : [])],
      ...(streams ? { crewOf: fruit.crewOf } : {}),
      // Must goes over by pump.
      ...(afterSoak ? { crew: 1, crewMin: minutes, skills: ['pump'] } : {}),
      starts: cooled && i === 0 ? MORNING : null,
      detail: `${figure(load.tonnes)} t${load.outside ? `; ${load.outside}` : ''}`,
    }),
    around.inPress
      ? work(s, 'macerate-cold', {
          after: [{ key: keyOf(s, 'load-press'), maxMin: HOUR }],
          crewOf: keyOf(s, 'load-press'),
          sizes: { skinContactH: s.choices.skinContactH },
          detail: `${s.choices.skinContactH} h at ${s.choices.skinContactC} C in the press`,
        })
      : undefined,
    work(s, 'press', {
      count,
      after: [
        around.inPress
          ? { key: keyOf(s, 'macerate-cold'), maxMin: HOUR, reason: 'an end time is a promise' }
          : { key: keyOf(s, 'load-press', count), maxMin: 30 },
        i === 0 ? around.washedTank : undefined,
      ],
      sizes: { pressProgramH: load.programH, tonnes: load.tonnes },
      without: ['press', 'basket-press'],
      to: around.bodies.map((b) => b.hold),
      volumeL: around.bodies.reduce((sum, b) => sum + b.volumeL, 0) * (load.tonnes / s.fruit.tonnes),
      detail: `${PROGRAM[s.choices.pressProgram]}, ${load.programH} h`,
    }),
    work(s, 'empty-press', {
      count,
      // Two hours is the rule; what ends at night waits for the morning.
      after: [{ key: keyOf(s, 'press', count), maxMin: 16 * HOUR, strength: 'soft' }],
      crew: 1,
      crewMin: 30,
      without: ['press', 'basket-press'],
      detail: 'pomace weighed',
    }),
  )
}

interface Soak {
  readonly part: Part
  readonly after: (load: number) => Wait | undefined
}

/** Skins soak cool before the press: in the press itself, or day by day in a tank that is drained into it. */
function macerate(s: Setting, arrived: Arrived, inPress: boolean): Soak {
  const days = [...new Set(arrived.loads.map((l) => l.day))]
  const own = (day: number) => arrived.loads.filter((l) => l.day === day)
  if (inPress) return { part: chillMust(s, own(0), 1), after: () => ({ key: keyOf(s, 'macerate-cold') }) }
  return {
    part: joined(...days.map((day) => soakInTank(s, own(day), day))),
    after: (load) => {
      const { day } = arrived.loads.find((l) => l.load === load)!
      const first = own(day)[0]!.load === load
      return {
        key: keyOf(s, 'macerate-cold', day + 1),
        ...(first ? { maxMin: 3 * HOUR, strength: 'soft', reason: 'an end time is a promise' } : {}),
      }
    },
  }
}

const crushOf = (l: ArrivedLoad): string => l.crewOf ?? l.receive

function chillMust(s: Setting, loads: readonly ArrivedLoad[], count: number): Part {
  const deltaC = s.fruit.fruitTempC - s.choices.skinContactC
  if (deltaC <= 3) return NOTHING
  const mustL = loads.reduce((sum, l) => sum + l.tonnes, 0) * MUST_L_PER_T
  return work(s, 'chill-must', {
    count,
    after: [{ key: crushOf(loads[0]!), from: 'start', maxMin: 2 * HOUR, strength: 'soft' }],
    sizes: { volumeL: mustL, deltaC },
    crewOf: crushOf(loads[0]!),
    volumeL: mustL,
    detail: `${s.fruit.fruitTempC} to ${s.choices.skinContactC} C`,
  })
}

function soakInTank(s: Setting, loads: readonly ArrivedLoad[], day: number): Part {
  const c = s.choices
  const count = day + 1
  const mustL = loads.reduce((sum, l) => sum + l.tonnes, 0) * MUST_L_PER_T
  const body: Body = {
    hold: `${s.lot.code}/must${day === 0 ? '' : `-${count}`}`,
    label: 'must',
    volumeL: mustL,
    room: roomFor(s, {
      stage: 'must',
      volumeL: mustL,
      fill: FILL.settle,
      kinds: MUST_KINDS,
      pins: s.lot.vesselPins.must,
    }),
    since: { task: crushOf(loads[0]!), edge: 'start' },
  }
  const soaked = keyOf(s, 'macerate-cold', count)
  return joined(
    chillMust(s, loads, count),
    work(s, 'macerate-cold', {
      count,
      after: loads.map((l, i) => ({ key: crushOf(l), ...(i === loads.length - 1 ? { maxMin: HOUR } : {}) })),
      crewOf: crushOf(loads.at(-1)!),
      sizes: { skinContactH: c.skinContactH },
      to: [body.hold],
      volumeL: mustL,
      detail: `${c.skinContactH} h at ${c.skinContactC} C, under CO2`,
    }),
    work(s, 'drain', {
      count,
      after: [{ key: soaked }, { key: keyOf(s, 'load-press', loads[0]!.load + 1), from: 'start', maxMin: HOUR }],
      // The must goes over the drain into the press.
      crewOf: keyOf(s, 'load-press', loads[0]!.load + 1),
      from: [body.hold],
      detail: 'free run to the settling tank, as the press is filled',
    }),
    {
      works: [],
      links: [],
      holds: [holdOf(s, body, { task: keyOf(s, 'load-press', loads.at(-1)!.load + 1), edge: 'end' })],
    },
  )
}

function dose(s: Setting, count: number, volumeL: number): Part {
  const c = s.choices
  const settles =
    c.clarification === 'cold-settle' || c.clarification === 'flotation' || c.clarification === 'centrifuge'
  const enzyme = settles && (c.processing !== 'whole-bunch' || c.clarification === 'flotation')
  if (c.so2CrushMgPerL <= 0 && !enzyme) return NOTHING
  return work(s, 'dose-juice', {
    count,
    after: [{ key: keyOf(s, 'press', count), from: 'start', minMin: 5, maxMin: 2 * HOUR }],
    volumeL,
    doses: [
      sulphite(c.so2CrushMgPerL, volumeL),
      enzyme ? perHL('pectolytic enzyme', ENZYME_ML_PER_HL, 'mL', volumeL) : undefined,
    ],
    detail: enzyme ? 'SO2 first, enzyme at least 15 min apart' : 'SO2 in the pan as the juice runs',
  })
}

/** Free run and press juice part ways only in sparkling base; else the hard press goes to a bin and back when it tastes clean. */
function juiceBodies(s: Setting): readonly Body[] {
  const { tonnes, yieldLPerT } = s.fruit
  const since = { task: keyOf(s, 'clean-tank', 1), edge: 'start' } as const
  const room = (volumeL: number, not: readonly string[] = []) =>
    roomFor(s, {
      stage: 'settle',
      volumeL,
      fill: FILL.settle,
      kinds: SETTLING_KINDS,
      pins: s.lot.vesselPins.settle,
      filledBy: undefined,
      not,
    })
  if (s.choices.pressProgram !== 'sparkling-fractions' || s.choices.fractions === 1) {
    const volumeL = tonnes * yieldLPerT
    return [{ hold: `${s.lot.code}/settle`, label: '', volumeL, room: room(volumeL), since }]
  }
  const share = SPARKLING_L_PER_T.taille / (SPARKLING_L_PER_T.cuvee + SPARKLING_L_PER_T.taille)
  const tailleL = tonnes * Math.min(SPARKLING_L_PER_T.taille, yieldLPerT * share)
  const cuveeL = tonnes * yieldLPerT - tailleL
  const cuvee = room(cuveeL)
  return [
    { hold: `${s.lot.code}/settle`, label: 'cuvee', volumeL: cuveeL, room: cuvee, since },
    { hold: `${s.lot.code}/settle-2`, label: 'taille', volumeL: tailleL, room: room(tailleL, chosen(cuvee)), since },
  ]
}

function cutWords(s: Setting): string {
  if (s.choices.pressProgram !== 'sparkling-fractions')
    return 'hard press apart at 600 L/t or pH +0.2, to a bin; back when it tastes clean'
  return `cuvee to ${SPARKLING_L_PER_T.cuvee} L/t, then taille ${SPARKLING_L_PER_T.taille} L/t`
}

/** A press is the lot's from the first bin until it is empty, after the last load until it is washed. */
function pressHolds(s: Setting, loads: readonly PressLoad[], last: readonly number[]): readonly Hold[] {
  return loads.map((load, i) => ({
    key: `${s.lot.code}/press-${i + 1}`,
    group: s.lot.code,
    from: { task: keyOf(s, 'load-press', i + 1), edge: 'start' },
    to: last.includes(i)
      ? { task: keyOf(s, 'clean-press', last.indexOf(i) + 1), edge: 'end' }
      : { task: keyOf(s, 'empty-press', i + 1), edge: 'end' },
    candidates: load.presses,
    count: 1,
    cleanMin: 0,
  }))
}

function lastOfEachPress(loads: readonly PressLoad[]): readonly number[] {
  return loads.flatMap((load, i) => (loads.slice(i + 1).some((l) => l.presses[0] === load.presses[0]) ? [] : [i]))
}

export const pressStartMin = (s: Setting, arriveMin: number): number => startMinOf(s, keyOf(s, 'press'), arriveMin + 75)

const PROGRAM: Readonly<Record<Setting['choices']['pressProgram'], string>> = {
  short: 'short program',
  standard: 'standard program',
  'whole-bunch-gentle': 'whole-bunch gentle',
  'sparkling-fractions': 'sparkling program',
  'long-slow': 'long and slow',
  basket: 'basket press',
}
