import { forecastFerment } from '../../api/cellar/fermentation.ts'
import { inventFerment } from '../helpers/ferments.ts'

/** 500 lots in mid-ferment, each with a temperature plan and twice-daily readings, refitted: less than a second of CPU is wanted. */
const LOTS = 500
const lots = Array.from({ length: LOTS }, (_, k) => {
  const f = inventFerment('levenspiel', 90_000 + k)
  const day = 2 + (k % 9)
  return {
    sugarGPerL: f.brixMeasured * 10.2,
    yanMgPerL: f.yanMeasured,
    yeast: 'selected' as const,
    tempPlan: [
      { hour: 0, tempC: 14 },
      { hour: 120, tempC: 14 },
      { hour: 240, tempC: 16 },
    ],
    readings: f.readings.filter((r) => r.hour <= 24 * day),
  }
})
for (const lot of lots.slice(0, 50)) forecastFerment(lot)

const before = process.cpuUsage()
const answers = lots.map((lot) => forecastFerment(lot))
const { user, system } = process.cpuUsage(before)
const cpuMs = (user + system) / 1000
const readings = lots.reduce((total, lot) => total + lot.readings.length, 0)
const points = answers.reduce((total, a) => total + a.points.length, 0)
process.stdout.write(`${LOTS} lots, ${readings} readings, ${points} points: ${cpuMs.toFixed(0)} ms CPU\n`)
if (cpuMs > 1000) process.exitCode = 1
