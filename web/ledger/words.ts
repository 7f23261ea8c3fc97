/** The ledger in words: why wine moved, where it went, how much to the last drop. */
import { gallonsOfL } from '../../api/cellar/units.ts'
import type { ContentWire, MovementEndWire, MovementWire } from '../../api/wire.ts'
import type { Format } from '../format.ts'
import { VESSEL_STATE_WORDS } from '../words.ts'

export const OUTSIDE_WORDS: Readonly<Record<Exclude<MovementEndWire['kind'], 'vessel'>, string>> = {
  fruit: 'Fruit',
  bought: 'Bought in',
  gain: 'Gauged gain',
  loss: 'Loss',
  lees: 'Lees',
  sample: 'Sample',
  sale: 'Sold',
  bottled: 'Bottled',
  distillation: 'Distillation',
}

const CAUSE_WORDS: Readonly<Record<string, string>> = {
  rack: 'racked',
  press: 'pressed',
  fill: 'filled',
  top: 'topped',
  blend: 'blended',
  level: 'levelled',
  transfer: 'moved',
  return: 'returned',
  split: 'split',
  merge: 'merged',
  opening: 'opening stock',
  count: 'stock count',
  gauge: 'gauge difference',
}

export const sayCause = (cause: string): string => CAUSE_WORDS[cause] ?? cause

/** Litres to the millilitre, or gallons to the hundredth: the ledger is never rounded to look tidy. */
export const sayLitres = (format: Format, volumeL: number): string =>
  format.units === 'us' ? `${format.number(gallonsOfL(volumeL), 2)} gal` : `${format.number(volumeL, 3)} L`

/** `12.5 %`; a trace of something is said as such. */
export function sayShare(format: Format, share: number): string {
  const percent = share * 100
  if (percent > 0 && percent < 0.01) return 'under 0.01 %'
  return `${format.number(percent, percent < 10 ? 2 : 1)} %`
}

/** `T09 (L01)`, or what is no vessel. */
export function sayEnd(end: MovementEndWire): string {
  if (end.kind !== 'vessel') return OUTSIDE_WORDS[end.kind]
  const code = end.vessel?.code ?? ''
  return end.lot ? `${code} (${end.lot.code})` : code
}

/** `T09 (L01) to T01 (L01), 5,790 L, racked`. */
export const sayMovement = (format: Format, movement: MovementWire): string =>
  `${sayEnd(movement.from)} to ${sayEnd(movement.to)}, ${sayLitres(format, movement.volumeL)}, ${sayCause(movement.cause)}`

/** What is in a vessel, for a list to choose from. */
export function sayContent(format: Format, content: ContentWire): string {
  const { code, capacityL } = content.vessel
  if (content.lot)
    return `${code}: ${content.lot.code}, ${sayLitres(format, content.volumeL)} of ${format.volume(capacityL)}`
  return `${code}: ${VESSEL_STATE_WORDS[content.state].toLowerCase()}, holds ${format.volume(capacityL)}`
}
