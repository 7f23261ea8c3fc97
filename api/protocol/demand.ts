/** Cold and air hour by hour: what ferments and chilling ask of the chillers, and the CO2 that must leave the room. */
import { co2M3PerH, freshAirM3PerH } from '../cellar/gas.ts'
import { type CoolingLoad, coolingByHour, fermentationKW } from '../cellar/heat.ts'
import { momentAt, type Temporal } from '../time.ts'
import { stepOf, USUAL_SIZES } from './steps.ts'

export interface FermentDemand {
  readonly lotCode: string
  readonly volumeL: number
  /** Share of the wine in vessels that the chiller reaches; the rest warms its room. */
  readonly jacketedShare: number
  /** Forecast of sugar along the ferment, in order of time. */
  readonly points: readonly { readonly at: Temporal.Instant; readonly sugarGPerL: number }[]
  /** The phase: outside of it nothing ferments. */
  readonly startAt: Temporal.Instant
  readonly endAt: Temporal.Instant
}

export interface ChillDemand {
  readonly lotCode: string
  readonly step: string
  readonly startAt: Temporal.Instant
  readonly endAt: Temporal.Instant
  readonly volumeL: number
  readonly tonnes: number
}

export interface DemandHour {
  readonly at: Temporal.Instant
  readonly fermentKW: number
  readonly chillKW: number
  readonly coolingKW: number
  /** What the chillers cannot give. */
  readonly shortKW: number
  readonly co2M3PerH: number
  /** For 5000 ppm, the 8 h limit, in a well mixed room. */
  readonly freshAirM3PerH: number
  /** Largest first. */
  readonly loads: readonly { readonly name: string; readonly kW: number }[]
}

const HOUR_MS = 3_600_000
const round = (value: number, places: number): number => Math.round(value * 10 ** places) / 10 ** places

/** @param chillKW what one chilling is given, as the cellar set it */
export function demandByHour(given: {
  readonly fromAt: Temporal.Instant
  readonly hours: number
  readonly ferments: readonly FermentDemand[]
  readonly chills: readonly ChillDemand[]
  readonly poolKW: number
  readonly chillKW: number
}): readonly DemandHour[] {
  const { fromAt, hours, poolKW } = given
  const falls = given.ferments.map((f) => ({ ...f, fallPerDay: fallsByHour(f, fromAt, hours) }))
  const ferments: CoolingLoad[] = falls.map((f) => ({
    name: `${f.lotCode} ferment`,
    fromHour: 0,
    kW: f.fallPerDay.map((fall) => f.jacketedShare * fermentationKW(f.volumeL, fall)),
  }))
  const chills = given.chills.flatMap((c) => chillLoad(c, given))
  // An empty load keeps every hour in the list, also where nothing asks for cold.
  const every: CoolingLoad = { name: '', fromHour: 0, kW: Array.from({ length: hours }, () => 0) }
  const fermenting = new Set(ferments.map((l) => l.name))
  return coolingByHour([every, ...ferments, ...chills], poolKW).map((hour) => {
    const fermentKW = hour.loads.filter((l) => fermenting.has(l.name)).reduce((sum, l) => sum + l.kW, 0)
    const gas = falls.reduce((sum, f) => sum + co2M3PerH(f.volumeL, f.fallPerDay[hour.hour] ?? 0), 0)
    return {
      at: momentAt(fromAt, hour.hour * 60),
      fermentKW: round(fermentKW, 2),
      chillKW: round(hour.kW - fermentKW, 2),
      coolingKW: round(hour.kW, 2),
      shortKW: round(hour.shortKW, 2),
      co2M3PerH: round(gas, 3),
      freshAirM3PerH: Math.round(freshAirM3PerH(gas)),
      loads: hour.loads.map((l) => ({ name: l.name, kW: round(l.kW, 2) })),
    }
  })
}

/** g/L a day that fall in each hour, along the forecast and only while it ferments. */
function fallsByHour(f: FermentDemand, fromAt: Temporal.Instant, hours: number): readonly number[] {
  const at = (hour: number) => fromAt.epochMilliseconds + hour * HOUR_MS
  return Array.from({ length: hours }, (_, hour) => {
    const fromMs = Math.max(at(hour), f.startAt.epochMilliseconds)
    const toMs = Math.min(at(hour + 1), f.endAt.epochMilliseconds)
    return toMs > fromMs ? Math.max(0, (sugarAt(f.points, fromMs) - sugarAt(f.points, toMs)) * 24) : 0
  })
}

/** Along a straight line between two points of the forecast. */
function sugarAt(points: FermentDemand['points'], ms: number): number {
  const after = points.findIndex((p) => p.at.epochMilliseconds >= ms)
  if (after < 0) return points.at(-1)?.sugarGPerL ?? 0
  const b = points[after]
  const a = points[after - 1]
  if (!a || !b) return b?.sugarGPerL ?? 0
  const [aMs, bMs] = [a.at.epochMilliseconds, b.at.epochMilliseconds]
  return a.sugarGPerL + ((b.sugarGPerL - a.sugarGPerL) * (ms - aMs)) / Math.max(1, bMs - aMs)
}

/** What the planner sets aside on the chiller for such work; heat of ferments is counted from their sugar instead. */
function chillLoad(
  c: ChillDemand,
  given: {
    readonly fromAt: Temporal.Instant
    readonly hours: number
    readonly poolKW: number
    readonly chillKW: number
  },
): CoolingLoad[] {
  if (c.step === 'set-cooling') return []
  const use = stepOf(c.step).machines.find((m) => m.kind === 'chiller')
  if (!use) return []
  const wanted = use.amount({ ...USUAL_SIZES, volumeL: c.volumeL, tonnes: c.tonnes, chillKW: given.chillKW })
  const kW = given.poolKW > 0 ? Math.min(wanted, given.poolKW) : wanted
  const fromHour = Math.floor((c.startAt.epochMilliseconds - given.fromAt.epochMilliseconds) / HOUR_MS)
  const toHour = Math.ceil((c.endAt.epochMilliseconds - given.fromAt.epochMilliseconds) / HOUR_MS)
  const first = Math.max(0, fromHour)
  const length = Math.min(given.hours, toHour) - first
  if (length <= 0) return []
  return [{ name: `${c.lotCode} ${c.step}`, fromHour: first, kW: Array.from({ length }, () => kW) }]
}
