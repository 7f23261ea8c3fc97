import { G_PER_OUNCE, gallonsOfL, ML_PER_US_FLUID_OUNCE, poundsOfG } from '../cellar/units.ts'
import type { TaskWire } from '../wire.ts'

type Dose = TaskWire['doses'][number]

const figure = (value: number): string => String(Number(value.toPrecision(3)))

/** Mass or volume as the cellar counts: g, kg, mL, L, or ounces, pounds, fluid ounces, gallons. */
function amount(dose: Dose, units: 'metric' | 'us'): string {
  if (units === 'metric') return `${dose.amount} ${dose.unit}`
  const inG = dose.unit === 'g' ? dose.amount : dose.unit === 'kg' ? dose.amount * 1000 : undefined
  if (inG !== undefined) return poundsOfG(inG) >= 1 ? `${figure(poundsOfG(inG))} lb` : `${figure(inG / G_PER_OUNCE)} oz`
  const inL = dose.unit === 'L' ? dose.amount : dose.amount / 1000
  return gallonsOfL(inL) >= 1
    ? `${figure(gallonsOfL(inL))} gal`
    : `${figure((inL * 1000) / ML_PER_US_FLUID_OUNCE)} fl oz`
}

/** One line: what, how much in the reader's units, the arithmetic it came from, which stays metric, and whose rule it is. */
export const doseLine = (dose: Dose, units: 'metric' | 'us'): string =>
  `${dose.product} ${amount(dose, units)}: ${dose.arithmetic} (${dose.basis})`
