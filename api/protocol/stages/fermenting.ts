import type { FermentForecast } from '../../cellar/fermentation.ts'
import { sugarOfBrix } from '../../cellar/sugar.ts'
import type { VesselChoice } from '../choices.ts'
import { ammonium, nutrientSplit, perHL } from '../doses.ts'
import { litres } from '../figures.ts'
import { dryWhen, hourAt, stopWhen, type When } from '../forecast.ts'
import { rounds, TWICE } from '../repeat.ts'
import {
  type Body,
  barrelRoom,
  canStop,
  chosen,
  holdOf,
  isWood,
  KINDS_FOR,
  litresEach,
  malolacticOf,
  type Room,
  roomFor,
  SETTLING_KINDS,
} from '../rooms.ts'
import { DAY, endMinOf, HOUR, isDone, type Setting, wallNear } from '../setting.ts'
import { FILL } from '../volumes.ts'
import { joined, keyOf, NOTHING, type Part, type Wait, work } from '../work.ts'
import { outageRounds } from './outage.ts'
import { type Must, sum } from './settling.ts'

/** Wine at the end of its ferment, still where it fermented. */
export interface Fermented {
  readonly part: Part
  readonly bodies: readonly Body[]
  /** The work that says it is over. */
  readonly ended: string
  readonly ends: When
  readonly startMin: number
  /** Yeast in, or the vessel filled where none is put in. */
  readonly anchorKey: string
  readonly lastRound?: string
}

/** A part of a lot and the kind of vessel it ferments in. */
export interface Share {
  readonly vessel: VesselChoice
  readonly volumeL: number
  readonly label: string
  readonly skinFermentDays: number
}

/** Sugar left when the density falls under 1000 and under 1010 kg/m3; about, by hydrometer tables (common practice). */
export const SUGAR_AT = { density1000: 12, density1010: 32, density1005: 22 } as const

export function sharesOf(
  s: Setting,
  racked: readonly { readonly volumeL: number; readonly label: string }[],
): readonly Share[] {
  const c = s.choices
  const whole = sum(racked.map((r) => r.volumeL))
  const parts = c.vesselParts
  if (parts && racked.length === 1) {
    const total = sum(parts.map((p) => p.share))
    return parts.map((p) => ({
      vessel: p.vessel,
      volumeL: (whole * p.share) / total,
      label: p.vessel,
      skinFermentDays: p.skinFermentDays ?? c.skinFermentDays,
    }))
  }
  if (racked.length === 1 && c.vessel === 'used-barrel' && c.oak === 'new' && (c.oakNewShare ?? 0) > 0) {
    const fresh = c.oakNewShare ?? 0
    const two: readonly (readonly [VesselChoice, number])[] = [
      ['new-barrel', fresh],
      ['used-barrel', 1 - fresh],
    ]
    return two
      .filter(([, share]) => share > 0)
      .map(([vessel, share]) => ({ vessel, volumeL: whole * share, label: vessel, skinFermentDays: c.skinFermentDays }))
  }
  return racked.map((r) => ({
    vessel: c.vessel,
    volumeL: r.volumeL,
    label: r.label,
    skinFermentDays: c.skinFermentDays,
  }))
}

/** Where each share ferments; wood is filled from a tank that holds the racked juice for an hour or two. */
export function fermentBodies(s: Setting, shares: readonly Share[]): readonly Body[] {
  const taken: string[] = []
  const rows: Room[] = []
  return shares.map((share, i) => {
    const hold = `${s.lot.code}/ferment${i === 0 ? '' : `-${i + 1}`}`
    const wood = isWood(share.vessel)
    const pins = s.lot.vesselPins.ferment?.filter((id) => !taken.includes(id))
    const filledBy = wood ? keyOf(s, 'fill-barrels') : keyOf(s, 'rack-juice', s.choices.vesselParts ? 1 : i + 1)
    const room = wood
      ? barrelRoom(s, { volumeL: share.volumeL, choice: share.vessel, pins, filledBy, rows })
      : roomFor(s, {
          volumeL: share.volumeL,
          fill: FILL.ferment,
          kinds: KINDS_FOR[share.vessel],
          ...(share.vessel === 'jacketed-tank' && (pins ?? []).length === 0 ? { jacket: share.volumeL > 1200 } : {}),
          pins,
          filledBy,
          ...(s.choices.vesselParts ? { taken: [...taken] } : {}),
        })
    taken.push(...chosen(room))
    if (wood) rows.push(room)
    return {
      hold,
      label: share.label,
      volumeL: share.volumeL,
      room,
      since: wood
        ? { task: keyOf(s, 'fill-barrels'), edge: 'start' }
        : { task: keyOf(s, 'clean-tank', 2), edge: 'start' },
      ...malolacticOf(s, i),
    }
  })
}

