import { firstSo2MgPerL, freeSo2For, perL, sulphite } from '../doses.ts'
import { litres } from '../figures.ts'
import { series } from '../repeat.ts'
import { type Body, chosen, holdOf, isCask, roomFor, STORING_KINDS } from '../rooms.ts'
import {
  DAY,
  dayAt,
  endMinOf,
  HOUR,
  latest,
  type Setting,
  startMinOf,
  volumeAfter,
  wallMin,
  wallNear,
  weekdayFrom,
} from '../setting.ts'
import { FILL, LOSS } from '../volumes.ts'
import { joined, keyOf, NOTHING, type Part, startsId, type Wait, work } from '../work.ts'
import { cleaned, cleanTanks } from './cleaning.ts'
import type { FinishDates } from './finish-dates.ts'
import type { Malolactic } from './malolactic.ts'
import { sum } from './settling.ts'

/** The wine at rest between ferment and finish. */
export interface Aged {
  readonly part: Part
  readonly bodies: readonly Body[]
  /** The finish waits for these. */
  readonly ready: readonly string[]
  readonly holds: readonly string[]
}

export interface Rest {
  readonly bodies: readonly Body[]
  /** Dry, stopped or pressed off its skins. */
  readonly endedKey: string
  readonly endedMin: number
  readonly kind: 'dry' | 'stopped' | 'pressed'
  readonly dates: FinishDates
  readonly malolactic: Malolactic
  /** Already racked off its gross lees on the way here. */
  readonly clean: boolean
}

export function ageing(s: Setting, rest: Rest): Aged {
  const tanks = rest.bodies.filter((b) => !b.room.barrels)
  const wood = rest.bodies.filter((b) => b.room.barrels)
  const endedMin = endMinOf(s, rest.endedKey, rest.endedMin, HOUR)
  const finishMin = wallMin(s, rest.dates.mergeOn, 8 * HOUR)
  const racks = tanks.length > 0 && !rest.clean && racksGross(s)
  const racked = racks ? rackGross(s, tanks, rest, endedMin) : undefined
  const bodies = [...(racked?.bodies ?? tanks), ...wood]
  // A part that refuses what the others wait for is sulphited when it is dry.
  const refusing = rest.malolactic.done ? bodies.filter((b) => b.malolactic === false) : []
  const so2 = firstSo2(
    s,
    rest,
    bodies.filter((b) => !refusing.includes(b)),
    racked?.key,
    endedMin,
  )
  const early = refusing.length > 0 ? refused(s, rest, refusing, racked?.key, endedMin) : undefined
  const holds = bodies.map((b) => b.hold)
  const settledKey = racked?.key ?? (rest.kind === 'dry' && tanks.length > 0 ? keyOf(s, 'top-tank') : rest.endedKey)
  const endMin = wallMin(s, tanksLeaveOn(rest.dates), 8 * HOUR)
  const part = joined(
    tanks.length > 0 && rest.kind === 'dry' ? topTank(s, tanks, rest) : undefined,
    tanks.some((b) => b.room.jacket) && rest.kind === 'dry' && !rest.malolactic.done
      ? work(s, 'set-cooling', {
          count: 2,
          after: [{ key: rest.endedKey, maxMin: 3 * DAY, strength: 'soft' }],
          volumeL: sum(tanks.map((b) => b.volumeL)),
          sizes: { sugarGPerLPerDay: 1 },
          from: tanks.map((b) => b.hold),
          detail: `to ${s.choices.maturationC} C`,
        })
      : undefined,
    racked?.part,
    so2.part,
    early?.part,
    s.choices.malolactic === 'refuse' || rest.kind === 'stopped'
      ? blockMalolactic(s, rest, so2.key, holds, endedMin, endMin)
      : undefined,
    oakPieces(s, rest, bodies, endedMin),
    tanksOf(s, bodies).length > 0
      ? series(s, {
          step: 'check-ullage',
          after: [{ key: settledKey, minMin: DAY, maxMin: 9 * DAY, strength: 'soft' }],
          firstMin: wallMin(s, weekdayFrom(dayAt(s, endedMin).add({ days: 3 }), 1), 8 * HOUR),
          untilMin: endMin,
          everyDays: () => 7,
          lateDays: 3,
          options: () => ({ from: tanksOf(s, bodies).map((b) => b.hold), starts: MONDAYS }),
        })
      : undefined,
    checkSo2(
      s,
      so2,
      early ? bodies.filter((b) => !refusing.includes(b)).map((b) => b.hold) : holds,
      endedMin,
      rest.dates,
    ),
    inWood(s, rest, [...wood, ...bodies.filter((b) => isCask(s, b))], endedMin, finishMin),
    tastings(s, rest, bodies, endedMin, finishMin),
  )
  return {
    part: joined(part, { works: [], links: [], holds: racked?.closed ?? [] }),
    bodies,
    ready: [
      settledKey,
      ...(so2.key ? [so2.key] : []),
      ...(early?.key ? [early.key] : []),
      ...(rest.malolactic.done ? [rest.malolactic.done] : []),
      // Bentonite would settle on the wood, and the wine is about to leave it.
      ...(s.choices.oak === 'pieces' ? [keyOf(s, 'oak-out')] : []),
    ],
    holds,
  }
}

