import type { FermentForecast } from '../../cellar/fermentation.ts'
import { chillHours } from '../../cellar/fermentation.ts'
import { freeSo2For, sulphite } from '../doses.ts'
import { litres } from '../figures.ts'
import { hourAt, stopWhen } from '../forecast.ts'
import { rounds, series, THRICE } from '../repeat.ts'
import { type Body, chosen, holdOf, KINDS_FOR, roomFor, SETTLING_KINDS, STORING_KINDS } from '../rooms.ts'
import { DAY, HOUR, type Setting, sizesOf, volumeAfter } from '../setting.ts'
import { FILL, LOSS } from '../volumes.ts'
import { joined, keyOf, type Part, work } from '../work.ts'
import { cleaned, cleanTanks } from './cleaning.ts'
import type { Fermented } from './fermenting.ts'
import { sum } from './settling.ts'

/** The night rounds begin this much sugar before the stop, g/L. */
const WATCH_FROM_G_PER_L = 15
/** Into a jacketed tank with this much in hand (K09). */
const MOVE_WITH_G_PER_L = 24
const COLD_C = 2
/** Free SO2 after a stop needs about this much put in for each mg free: sugar binds it. Common practice. */
const BINDS = 2.2

export interface Stopped {
  readonly part: Part
  readonly bodies: readonly Body[]
  readonly ended: string
  readonly endedMin: number
  readonly startChillSugarGPerL: number
}

/** Watched at night, chilled before the point is reached, sulphited and filtered off its yeast. */
export function stopping(s: Setting, f: Fermented, ferment: FermentForecast, move: boolean): Stopped {
  const c = s.choices
  const target = c.stopSugarGPerL ?? 20
  const volumeL = sum(f.bodies.map((b) => b.volumeL))
  const stop = stopWhen(s, ferment, f.startMin)
  const hoursToCold = chillHours(volumeL, Math.max(1, c.fermentTempC - COLD_C), sizesOf(s).chillKW)
  const rate = fallAround(ferment, target)
  const chillAt = Math.min(target + (rate * hoursToCold) / 24 + rate / 6, target + 12)
  const at = (sugarGPerL: number) => Math.max(s.nowMin, f.startMin + (hourAt(ferment, sugarGPerL) ?? 12 * 24) * HOUR)
  const spread = { earlierMin: stop.likelyMin - stop.earliestMin, laterMin: stop.latestMin - stop.likelyMin }
  const chillMin = at(chillAt)
  const watchFromMin = at(target + WATCH_FROM_G_PER_L)
  const watch = rounds(s, {
    step: 'watch-stop',
    anchor: { key: f.anchorKey, endMin: f.startMin, minMin: DAY },
    slots: THRICE,
    wants: (atMin) => atMin >= watchFromMin,
    untilMin: chillMin,
    options: () => ({
      from: f.bodies.map((b) => b.hold),
      forecast: true,
      detail: `every 8 h; start the cold at ${Math.round(chillAt)} g/L to stop at ${target}`,
    }),
  })
  const lastWatch = watch.last ?? f.lastRound
  const moved = move ? moveToJacket(s, f, at(target + MOVE_WITH_G_PER_L)) : undefined
  const from = moved?.bodies ?? f.bodies
  const stopVolumeL = volumeAfter(s, keyOf(s, 'stop-so2'), sum(from.map((b) => b.volumeL)) * (1 - LOSS.stop))
  const into: Body = {
    hold: `${s.lot.code}/store`,
    label: '',
    volumeL: stopVolumeL,
    room: roomFor(s, {
      stage: 'store',
      volumeL: stopVolumeL,
      fill: FILL.store,
      kinds: STORING_KINDS,
      jacket: true,
      pins: s.lot.vesselPins.store?.filter((id) => !from.some((b) => chosen(b.room).includes(id))),
      filledBy: keyOf(s, 'stop-so2'),
    }),
    since: { task: keyOf(s, 'clean-tank', 9), edge: 'start' },
  }
  const so2 = Math.min(150, Math.round((freeSo2For(Math.max(0.8, c.molecularSo2MgPerL), s.fruit.pH) * BINDS) / 5) * 5)
  const part = joined(
    watch.part,
    moved?.part,
    work(s, 'stop-chill', {
      after: [
        lastWatch ? { key: lastWatch, strength: 'soft' } : undefined,
        moved ? { key: keyOf(s, 'rack-out', 9) } : undefined,
      ],
      sizes: { volumeL, deltaC: Math.max(1, c.fermentTempC - COLD_C) },
      volumeL,
      from: from.map((b) => b.hold),
      releaseMin: chillMin,
      spread,
      forecast: true,
      detail: `at about ${Math.round(chillAt)} g/L, to ${COLD_C} C; ${Math.round(rate)} g/L a day, ${hoursToCold.toFixed(1)} h to cold`,
    }),
    cleanTanks(s, 'stop', [into], chillMin + 18 * HOUR),
    work(s, 'stop-so2', {
      after: [
        { key: keyOf(s, 'stop-chill'), maxMin: 24 * HOUR, reason: 'cold alone does not hold it' },
        cleaned(s, 'stop'),
      ],
      volumeL: sum(from.map((b) => b.volumeL)),
      from: from.map((b) => b.hold),
      to: [into.hold],
      doses: [
        sulphite(
          so2,
          sum(from.map((b) => b.volumeL)),
          `for ${Math.max(0.8, c.molecularSo2MgPerL)} mg/L molecular at pH ${s.fruit.pH}`,
        ),
      ],
      forecast: true,
      detail: `SO2, then off the yeast through the filter; ${litres(stopVolumeL)}`,
    }),
    series(s, {
      step: 're-check-stop',
      after: [{ key: keyOf(s, 'stop-so2'), minMin: DAY - 6 * HOUR, maxMin: 3 * DAY }],
      firstMin: chillMin + 2 * DAY,
      untilMin: chillMin + 40 * DAY,
      everyDays: (i) => (i < 4 ? 1 : 7),
      lateDays: 2,
      most: 9,
      options: () => ({ from: [into.hold], detail: 'density, free SO2, yeast count' }),
    }),
    { works: [], links: [], holds: from.map((b) => holdOf(s, b, { task: keyOf(s, 'stop-so2'), edge: 'end' })) },
  )
  return { part, bodies: [into], ended: keyOf(s, 'stop-so2'), endedMin: chillMin + DAY, startChillSugarGPerL: chillAt }
}

