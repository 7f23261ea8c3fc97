/** What an operation told, as somebody would write it on paper: for a note where the thing itself was not taken. */
type Value = Readonly<Record<string, unknown>>

/** @param value of an operation; the picture of a photo is left out */
export function inWords(value: Value): string {
  const { base64: _picture, opId: _id, ...rest } = value
  return Object.entries(rest)
    .map(([name, told]) => `${NAMES[name] ?? name}: ${wordsOf(name, told)}`)
    .join('; ')
}

const NAMES: Readonly<Record<string, string>> = {
  atLocal: 'at',
  startAtLocal: 'begun',
  additions: 'put in',
  readings: 'measured',
  transfers: 'moved',
}

function wordsOf(name: string, told: unknown): string {
  if (Array.isArray(told)) return told.map((one) => wordsOf(name, one)).join(', ')
  if (typeof told !== 'object' || told === null) return String(told)
  const { product, amount, unit, treatedL, batchNo, confirmed: _c, ...rest } = told as Value
  const dose = [product, amount, unit, treatedL === undefined ? undefined : `in ${treatedL} L`]
    .filter((word) => word !== undefined)
    .join(' ')
  const other = Object.entries(rest).map(([key, one]) => (key === 'kind' || key === 'value' ? one : `${key} ${one}`))
  return [dose, ...(batchNo ? [`batch ${batchNo}`] : []), ...other].filter((word) => word !== '').join(' ')
}
