import { readingUnit } from '../../api/cellar/plausible.ts'
import type { ReadingKind } from '../../api/protocol/facts.ts'
import { WAYS } from '../reading-ways.ts'

/** What an operation told, as somebody would write it on paper: for a note where the thing itself was not taken. */
type Value = Readonly<Record<string, unknown>>

/** @param value of an operation, in metric units as it travels; the picture of a photo is left out */
export function inWords(value: Value): string {
  const { base64: _picture, opId: _id, ...rest } = value
  return Object.entries(rest)
    .map(([name, told]) => `${NAMES[name] ?? name}: ${listed(name, told)}`)
    .join('; ')
}

const NAMES: Readonly<Record<string, string>> = {
  atLocal: 'at',
  startAtLocal: 'begun',
  additions: 'put in',
  readings: 'measured',
  vesselsMoved: 'moved',
  volumeL: 'moved',
  lossL: 'lost',
}

const listed = (name: string, told: unknown): string =>
  Array.isArray(told)
    ? told.map((one) => listed(name, one)).join(', ')
    : isValue(told)
      ? parts(told)
      : sized(name, told)

const isValue = (told: unknown): told is Value => typeof told === 'object' && told !== null

/** A reading, an addition or a move: what it is and how much, then all else that was told of it. */
function parts(told: Value): string {
  const { kind, value, product, amount, unit, treatedL, batchNo, volumeL, confirmed: _c, ...rest } = told
  const measured =
    kind === undefined ? [] : [WAYS[kind as ReadingKind]?.label ?? kind, value, readingUnit(String(kind))]
  const treated = treatedL === undefined ? [] : [`in ${treatedL} L`]
  const batch = batchNo ? [`batch ${batchNo}`] : []
  const litres = volumeL === undefined ? [] : [`${volumeL} L`]
  const other = Object.entries(rest).map(([name, one]) => `${NAMES[name] ?? name} ${listed(name, one)}`)
  return [...measured, product, amount, unit, ...treated, ...batch, ...litres, ...other]
    .filter((word) => word !== undefined && word !== '')
    .join(' ')
}

/** A figure whose name ends in its unit, with that unit. */
const sized = (name: string, told: unknown): string => (/[a-z]L$/.test(name) ? `${told} L` : String(told))
