import type { ChoiceKey, Choices } from '../../api/protocol/choices.ts'
import { NOTES } from '../../api/protocol/notes.ts'
import { NUMBER_ANSWERS } from './choice-numbers.ts'

/** An answer in words: its label, its number with unit, its parts. */
export function sayAnswer(key: ChoiceKey, value: Choices[ChoiceKey]): string {
  if (value === undefined || (Array.isArray(value) && value.length === 0)) return '–'
  if (typeof value === 'boolean') return value ? 'yes' : 'no'
  const options = NOTES.find((note) => note.keys.includes(key))?.options
  const label = (list: ChoiceKey, answer: unknown) =>
    NOTES.find((note) => note.options[list])?.options[list]?.find((option) => option.value === String(answer))?.label
  if (Array.isArray(value)) {
    return value
      .map((entry) =>
        typeof entry === 'object'
          ? `${Math.round(entry.share * 100)} % ${label('vessel', entry.vessel) ?? entry.vessel}`
          : (label(key, entry) ?? String(entry)),
      )
      .join(', ')
  }
  const listed = options?.[key]?.find((option) => option.value === String(value))
  if (listed) return listed.label
  const number = NUMBER_ANSWERS[key]
  if (number && typeof value === 'number') {
    const shown = number.as === 'share' ? Math.round(value * 100) : value
    return `${shown}${number.unit && ` ${number.unit}`}`
  }
  return String(value)
}
