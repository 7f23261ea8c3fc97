/**
 * Refuses a number outside the range a formula was made for. Nothing in this folder clamps in silence:
 * a wine at 60 C or a must of pH 14 is a slip of the pen, and the message says what was expected.
 */
export function within(name: string, value: number, min: number, max: number, unit = ''): number {
  const unitWords = unit === '' ? '' : ` ${unit}`
  if (typeof value !== 'number' || !Number.isFinite(value) || value < min || value > max)
    throw new RangeError(`${name} is ${value}, expected ${min} to ${max}${unitWords}`)
  return value
}

/** Refuses a number that is not above zero. */
export function positive(name: string, value: number, unit = ''): number {
  const unitWords = unit === '' ? '' : ` ${unit}`
  if (typeof value !== 'number' || !Number.isFinite(value) || value <= 0)
    throw new RangeError(`${name} is ${value}, expected more than 0${unitWords}`)
  return value
}

/** Refuses a negative number; none at all is allowed. */
export function notNegative(name: string, value: number, unit = ''): number {
  const unitWords = unit === '' ? '' : ` ${unit}`
  if (typeof value !== 'number' || !Number.isFinite(value) || value < 0)
    throw new RangeError(`${name} is ${value}, expected 0 or more${unitWords}`)
  return value
}
