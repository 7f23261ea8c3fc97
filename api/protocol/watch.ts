import { fermentAlarms } from '../cellar/alarms.ts'
import type { FermentForecast } from '../cellar/fermentation.ts'
import { fermentRisk } from '../cellar/risk.ts'
import { brixOfDensity, sugarOfBrix } from '../cellar/sugar.ts'
import { tempAtHour, tempPoints } from '../cellar/temperature.ts'
import type { Reading } from './facts.ts'
import { dryByReadings, tempPlanOf } from './forecast.ts'
import { HOUR, latest, minOf, type Setting } from './setting.ts'
import type { Watch } from './types.ts'

/** What a ferment asks people to look at: its risk beforehand, then what its readings say. Nothing once it is over. */
export function watchOf(s: Setting, startedMin: number | undefined, ferment: FermentForecast): readonly Watch[] {
  if (isOver(s)) return []
  return [...riskOf(s, ferment), ...(startedMin === undefined ? [] : alarmsOf(s, startedMin))]
}

const isOver = (s: Setting): boolean =>
  dryByReadings(s) !== undefined ||
  ['check-dry', 'stop-chill', 'rack-gross', 'press-skins'].some((step) => s.ticks.get(`${s.lot.code}/${step}/1`)?.done)

function riskOf(s: Setting, ferment: FermentForecast): Watch[] {
  const c = s.choices
  const plan = tempPoints(tempPlanOf(c)).map((p) => p.tempC)
  const risk = fermentRisk({
    sugarGPerL: sugarOfBrix(Math.min(44, Math.max(8, s.fruit.brix))),
    yanMgPerL: Math.min(1000, Math.max(0, s.fruit.yanMgPerL, c.nutrientTargetMgPerL)),
    maxC: Math.max(...plan),
    minC: Math.min(...plan),
    ntu: c.skinFermentDays > 0 ? undefined : (latest(s, 'ntu')?.value ?? c.clarityNtu),
    ambientYeast: c.yeast === 'ambient',
    restGPerL: c.endPoint === 'stop' || c.endPoint === 'by-itself' ? undefined : ferment.restGPerL,
  })
  if (risk.level === 'low') return []
  const words = `${risk.level === 'high' ? 'High' : 'Raised'} risk of sticking: ${risk.reasons.join('; ')}`
  return [{ kind: 'risk', level: risk.level === 'high' ? 'warn' : 'note', words }]
}

function alarmsOf(s: Setting, startedMin: number): Watch[] {
  const nowH = (s.nowMin - startedMin) / HOUR
  if (nowH < 0) return []
  const readings = s.readings.flatMap((r) => {
    const hour = (minOf(s, r.takenAt) - startedMin) / HOUR
    const read = hour < 0 ? undefined : fermentReading(r)
    return read === undefined ? [] : [{ hour, ...read }]
  })
  const setC = tempAtHour(tempPoints(tempPlanOf(s.choices)), nowH)
  const startBrix = Math.min(44, Math.max(10, s.fruit.brix))
  return fermentAlarms({ startH: 0, nowH, startBrix, setC, readings }).map(({ kind, level, words }) => ({
    kind,
    level,
    words,
  }))
}

/** Brix as a hydrometer shows it, or a temperature; figures no must can have are left out. */
function fermentReading(r: Reading): { apparentBrix: number } | { tempC: number } | undefined {
  if (r.kind === 'temp') return r.value >= 0 && r.value <= 45 ? { tempC: r.value } : undefined
  if (r.kind === 'brix') return r.value >= -5 && r.value <= 45 ? { apparentBrix: r.value } : undefined
  if (r.kind !== 'density' || r.value < 985 || r.value > 1180) return undefined
  return { apparentBrix: Math.round(10 * brixOfDensity(r.value)) / 10 }
}
