import { litres } from '../figures.ts'
import { series } from '../repeat.ts'
import { type Body, chosen, holdOf, isCask, roomFor, STORING_KINDS } from '../rooms.ts'
import { DAY, dayAt, endMinOf, HOUR, type Setting, volumeAfter, wallMin, wallNear, weekdayFrom } from '../setting.ts'
import { FILL, LOSS } from '../volumes.ts'
import { joined, keyOf, type Part, startsId, work } from '../work.ts'
import { cleaned, cleanTanks } from './cleaning.ts'
import type { FinishDates } from './finish-dates.ts'
import { blockMalolactic, checkSo2, firstSo2, refused } from './first-so2.ts'
import { type Rest, racksGross } from './rest.ts'
import { inWood, oakPieces, tastings } from './resting.ts'
import { sum } from './settling.ts'

/** The wine at rest between ferment and finish. */
export interface Aged {
  readonly part: Part
  readonly bodies: readonly Body[]
  /** The finish waits for these. */
  readonly ready: readonly string[]
  readonly holds: readonly string[]
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

/** Tank wine rests until it is racked off its fining. */
const tanksLeaveOn = (dates: FinishDates) => dates.rackFiningOn

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
      stage: 'store',
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