const MONDAYS = startsId([[360, 720]], [1], true)
const FRIDAYS = startsId([[600, 720]], [5], false)
const WORKDAY = startsId([[420, 1020]], undefined, false)

/** Tank wine rests until it is racked off its fining. */
const tanksLeaveOn = (dates: FinishDates) => dates.rackFiningOn

const racksGross = (s: Setting): boolean =>
  s.choices.grossLees === 'within-3-days' || s.choices.grossLees === 'within-10-days'

const tanksOf = (s: Setting, bodies: readonly Body[]): readonly Body[] =>
  bodies.filter((b) => !b.room.barrels && !isCask(s, b))

function topTank(s: Setting, tanks: readonly Body[], rest: Rest): Part {
  return work(s, 'top-tank', {
    after: [{ key: rest.endedKey, maxMin: 3 * DAY, strength: 'soft', reason: 'headspace over dry wine' }],
    volumeL: sum(tanks.map((b) => b.volumeL)),
    from: tanks.map((b) => b.hold),
    detail: 'filled, or the headspace under N2',
  })
}

function rackGross(s: Setting, all: readonly Body[], rest: Rest, endedMin: number) {
  const key = keyOf(s, 'rack-gross')
  const wantedPins = s.lot.vesselPins.store ?? []
  // A part whose vessel is wanted for store as well stays in it, unless that is all of the lot.
  const keeps = (b: Body) => chosen(b.room).length > 0 && chosen(b.room).every((id) => wantedPins.includes(id))
  const staying = all.every(keeps) ? [] : all.filter(keeps)
  const tanks = all.filter((b) => !staying.includes(b))
  const fromPins = all.flatMap((b) => chosen(b.room))
  const pins = wantedPins.every((id) => fromPins.includes(id)) ? undefined : wantedPins
  const fromL = sum(tanks.map((b) => b.volumeL))
  const taken: string[] = staying.flatMap((b) => chosen(b.room))
  const racked = tanks.map((b, i): Body => {
    const volumeL = (volumeAfter(s, key, fromL * (1 - LOSS.gross)) * b.volumeL) / fromL
    const room = roomFor(s, {
      volumeL,
      fill: FILL.store,
      kinds: STORING_KINDS,
      pins: pins?.filter((id) => !taken.includes(id)),
      ...(i === 0 ? { filledBy: key } : {}),
      not: fromPins,
    })
    taken.push(...chosen(room))
    return {
      hold: `${s.lot.code}/store${i === 0 ? '' : `-${i + 1}`}`,
      label: b.label,
      volumeL,
      room,
      since: { task: keyOf(s, 'clean-tank', 3), edge: 'start' },
      ...(b.malolactic === undefined ? {} : { malolactic: b.malolactic }),
    }
  })
  const bodies = [...racked, ...staying]
  const soon = s.choices.grossLees === 'within-3-days'
  const guess = endedMin + (soon ? 2 : 4) * DAY
  const movedL = sum(racked.map((b) => b.volumeL))
  const part = joined(
    cleanTanks(s, 'lees', racked, wallNear(s, guess, 0, 8 * HOUR)),
    work(s, 'rack-gross', {
      after: [
        {
          key: rest.endedKey,
          minMin: DAY,
          maxMin: (soon ? 5 : 10) * DAY,
          reason: soon
            ? 'heavy lees drop in a day; aromatic wine leaves them within five'
            : 'gross lees within ten days',
        },
        cleaned(s, 'lees'),
        { key: keyOf(s, 'top-tank'), strength: 'soft' },
      ],
      volumeL: fromL,
      from: tanks.map((b) => b.hold),
      to: racked.map((b) => b.hold),
      forecast: true,
      ...(soon ? {} : { bias: { nearMin: wallNear(s, guess, 0, 8 * HOUR) } }),
      detail: `${litres(movedL)}, ${litres(fromL - movedL)} lees`,
    }),
  )
  return { part, key, bodies, closed: tanks.map((b) => holdOf(s, b, { task: key, edge: 'end' })) }
}