export function fermenting(s: Setting, must: Must, bodies: readonly Body[], ferment: FermentForecast): Fermented {
  const wood = bodies.filter((b) => b.room.barrels)
  const filling = wood.length > 0 ? fillWood(s, must, wood) : undefined
  const pitching = s.choices.yeast === 'ambient' ? undefined : pitch(s, must, bodies, filling?.key)
  const anchorKey = pitching?.key ?? filling?.key ?? must.racked[0]!.key
  const guess = pitching ? pitching.guessMin : (filling?.guessMin ?? must.readyMin)
  const startMin = endMinOf(s, anchorKey, guess, HOUR)
  const ends = stops(s) ? stopWhen(s, ferment, startMin) : dryWhen(s, ferment, startMin)
  const watching = pitching ? undefined : watchStart(s, anchorKey, startMin, bodies)
  const course = followCourse(s, bodies, ferment, {
    anchorKey,
    startMin,
    firstAfter: watching?.last,
    untilMin: ends.likelyMin,
  })
  return {
    part: joined(filling?.part, pitching?.part, watching?.part, course.part),
    bodies,
    ended: keyOf(s, 'check-dry'),
    ends,
    startMin,
    anchorKey,
    lastRound: course.last ?? watching?.last ?? anchorKey,
  }
}

/** Barrels made ready, filled to 89 %, looked at for leaks. */
function fillWood(
  s: Setting,
  must: Must,
  wood: readonly Body[],
): { readonly part: Part; readonly key: string; readonly guessMin: number } {
  const barrels = sum(wood.map((b) => b.room.count))
  const fresh = sum(wood.filter((b) => b.label === 'new-barrel').map((b) => b.room.count))
  const volumeL = sum(wood.map((b) => b.volumeL))
  const guessMin = must.readyMin + 30
  const key = keyOf(s, 'fill-barrels')
  const sizes = { barrels, newBarrels: fresh, vessels: barrels }
  const inBarrelsL = sum(wood.map((b) => b.room.count * litresEach(b.volumeL, b.room)))
  const fillPct = Math.round((100 * inBarrelsL) / sum(wood.map((b) => b.room.count * b.room.eachL)))
  const kegs = volumeL - inBarrelsL >= 1 ? `, ${litres(volumeL - inBarrelsL)} to kegs` : ''
  const part = joined(
    work(s, 'prep-barrels', {
      sizes,
      to: wood.map((b) => b.hold),
      bias: { nearMin: wallNear(s, guessMin, -1, 13.5 * HOUR) },
      detail: `${barrels} barrels${fresh > 0 ? `, ${fresh} new: soak overnight` : ''}`,
    }),
    work(s, 'fill-barrels', {
      after: [
        ...must.racked.map((r): Wait => ({ key: r.key, maxMin: fillWithinMin(must) })),
        { key: keyOf(s, 'prep-barrels'), maxMin: 24 * HOUR },
        s.choices.yeast === 'ambient' ? undefined : { key: keyOf(s, 'inoculate'), maxMin: 48 * HOUR, strength: 'soft' },
      ],
      sizes,
      volumeL,
      from: [`${s.lot.code}/juice`],
      to: wood.map((b) => b.hold),
      detail: `${rowsOf(wood).join(', ')} = ${litres(inBarrelsL)}, ${fillPct} % full${kegs}`,
    }),
    ...[1, 24, 72].map((hours, i) =>
      work(s, 'check-leaks', {
        count: i + 1,
        after: [
          {
            key,
            minMin: hours * HOUR - (i === 0 ? 0 : 4 * HOUR),
            maxMin: (hours + 14) * HOUR,
            strength: i === 0 ? 'hard' : 'soft',
          },
        ],
        sizes,
        detail: `${hours} h after filling`,
      }),
    ),
  )
  return { part, key, guessMin }
}

