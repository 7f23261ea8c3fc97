/** Names for what the wire calls by short words. */
import type { LotWire, PersonWire, VesselWire } from '../api/wire.ts'

export const PHASE_WORDS: Readonly<Record<NonNullable<LotWire['phase']>, string>> = {
  fruit: 'Fruit',
  settle: 'Settling',
  macerate: 'On skins',
  ferment: 'Fermenting',
  malolactic: 'Malolactic',
  lees: 'On lees',
  cold: 'Cold',
  store: 'Resting',
}

/** Where a lot stands, in a word. */
export const standsAs = (lot: Pick<LotWire, 'endedAt' | 'phase' | 'unplanned'>, unpicked: string): string => {
  if (lot.endedAt) return 'Ended'
  if (lot.unplanned) return 'In the cellar, no plan'
  return lot.phase ? PHASE_WORDS[lot.phase] : unpicked
}

export const VESSEL_WORDS: Readonly<Record<VesselWire['kind'], string>> = {
  tank: 'Tank',
  'cold-tank': 'Insulated cold tank',
  'floating-lid': 'Floating-lid tank',
  'pressure-tank': 'Pressure tank',
  'open-tank': 'Open tank',
  concrete: 'Concrete',
  amphora: 'Amphora',
  cask: 'Cask',
  barrel: 'Barrel',
  puncheon: 'Puncheon',
  keg: 'Keg',
}

export const VESSEL_STATE_WORDS: Readonly<Record<VesselWire['state'], string>> = {
  dirty: 'Dirty',
  clean: 'Clean',
  sanitised: 'Sanitised',
  sulphured: 'Sulphured',
  full: 'Full',
  'out-of-service': 'Out of service',
}

export const ROLE_WORDS: Readonly<Record<PersonWire['role'], string>> = {
  owner: 'Owner',
  winemaker: 'Winemaker',
  hand: 'Cellar hand',
  lab: 'Laboratory',
  viewer: 'Reads only',
}

export const optionsFrom = <Value extends string>(words: Readonly<Record<Value, string>>) =>
  Object.entries<string>(words).map(([value, label]) => ({ value: value as Value, label }))
