import { type Cellar, EXACT_WEEKS, type Facts } from '../protocol/facts.ts'
import { type Dates, datesFor, MID_VINTAGE_ON, ZONE } from './dates.ts'
import { lots } from './lots.ts'
import { MACHINES } from './machines.ts'
import { people } from './people.ts'
import { vessels } from './vessels.ts'

export { MID_VINTAGE_ON, weeksTo } from './dates.ts'

export const DEMO_CELLAR_ID = 'ostrel-yard'

/**
 * Ostrel Yard, an invented cellar before its first fruit: nothing picked, measured or moved yet.
 *
 * @param shiftWeeks moves every date by whole weeks; 0 keeps the story's own vintage, autumn 2027 in the south
 */
export function demoFacts({ shiftWeeks = 0 }: { readonly shiftWeeks?: number } = {}): Facts {
  const dates = datesFor(shiftWeeks)
  return {
    cellar: cellar(dates),
    people: people(dates),
    vessels: vessels(dates),
    machines: MACHINES,
    lots: lots(dates),
    readings: [],
    taskFacts: [],
    additions: [],
    transfers: [],
  }
}

const cellar = ({ weeks, on }: Dates): Cellar => ({
  id: DEMO_CELLAR_ID,
  name: 'Ostrel Yard',
  hemisphere: 'south',
  vintage: MID_VINTAGE_ON.add({ weeks }).year,
  zone: ZONE,
  units: 'metric',
  sugarUnit: 'brix',
  language: 'en',
  // Common practice for a cellar of this size; its own people would measure theirs.
  rates: { receptionTPerH: 4.5, sortingTPerH: 2, pressLoadingTPerH: 3, floatLPerH: 6000, chillKW: 12, heatKW: 8 },
  holidays: [
    { on: on('2027-03-26'), name: weeks === 0 ? 'Good Friday' : 'Holiday' },
    { on: on('2027-03-29'), name: weeks === 0 ? 'Easter Monday' : 'Holiday' },
  ],
  exactWeeks: EXACT_WEEKS.usual,
})