/** Within a day of racking; later only where a large, cold juice takes longer to warm before its yeast. */
const fillWithinMin = (must: Must): number =>
  Math.max(
    24 * HOUR,
    ...must.ready.filter((w) => w.key.includes('/rack-juice/')).map((w) => (w.maxMin ?? 0) + 6 * HOUR),
  )

/** `5 x 203 L, 11 x 203 L`: new ones and used ones, whether or not some are emptied later. */
function rowsOf(wood: readonly Body[]): readonly string[] {
  return [...new Set(wood.map((b) => b.label))].map((label) => {
    const row = wood.filter((b) => b.label === label)
    return `${sum(row.map((b) => b.room.count))} x ${Math.round(litresEach(row[0]!.volumeL, row[0]!.room))} L`
  })
}

/** The tank that holds the racked juice until barrels are full. */
export function juiceTank(s: Setting, wood: readonly Body[], settledIn: readonly Body[]): Body {
  const volumeL = sum(wood.map((b) => b.volumeL))
  return {
    hold: `${s.lot.code}/juice`,
    label: 'juice',
    volumeL,
    room: roomFor(s, {
      volumeL,
      fill: FILL.settle,
      kinds: SETTLING_KINDS,
      pins: s.lot.vesselPins.juice,
      not: settledIn.flatMap((b) => chosen(b.room)),
    }),
    since: { task: keyOf(s, 'clean-tank', 2), edge: 'start' },
  }
}

export const closeJuiceTank = (s: Setting, tank: Body) =>
  holdOf(s, tank, { task: keyOf(s, 'fill-barrels'), edge: 'end' })

/** Juice that began by itself gets its yeast within hours: change 11 of the practice; eight, common practice. */
const YEAST_WITHIN_H = 8

/** Yeast for wine that lies in wood and was to start by itself. */
const LATE_PITCH = 9

function pitch(
  s: Setting,
  must: Must,
  bodies: readonly Body[],
  filled: string | undefined,
): { readonly part: Part; readonly key: string; readonly guessMin: number } {
  const c = s.choices
  const volumeL = sum(bodies.map((b) => b.volumeL))
  const hurry = must.startedMin
  const guessMin = hurry === undefined ? wallNear(s, must.readyMin, 0, 18 * HOUR) : must.readyMin
  const starter = c.yeast === 'vineyard-starter'
  const key = keyOf(s, 'inoculate')
  const first = c.yeast === 'non-saccharomyces' ? 'dry non-Saccharomyces yeast' : 'active dry yeast'
  const setC = c.fermentTempC
  const part = joined(
    starter
      ? work(s, 'starter', {
          bias: { nearMin: wallNear(s, guessMin, -6, 8 * HOUR) },
          releaseMin: wallNear(s, guessMin, -8, 6 * HOUR),
          volumeL: volumeL * 0.02,
          detail: `${litres(volumeL * 0.02)} of clean fruit, fed daily`,
        })
      : undefined,
    work(s, 'inoculate', {
      after: [...must.ready, starter ? { key: keyOf(s, 'starter'), maxMin: 6 * DAY, strength: 'soft' } : undefined],
      sizes: { vessels: sum(bodies.filter((b) => !b.room.barrels).map((b) => b.room.count)) || 1 },
      volumeL,
      // Juice for wood is pitched in the tank that holds it.
      to: [...bodies.map((b) => b.hold), ...(filled ? [`${s.lot.code}/juice`] : [])],
      doses: [
        starter
          ? undefined
          : perHL(first, c.yeastGPerHL, 'g', volumeL, {
              kind: 'source',
              refs: ['S29', 'S30'],
              note: '20-25 g/hL, to 50 in hard juice',
            }),
      ],
      detail: `${starter ? 'starter stirred in' : `water at 37-40 C; set point ${setC + (setC < 15 ? 2 : 0)} C`}${
        hurry === undefined ? '' : `; it began by itself: yeast within ${YEAST_WITHIN_H} h`
      }`,
      ...(hurry === undefined ? {} : { starts: null, dueMin: hurry + YEAST_WITHIN_H * HOUR }),
    }),
    filled && c.yeast !== 'ambient' && isDone(s, filled) && !isDone(s, key) && isDone(s, keyOf(s, 'watch-start'))
      ? work(s, 'inoculate', {
          count: LATE_PITCH,
          sizes: { vessels: sum(bodies.map((b) => b.room.count)) || 1 },
          volumeL,
          to: bodies.map((b) => b.hold),
          releaseMin: s.nowMin,
          dueMin: s.nowMin + DAY,
          doses: [
            perHL(first, c.yeastGPerHL, 'g', volumeL, {
              kind: 'source',
              refs: ['S29', 'S30'],
              note: '20-25 g/hL, to 50 in hard juice',
            }),
          ],
          detail: 'it did not start by itself: pitched in the wood',
        })
      : undefined,
    c.yeast === 'non-saccharomyces'
      ? work(s, 'inoculate', {
          count: 2,
          after: [
            { key, minMin: 40 * HOUR, maxMin: 84 * HOUR, strength: 'soft', reason: 'after 2-3 Brix or 48 to 72 h' },
          ],
          volumeL,
          to: bodies.map((b) => b.hold),
          doses: [perHL('active dry yeast', c.yeastGPerHL, 'g', volumeL)],
          detail: 'selected yeast after the first',
        })
      : undefined,
  )
  return { part, key: filled && s.choices.yeast === 'ambient' ? filled : key, guessMin }
}