interface First {
  readonly part: Part
  readonly key?: string
  readonly atMin: number
}

/** Hangs on dry where malolactic is refused, on malic gone where it is wanted, on the press where skins had it. */
function firstSo2(
  s: Setting,
  rest: Rest,
  bodies: readonly Body[],
  rackKey: string | undefined,
  endedMin: number,
  malolactic: Malolactic = rest.malolactic,
): First {
  const c = s.choices
  if (rest.kind === 'stopped') return { part: NOTHING, key: keyOf(s, 'stop-so2'), atMin: endedMin }
  if (c.firstSo2 === 'never') return { part: NOTHING, atMin: endedMin }
  const count = malolactic.done === undefined && rest.malolactic.done !== undefined ? 2 : 1
  const key = keyOf(s, 'post-so2', count)
  const volumeL = sum(bodies.map((b) => b.volumeL))
  const wood = bodies.filter((b) => b.room.barrels)
  const barrels = sum(wood.map((b) => b.room.count))
  const pH = latest(s, 'pH')?.value ?? s.fruit.pH
  const mgPerL = firstSo2MgPerL(c.molecularSo2MgPerL, pH)
  const dose = sulphite(
    mgPerL,
    volumeL,
    barrels > 0
      ? `${((mgPerL * sum(wood.map((b) => b.volumeL))) / 570 / barrels).toFixed(1)} g a barrel`
      : `target free ${Math.round(freeSo2For(c.molecularSo2MgPerL, pH))} mg/L`,
  )
  const dryWait: Wait = {
    key: rest.endedKey,
    minMin: c.firstSo2 === 'at-once' ? 0 : DAY,
    maxMin: (rackKey ? 11 : 5) * DAY,
    strength: 'soft',
  }
  const after: Wait[] = malolactic.done
    ? [
        {
          key: malolactic.done,
          maxMin: 3 * DAY,
          strength: rest.kind === 'pressed' ? 'soft' : 'hard',
          reason: 'naked when malic is gone',
        },
        { key: rest.endedKey },
      ]
    : [rest.kind === 'pressed' ? { key: rest.endedKey, maxMin: 5 * DAY, strength: 'soft' } : dryWait]
  const goneMin = malolactic.gone?.likelyMin ?? endedMin
  const part = work(s, 'post-so2', {
    count,
    after: [
      ...after,
      rackKey
        ? {
            key: rackKey,
            ...(malolactic.done ? {} : { maxMin: DAY }),
            strength: 'soft',
            reason: 'same visit as the racking',
          }
        : undefined,
    ],
    volumeL,
    sizes: { barrels },
    from: bodies.map((b) => b.hold),
    doses: [dose],
    forecast: true,
    detail: `${mgPerL} mg/L; pK 1.81, pH ${pH}`,
  })
  return { part, key, atMin: startMinOf(s, key, Math.max(goneMin, endedMin) + 2 * DAY) }
}

/** SO2 after dry, and the watch on malic, for the part that keeps it. */
function refused(
  s: Setting,
  rest: Rest,
  bodies: readonly Body[],
  rackKey: string | undefined,
  endedMin: number,
): First {
  const so2 = firstSo2(s, rest, bodies, rackKey, endedMin, { part: NOTHING })
  const holds = bodies.map((b) => b.hold)
  const untilMin = wallMin(s, rest.dates.mergeOn, 8 * HOUR)
  return {
    ...so2,
    part: joined(
      so2.part,
      blockMalolactic(s, rest, so2.key, holds, endedMin, untilMin, REFUSED_FROM),
      checkSo2(s, so2, holds, endedMin, rest.dates, REFUSED_FROM),
    ),
  }
}

