/** Each kind of reading: its name, its step, and the unit in which it is stored. No screen and no format: the service worker says them too. */
import type { ReadingKind } from '../api/protocol/facts.ts'

interface Way {
  readonly label: string
  readonly step: number
  readonly places: number
}

export const WAYS: Readonly<Record<ReadingKind, Way>> = {
  brix: { label: 'Sugar', step: 0.1, places: 1 },
  density: { label: 'Density', step: 1, places: 0 },
  sugar: { label: 'Sugar', step: 1, places: 0 },
  temp: { label: 'Temperature', step: 0.5, places: 1 },
  pH: { label: 'pH', step: 0.01, places: 2 },
  ta: { label: 'Titratable acid, as tartaric', step: 0.1, places: 1 },
  malic: { label: 'Malic acid', step: 0.05, places: 2 },
  yan: { label: 'Yeast nitrogen', step: 5, places: 0 },
  'free-so2': { label: 'Free SO2', step: 1, places: 0 },
  'total-so2': { label: 'Total SO2', step: 1, places: 0 },
  ntu: { label: 'Turbidity', step: 5, places: 0 },
  va: { label: 'Volatile acid', step: 0.01, places: 2 },
  alcohol: { label: 'Alcohol', step: 0.1, places: 1 },
  rot: { label: 'Rot', step: 1, places: 0 },
  volume: { label: 'Volume', step: 10, places: 0 },
  headspace: { label: 'Headspace', step: 1, places: 0 },
  'co2-air': { label: 'CO2 in the air', step: 100, places: 0 },
  oxygen: { label: 'Dissolved oxygen', step: 0.1, places: 1 },
  smell: { label: 'Off smell, 0 none to 5 strong', step: 1, places: 0 },
  conductivity: { label: 'Conductivity', step: 10, places: 0 },
  'protein-haze': { label: 'Haze after heat', step: 0.5, places: 1 },
  humidity: { label: 'Humidity', step: 1, places: 0 },
  'lees-share': { label: 'Lees', step: 1, places: 0 },
  'glucose-fructose': { label: 'Glucose and fructose', step: 0.1, places: 1 },
  copper: { label: 'Copper', step: 0.05, places: 2 },
}

export const readingLabel = (kind: ReadingKind): string => WAYS[kind].label