/** Wild yeast is watched twice a day; at 96 h without a drop the winemaker decides. */
export function watchStart(
  s: Setting,
  anchorKey: string,
  startMin: number,
  bodies: readonly Body[],
): { readonly part: Part; readonly last?: string } {
  return rounds(s, {
    step: 'watch-start',
    anchor: { key: anchorKey, endMin: startMin },
    slots: TWICE,
    wants: () => true,
    untilMin: startMin + 72 * HOUR,
    options: () => ({
      elapsedMin: 15,
      sizes: { vessels: Math.min(5, sum(bodies.map((b) => b.room.count))) },
      from: bodies.map((b) => b.hold),
      detail: 'no drop of 2 kg/m3 by 96 h: warm, starter or pitch',
    }),
  })
}

interface Course {
  readonly anchorKey: string
  readonly startMin: number
  readonly firstAfter?: string
  readonly untilMin: number
}

/** Rounds, food, set points and the warm end, along the forecast. */
export function followCourse(
  s: Setting,
  bodies: readonly Body[],
  ferment: FermentForecast,
  course: Course,
): { readonly part: Part; readonly last?: string } {
  const c = s.choices
  const at = (sugarGPerL: number) => course.startMin + (hourAt(ferment, sugarGPerL) ?? 20 * 24) * HOUR
  const ambient = course.firstAfter !== undefined
  const density = rounds(s, {
    step: 'check-ferment',
    anchor: { key: course.anchorKey, endMin: course.startMin, minMin: ambient ? 0 : 8 * HOUR },
    after: course.firstAfter,
    slots: TWICE,
    wants: (atMin, slotIndex) =>
      atMin >= (ambient ? course.startMin + 72 * HOUR : 0) &&
      (slotIndex === 0 || (atMin >= course.startMin + DAY && atMin <= at(SUGAR_AT.density1000))),
    untilMin: course.untilMin,
    options: () => ({
      sizes: { vessels: sampled(bodies) },
      from: bodies.map((b) => b.hold),
      detail: bodies.some((b) => b.room.barrels) ? 'one barrel in five, all on Mondays' : '',
    }),
  })
  const tank = bodies.find((b) => !b.room.barrels && b.room.jacket)
  const start = sugarOfBrix(Math.min(44, Math.max(8, s.fruit.brix)))
  return {
    last: density.last,
    part: joined(
      density.part,
      outageRounds(s, bodies, course.anchorKey, course.untilMin),
      feeding(s, bodies, course, at((start * 2) / 3)),
      tank && c.fermentTempC <= 18
        ? work(s, 'set-cooling', {
            after: [{ key: course.anchorKey, minMin: 8 * HOUR }],
            volumeL: tank.volumeL,
            sizes: { sugarGPerLPerDay: Math.max(5, ...ferment.sugarFallPerDay.slice(0, 10)) },
            from: [tank.hold],
            bias: { nearMin: wallNear(s, course.startMin, 2, 8 * HOUR) },
            detail: `to ${c.fermentTempC} C once it moves`,
          })
        : undefined,
      tank && c.endPoint !== 'stop' && (c.fermentEndTempC ?? 0) > c.fermentTempC
        ? work(s, 'end-warm', {
            after: density.last ? [{ key: course.anchorKey, minMin: 2 * DAY }] : [],
            from: [tank.hold],
            bias: { nearMin: wallNear(s, Math.max(s.nowMin, at(SUGAR_AT.density1005)), 0, 17 * HOUR) },
            forecast: true,
            detail: `density under 1005: set point ${c.fermentEndTempC} C`,
          })
        : undefined,
    ),
  }
}