/** Repeats of the part that refuses are counted from here, apart from those of the rest. */
const REFUSED_FROM = 101

function blockMalolactic(
  s: Setting,
  rest: Rest,
  so2Key: string | undefined,
  holds: readonly string[],
  endedMin: number,
  untilMin: number,
  from = 1,
): Part {
  const key = keyOf(s, 'mlf-block')
  const first: Wait = { key, minMin: 6 * DAY, maxMin: 16 * DAY, strength: 'soft' }
  return joined(
    work(s, 'mlf-block', {
      after: [
        { key: rest.endedKey, maxMin: 11 * DAY, strength: 'soft' },
        so2Key && so2Key !== rest.endedKey ? { key: so2Key, maxMin: DAY, strength: 'soft' } : undefined,
      ],
      from: holds,
      forecast: true,
      // The same visit as the first SO2, morning or not.
      starts: WORKDAY,
      detail: `${s.choices.maturationC} C, ${s.choices.molecularSo2MgPerL} mg/L molecular`,
    }),
    series(s, {
      step: 'mlf-check',
      from,
      after: [first],
      firstMin: endedMin + 12 * DAY,
      untilMin,
      everyDays: () => 28,
      lateDays: 7,
      options: () => ({ from: holds, detail: 'watch on malic that was refused' }),
    }),
  )
}

function checkSo2(
  s: Setting,
  so2: First,
  holds: readonly string[],
  endedMin: number,
  dates: FinishDates,
  from = 1,
): Part {
  if (!so2.key) return NOTHING
  return series(s, {
    step: 'check-so2',
    from,
    after: [{ key: so2.key, minMin: 6 * DAY, maxMin: 14 * DAY, strength: 'soft' }],
    firstMin: Math.max(so2.atMin, endedMin) + 7 * DAY,
    untilMin: wallMin(s, dates.panelOn, 0),
    everyDays: () => 28,
    lateDays: 14,
    options: () => ({ from: holds, detail: 'free and total; under the target by 5 mg/L: adjust' }),
  })
}

/** Topping, stirring and VA of wine in wood. */
function inWood(s: Setting, rest: Rest, wood: readonly Body[], endedMin: number, outMin: number): Part {
  if (wood.length === 0) return stirTank(s, rest, endedMin, outMin)
  const c = s.choices
  const barrels = sum(wood.map((b) => b.room.count))
  const casks = wood.filter((b) => !b.room.barrels).length
  const named = [
    ...(barrels > casks ? [`${barrels - casks} barrels`] : []),
    ...(casks > 0 ? [casks > 1 ? `${casks} casks` : 'the cask'] : []),
  ].join(' and ')
  const holds = wood.map((b) => b.hold)
  const startMin = endedMin
  const stirred = stirEvery(s)
  const stopMin = outMin - 28 * DAY
  return joined(
    series(s, {
      step: 'top-barrels',
      after: [
        { key: rest.endedKey, minMin: 0, maxMin: rest.kind === 'pressed' ? 14 * DAY : 3 * DAY, strength: 'soft' },
      ],
      firstMin: startMin + DAY,
      untilMin: outMin - 3 * DAY,
      everyDays: (i) => (i < 4 ? 7 : 21),
      lateDays: 7,
      options: () => ({ sizes: { barrels }, from: holds, detail: `${named}; source written down` }),
    }),
    stirred
      ? series(s, {
          step: 'stir-lees',
          after: [{ key: rest.endedKey, minMin: 6 * DAY, maxMin: 10 * DAY, strength: 'soft' }],
          firstMin: startMin + 7 * DAY,
          untilMin: stopMin,
          everyDays: stirred,
          lateDays: 7,
          options: () => ({
            sizes: { barrels },
            from: holds,
            detail:
              c.stirring === 'by-taste'
                ? 'by taste; before topping'
                : 'before topping; stops four weeks before racking out',
          }),
        })
      : undefined,
    series(s, {
      step: 'check-va',
      after: [{ key: rest.endedKey, minMin: 14 * DAY, maxMin: 42 * DAY, strength: 'soft' }],
      firstMin: startMin + 28 * DAY,
      untilMin: outMin,
      everyDays: () => 28,
      lateDays: 14,
      options: () => ({ from: holds, detail: 'composite of the row' }),
    }),
  )
}

