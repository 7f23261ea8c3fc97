import type { ConflictRule } from '../types.ts'
import { CUSTOM, source } from './known.ts'

/** What one day asks of the whole cellar. The planner sums over lots and says so in `day`. */
export const CELLAR_CONFLICTS: readonly ConflictRule[] = [
  {
    id: 'K34',
    level: 'block',
    test: (c) => (c.day?.vesselShortL ?? 0) > 0,
    when: 'the lots of these days need more litres than the free vessels hold at 90 % full',
    reason: 'Ferments foam and need 8-12 % headspace.',
    wayOut: 'Split, another vessel, another day.',
    fields: ['vessel', 'vesselParts'],
    firstStep: 'rack-juice',
    basis: CUSTOM,
  },
  {
    id: 'K35',
    level: 'block',
    test: (c) => (c.day?.coolingShare ?? 0) > 0.85,
    when: 'the day’s cooling is above 85 % of the chiller',
    reason: 'When all jackets call at once none holds, and the warmest tank runs away.',
    wayOut: 'Stagger chilling at night, flotation instead of settling, a later pick.',
    fields: ['clarification', 'fermentTempC'],
    firstStep: 'chill-juice',
    basis: source('S62', 'S63'),
  },
  {
    id: 'K36',
    level: 'block',
    test: (c) => (c.day?.pressShare ?? 0) > 1,
    when: 'the day’s press hours are more than the press shifts',
    reason: 'Fruit that waits warm oxidises.',
    wayOut: 'A second shift, the cold room, a later pick.',
    fields: ['pickHour', 'fruitCooling'],
    firstStep: 'load-press',
    basis: source('S38'),
  },
]