/** What cannot be chilled goes to a jacketed tank while there is sugar in hand. */
function moveToJacket(
  s: Setting,
  f: Fermented,
  atMin: number,
): { readonly part: Part; readonly bodies: readonly Body[] } {
  const volumeL = volumeAfter(s, keyOf(s, 'rack-out', 9), sum(f.bodies.map((b) => b.volumeL)) * (1 - LOSS.rackOut))
  const body: Body = {
    hold: `${s.lot.code}/stop`,
    label: '',
    volumeL,
    room: roomFor(s, {
      stage: 'stop',
      volumeL,
      fill: FILL.ferment,
      kinds: [...KINDS_FOR['jacketed-tank'], ...SETTLING_KINDS],
      jacket: true,
      pins: s.lot.vesselPins.stop,
      filledBy: keyOf(s, 'rack-out', 9),
    }),
    since: { task: keyOf(s, 'clean-tank', 4), edge: 'start' },
  }
  const wood = f.bodies.filter((b) => b.room.barrels)
  const barrels = sum(wood.map((b) => b.room.count))
  const part = joined(
    cleanTanks(s, 'rackOut', [body], atMin),
    work(s, 'rack-out', {
      count: 9,
      after: [cleaned(s, 'rackOut'), { key: f.anchorKey, minMin: DAY }],
      sizes: { barrels },
      volumeL,
      from: f.bodies.map((b) => b.hold),
      to: [body.hold],
      releaseMin: atMin - 12 * HOUR,
      forecast: true,
      detail: 'still fermenting, to a jacketed tank: nothing in wood or clay can be chilled',
    }),
    barrels > 0
      ? work(s, 'store-barrels', {
          count: 9,
          after: [{ key: keyOf(s, 'rack-out', 9), maxMin: DAY }],
          sizes: { barrels },
          detail: `${barrels} barrels`,
        })
      : undefined,
    { works: [], links: [], holds: f.bodies.map((b) => holdOf(s, b, { task: keyOf(s, 'rack-out', 9), edge: 'end' })) },
  )
  return { part, bodies: [body] }
}

/** g/L a day near the stop point. */
function fallAround(ferment: FermentForecast, sugarGPerL: number): number {
  const at = hourAt(ferment, sugarGPerL)
  if (at === undefined) return 8
  return Math.max(1, ferment.sugarFallPerDay[Math.min(ferment.sugarFallPerDay.length - 1, Math.floor(at / 24))] ?? 8)
}
