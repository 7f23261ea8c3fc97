import { ADDITIONS } from './steps/additions.ts'
import { CLEARING } from './steps/clearing.ts'
import { FERMENT_END } from './steps/ferment-end.ts'
import { FERMENTATION } from './steps/fermentation.ts'
import { FILTER } from './steps/filter.ts'
import { FINISHING } from './steps/finishing.ts'
import { FRUIT } from './steps/fruit.ts'
import { HOUSE } from './steps/house.ts'
import { LAB } from './steps/lab.ts'
import { MALOLACTIC } from './steps/malolactic.ts'
import { MATURATION } from './steps/maturation.ts'
import { MUST } from './steps/must.ts'
import { PRESSING } from './steps/pressing.ts'
import { RECORDS } from './steps/records.ts'
import { SAFETY } from './steps/safety.ts'
import { VESSELS } from './steps/vessels.ts'
import type { Step, StepSizes } from './types.ts'

/**
 * Every kind of work, in the order a lot meets them. The number is the order on paper.
 * French and Spanish names are from memory and need a native reader.
 */
export const STEPS: readonly Step[] = [
  FRUIT,
  MUST,
  PRESSING,
  CLEARING,
  ADDITIONS,
  FERMENTATION,
  FERMENT_END,
  MALOLACTIC,
  MATURATION,
  FINISHING,
  FILTER,
  LAB,
  VESSELS,
  HOUSE,
  SAFETY,
  RECORDS,
]
  .flat()
  .sort((a, b) => a.nr - b.nr)

const BY_ID: ReadonlyMap<string, Step> = new Map(STEPS.map((step) => [step.id, step]))

/** @throws RangeError for an id that is no kind of work (a bug in the caller) */
export function stepOf(id: string): Step {
  const step = BY_ID.get(id)
  if (!step) throw new RangeError(`step must be one of the catalogue, got ${id}`)
  return step
}

/** What a formula stands on until lot and cellar say otherwise. Common practice: every cellar sets its own. */
export const USUAL_SIZES: StepSizes = {
  tonnes: 4.4,
  volumeL: 6000,
  leesL: 350,
  barrels: 16,
  newBarrels: 1,
  vessels: 6,
  samples: 8,
  receptionTPerH: 4.5,
  sortingTPerH: 2,
  pressLoadingTPerH: 3,
  pressProgramH: 2.5,
  pressWashH: 0.75,
  pumpLPerH: 6000,
  floatLPerH: 6000,
  filterLPerH: 2000,
  deltaC: 6,
  chillKW: 12,
  heatKW: 8,
  skinContactH: 6,
  settleH: 21,
  sugarGPerLPerDay: 20,
}