function stirEvery(s: Setting): ((i: number) => number) | undefined {
  const { stirring, stirringWeeklyFor } = s.choices
  if (stirring === 'none') return undefined
  if (stirring === 'weekly') return (i) => (i < stirringWeeklyFor ? 7 : 14)
  if (stirring === 'two-weekly') return () => 14
  return () => (stirring === 'monthly' ? 28 : 21)
}

/** In a tank the lees are pumped or mixed; a rod does not reach. */
function stirTank(s: Setting, rest: Rest, endedMin: number, outMin: number): Part {
  const every = stirEvery(s)
  if (!every) return NOTHING
  return series(s, {
    step: 'stir-lees',
    after: [{ key: rest.endedKey, minMin: 6 * DAY, maxMin: 24 * DAY, strength: 'soft' }],
    firstMin: endedMin + 14 * DAY,
    untilMin: outMin - 28 * DAY,
    everyDays: every,
    lateDays: 7,
    options: () => ({
      sizes: { barrels: 12 },
      from: rest.bodies.map((b) => b.hold),
      detail: 'by pump or mixer, under gas',
    }),
  })
}

function tastings(s: Setting, rest: Rest, bodies: readonly Body[], endedMin: number, untilMin: number): Part {
  if (s.choices.fineLeesMonths < 3) return NOTHING
  return series(s, {
    step: 'taste-all',
    after: [{ key: rest.endedKey, minMin: 20 * DAY, strength: 'soft' }],
    firstMin: endedMin + 45 * DAY,
    untilMin: untilMin - 10 * DAY,
    everyDays: () => 28,
    lateDays: 14,
    options: (i) => ({
      from: bodies.map((b) => b.hold),
      ...(i === 0 ? { bias: { nearMin: wallNear(s, endedMin + 45 * DAY, 0, 10 * HOUR) } } : {}),
      starts: FRIDAYS,
      detail: 'lees, oak, where it goes next',
    }),
  })
}

/** Chips 2 to 6 weeks, staves longer; by taste. Common practice. */
const PIECES_DAYS = 42

function oakPieces(s: Setting, rest: Rest, bodies: readonly Body[], endedMin: number): Part {
  if (s.choices.oak !== 'pieces') return NOTHING
  const holds = bodies.map((b) => b.hold)
  const volumeL = sum(bodies.map((b) => b.volumeL))
  const moves = bodies.length > 1 || bodies.some((b) => b.room.barrels)
  const lastMin = wallMin(s, (moves ? rest.dates.mergeOn : rest.dates.trialOn).subtract({ days: 3 }), 10 * HOUR)
  const inKey = keyOf(s, 'oak-in')
  return joined(
    work(s, 'oak-in', {
      after: [
        { key: rest.endedKey, minMin: 2 * DAY, maxMin: 30 * DAY, strength: 'soft' },
        racksGross(s) && rest.kind === 'dry' ? { key: keyOf(s, 'rack-gross'), strength: 'soft' } : undefined,
      ],
      volumeL,
      from: holds,
      doses: [
        perL('oak pieces', s.choices.oakPiecesGPerL ?? 1.5, volumeL, {
          kind: 'source',
          refs: ['S7', 'S8'],
          note: '1-4 g/L',
        }),
      ],
      forecast: true,
      starts: null,
      detail: 'in nets, tied to the door',
    }),
    work(s, 'oak-out', {
      after: [{ key: inKey, minMin: 14 * DAY, maxMin: 180 * DAY, strength: 'soft' }],
      from: holds,
      bias: { nearMin: Math.min(endMinOf(s, inKey, endedMin + 4 * DAY, HOUR) + PIECES_DAYS * DAY, lastMin) },
      forecast: true,
      detail: 'by taste, weekly from half time',
    }),
  )
}
