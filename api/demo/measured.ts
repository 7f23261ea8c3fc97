import { potentialAlcoholPctVol } from '../cellar/alcohol.ts'
import { apparentSg } from '../cellar/apparent.ts'
import { brixOfDensity, sugarOfBrix } from '../cellar/sugar.ts'
import type { Lot, ReadingKind } from '../protocol/facts.ts'
import type { CellarPlan, Phase, TaskPlan } from '../protocol/types.ts'

type Point = CellarPlan['forecasts'][number]['points'][number]

/** What a lot would have shown at the end of a task, had the season gone as forecast. */
export interface Course {
  readonly lot: Lot
  /** Empty before yeast. */
  readonly points: readonly Point[]
  /** When bacteria work, where they are wanted. */
  readonly malolactic?: Phase
}

const WATER_KG_PER_M3 = 998.2

/**
 * One figure as an instrument would give it: the lot's own course and a small error that is the same each time.
 * Absent for what this cellar does not measure then. Levels that no formula gives are common practice for sound wine.
 */
export function measured(kind: ReadingKind, task: TaskPlan, course: Course): number | undefined {
  const error = errorOf(`${task.key} ${kind}`)
  const { fruit, choices } = course.lot
  const point = pointAt(course.points, task)
  const before = point === undefined
  switch (kind) {
    case 'brix':
      if (task.step === 'sample-block') return round(fruit.brix - 0.25 * daysToPick(task, course.lot) + 0.1 * error, 1)
      return round(before ? fruit.brix + 0.1 * error : brixOfDensity(densityAt(course, point)), 1)
    case 'density':
      return round(densityAt(course, point) + 0.4 * error, 1)
    case 'glucose-fructose':
    case 'sugar':
      return before ? undefined : round(Math.max(0.8, point.sugarGPerL * 0.4 + 0.2 * error), 1)
    case 'temp':
      return round((before ? coolAt(task, course) : point.tempC) + 0.4 * error, 1)
    case 'pH':
      return round(fruit.pH + 0.02 * error, 2)
    case 'ta':
      return round(fruit.acidGPerLTartaric + 0.1 * error, 1)
    case 'malic':
      return round(Math.max(0.05 + 0.02 * error, malicAt(task, course) * (1 + 0.02 * error)), 2)
    case 'yan':
      return before ? round(fruit.yanMgPerL + 4 * error, 0) : undefined
    case 'free-so2':
      return round(Math.max(0, choices.so2CrushMgPerL * (before ? 0.4 : 0.1) + 2 * error), 0)
    case 'total-so2':
      return round(Math.max(0, choices.so2CrushMgPerL * 0.8 + 3 * error), 0)
    case 'ntu':
      return round(choices.clarityNtu * (1 + 0.08 * error), 0)
    case 'lees-share':
      return round(0.05 + 0.01 * error, 3)
    case 'va':
      return round(0.28 + 0.04 * error, 2)
    case 'alcohol':
      return before ? undefined : round(alcoholAt(course, point), 1)
    case 'rot':
      return fruit.rotPct
    case 'co2-air':
      return round(900 + 150 * error, 0)
    case 'humidity':
      return round(78 + 3 * error, 0)
    default:
      return undefined
  }
}

/** The course between two points of the forecast; absent before the first. */
function pointAt(points: readonly Point[], task: TaskPlan): { sugarGPerL: number; tempC: number } | undefined {
  const ms = task.endAt.epochMilliseconds
  const after = points.findIndex((p) => p.at.epochMilliseconds > ms)
  const [a, b] = [points[after < 0 ? points.length - 1 : after - 1], points[after]]
  if (!a) return undefined
  if (!b) return a
  const share = (ms - a.at.epochMilliseconds) / (b.at.epochMilliseconds - a.at.epochMilliseconds)
  return {
    sugarGPerL: a.sugarGPerL + share * (b.sugarGPerL - a.sugarGPerL),
    tempC: a.tempC + share * (b.tempC - a.tempC),
  }
}

const startSugar = ({ lot }: Course) => sugarOfBrix(lot.fruit.brix)

function densityAt(course: Course, point: { sugarGPerL: number } | undefined): number {
  const sugarGPerL = Math.min(point?.sugarGPerL ?? startSugar(course), startSugar(course))
  return apparentSg({ startBrix: course.lot.fruit.brix }, sugarGPerL) * WATER_KG_PER_M3
}

const alcoholAt = (course: Course, point: { sugarGPerL: number }) =>
  potentialAlcoholPctVol(Math.max(0, startSugar(course) - point.sugarGPerL))

/** Falls evenly while bacteria work. */
function malicAt(task: TaskPlan, { lot, malolactic }: Course): number {
  if (!malolactic) return lot.fruit.malicGPerL
  const [ms, startMs, endMs] = [task.endAt, malolactic.startAt, malolactic.endAt].map((at) => at.epochMilliseconds)
  const share = (ms! - startMs!) / (endMs! - startMs!)
  return lot.fruit.malicGPerL * (1 - Math.min(1, Math.max(0, share)))
}

/** Before yeast: the fruit as it came, then the settling tank. */
function coolAt(task: TaskPlan, { lot }: Course): number {
  return FRUIT_STEPS.has(task.step) ? lot.fruit.fruitTempC : Math.min(lot.fruit.fruitTempC, lot.choices.fruitCoolToC)
}

const FRUIT_STEPS = new Set(['receive', 'inspect-fruit', 'sort', 'destem-crush'])

const daysToPick = (task: TaskPlan, lot: Lot) => {
  const on = task.endAt.toZonedDateTimeISO('UTC').toPlainDate()
  return Math.max(0, on.until(lot.pickOn, { largestUnit: 'days' }).days)
}

/** From -1 to 1, made from the words alone: the same cellar has the same history every time. FNV-1a, 32 bit. */
export function errorOf(words: string): number {
  let hash = 0x811c9dc5
  for (const sign of words) hash = Math.imul(hash ^ sign.codePointAt(0)!, 0x01000193)
  return ((hash >>> 8) / 0xffffff) * 2 - 1
}

const round = (value: number, digits: number) => Number(value.toFixed(digits))
