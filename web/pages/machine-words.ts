import type { MachineWire } from '../../api/wire.ts'

type Kind = MachineWire['kind']

/** What a machine's figure means, by kind; the others are counted as one. */
export const CAPACITY: Partial<Record<Kind, { readonly label: string; readonly unit: string }>> = {
  destemmer: { label: 'Works', unit: 't/h' },
  pump: { label: 'Moves', unit: 'L/h' },
  'flotation-pump': { label: 'Moves', unit: 'L/h' },
  filter: { label: 'Filters', unit: 'L/h' },
  'cold-room': { label: 'Holds', unit: 't' },
  bins: { label: 'Hold in all', unit: 't' },
  chiller: { label: 'Usable', unit: 'kW' },
  'warm-water': { label: 'Gives', unit: 'kW' },
}

/** Kinds that are added with one figure; a press comes with its loads and programs. */
export const ADDED: Readonly<Record<Exclude<Kind, 'press' | 'basket-press'>, string>> = {
  bins: 'Picking bins',
  'cold-room': 'Cold room',
  pump: 'Pump',
  'flotation-pump': 'Flotation pump',
  filter: 'Filter',
  forklift: 'Forklift',
  destemmer: 'Destemmer',
  'sorting-table': 'Sorting table',
  chiller: 'Chiller',
  'warm-water': 'Warm-water loop',
  'heat-exchanger': 'Must chiller',
  'hot-water': 'Hot-water unit',
  'barrel-washer': 'Barrel washer',
  lab: 'Laboratory bench',
  scale: 'Scale',
}
export type AddedKind = keyof typeof ADDED