/** One barrel in five stands for its row; every tank is read. */
const sampled = (bodies: readonly Body[]): number =>
  sum(bodies.map((b) => (b.room.barrels ? Math.ceil(b.room.count / 5) : b.room.count)))

function feeding(s: Setting, bodies: readonly Body[], course: Course, thirdMin: number): Part {
  const c = s.choices
  const [first, second] = nutrientSplit(s.fruit.yanMgPerL, c.nutrientTargetMgPerL)
  if (c.nutrientTargetMgPerL <= 0 || (first === 0 && (c.yeast === 'ambient' || isDone(s, keyOf(s, 'feed-2')))))
    return NOTHING
  const volumeL = sum(bodies.map((b) => b.volumeL))
  const from = bodies.map((b) => b.hold)
  const skip = `none needed: ${s.fruit.yanMgPerL} mg/L is above the wanted ${c.nutrientTargetMgPerL}; skip with this reason`
  return joined(
    work(s, 'feed-1', {
      after: [
        { key: course.anchorKey, minMin: 18 * HOUR, maxMin: (course.firstAfter ? 150 : 64) * HOUR, strength: 'soft' },
      ],
      volumeL,
      from,
      doses: [ammonium(first, volumeL)],
      bias: { nearMin: wallNear(s, course.startMin + (course.firstAfter ? 84 : 36) * HOUR, 0, 9 * HOUR) },
      detail: first > 0 ? `${first} mg/L N, when 2-3 Brix are gone` : skip,
    }),
    second > 0
      ? work(s, 'feed-2', {
          after: [{ key: keyOf(s, 'feed-1'), minMin: 12 * HOUR, maxMin: 6 * DAY, strength: 'soft' }],
          volumeL,
          from,
          doses: [ammonium(second, volumeL)],
          bias: { nearMin: wallNear(s, thirdMin, 0, 9 * HOUR) },
          detail: `${second} mg/L N and air, at one third of the sugar; past half it does no good`,
        })
      : undefined,
  )
}

/** Dryness is declared by the lab when the readings are flat. */
export function checkDry(s: Setting, f: Fermented): Part {
  const spread = f.ends.known
    ? undefined
    : { earlierMin: f.ends.likelyMin - f.ends.earliestMin, laterMin: f.ends.latestMin - f.ends.likelyMin }
  return work(s, 'check-dry', {
    after: [
      f.lastRound
        ? { key: f.lastRound, maxMin: 4 * DAY, strength: 'soft', reason: 'after the flat readings' }
        : undefined,
    ],
    releaseMin: isDone(s, keyOf(s, 'check-dry')) ? undefined : f.ends.likelyMin,
    from: f.bodies.map((b) => b.hold),
    forecast: !f.ends.known,
    spread,
    detail:
      s.choices.endPoint === 'by-itself'
        ? 'has it stopped by itself: sugar, density, VA'
        : 'glucose and fructose under 4 g/L, density flat two days',
  })
}

export const stops = (s: Setting): boolean => s.choices.endPoint === 'stop'
export const needsMoveToStop = (bodies: readonly Body[], shares: readonly Share[]): boolean =>
  bodies.some((b) => !b.room.jacket) || shares.some((x) => !canStop(x.vessel))
