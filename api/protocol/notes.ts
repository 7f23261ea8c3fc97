import type { ChoiceKey } from './choices.ts'
import { CELLAR_NOTES } from './notes/cellar.ts'
import { FERMENT_NOTES } from './notes/ferment.ts'
import { FRUIT_NOTES } from './notes/fruit.ts'
import { REST_NOTES } from './notes/rest.ts'
import type { ChoiceNote } from './notes/types.ts'

export { EFFECTS, type Effect, effectsOf } from './notes/effects.ts'
export { STYLE_NOTES } from './notes/styles.ts'
export type { ChoiceNote, OptionNote } from './notes/types.ts'
export { referenceOf } from './references.ts'

/** What the form shows beside each of the 25 choices, in the order a winemaker meets them. */
export const NOTES: readonly ChoiceNote[] = [...FRUIT_NOTES, ...CELLAR_NOTES, ...FERMENT_NOTES, ...REST_NOTES]

/** The note of the choice that an answer belongs to. The style has notes of its own. */
export function noteOf(key: Exclude<ChoiceKey, 'style'>): ChoiceNote {
  const note = NOTES.find((entry) => entry.keys.includes(key))
  if (!note) throw new RangeError(`key must belong to a choice, got ${key}`)
  return note
}
