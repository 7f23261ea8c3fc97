/** Puts what the server says in English into the words of a catalogue. Pure: what a catalogue does not know stays English. */
import type { Catalogue, Word } from './types.ts'

/** `{name}` in a text becomes the value of that name. */
export const filled = (text: string, values: Readonly<Record<string, string | number>> = {}): string =>
  text.replace(/\{(\w+)\}/g, (whole, name: string) => String(values[name] ?? whole))

/** A figure of its own: not the 2 of CO2, and the dash of 18-20 is no sign. */
const FIGURE = /(?<![A-Za-z\d])-?\d(?:[\d,.]*\d)?/g

type Figures = (figure: string) => string

/** `to 80 NTU at 10 C; look every 12 h`: part by part, with the figures put back in their order. */
export function detailIn(catalogue: Catalogue | undefined, detail: string, figures: Figures = (one) => one): string {
  if (!catalogue) return detail
  return detail
    .split('; ')
    .map(
      (part) =>
        phraseIn(catalogue, part, figures) ??
        part
          .split(', ')
          .map((piece) => phraseIn(catalogue, piece, figures) ?? piece)
          .join(', '),
    )
    .join('; ')
}

function phraseIn(catalogue: Catalogue, phrase: string, figures: Figures): string | undefined {
  const found = catalogue.details[phrase.replace(FIGURE, '#')]
  if (found === undefined) return undefined
  const values = phrase.match(FIGURE) ?? []
  let at = 0
  return found.replace(/#/g, () => figures(values[at++] ?? ''))
}

/** `30 mg/L SO2 x 4,180 L / 570 = 220 g; target free 28 mg/L`: signs and units stay, figures and notes are the reader's. */
export function arithmeticIn(catalogue: Catalogue | undefined, text: string, figures: Figures = (one) => one): string {
  const [sum = '', ...notes] = text.split('; ')
  return [sum.replace(FIGURE, figures), ...notes.map((note) => detailIn(catalogue, note, figures))].join('; ')
}

/** What a basis begins with, and the word for it. */
const BASES: readonly (readonly [lead: string, word: Word])[] = [
  ['common practice', 'basisPractice'],
  ['source', 'basisSource'],
  ['memory', 'basisMemory'],
]

/** `source AWRI, OIV: of the sum rule`. @param word says a word of the screens */
export function basisIn(
  catalogue: Catalogue | undefined,
  basis: string,
  word: (word: Word, values: Readonly<Record<string, string>>) => string,
  figures: Figures = (one) => one,
): string {
  const found = BASES.find(([lead]) => basis.startsWith(lead))
  if (!found) return basis
  const [refs = '', ...note] = basis.slice(found[0].length).trim().split(': ')
  const said = word(found[1], { refs: detailIn(catalogue, refs.trim()) }).trim()
  return note.length === 0 ? said : `${said}: ${detailIn(catalogue, note.join(': '), figures)}`
}

/** Sentences of a caution, each with the words it begins with in English. */
export function cautionParts(caution: string, leads: readonly string[]): readonly { lead: string; text: string }[] {
  const starts = leads
    .map((lead) => ({ lead, at: caution.indexOf(lead) }))
    .filter((found) => found.at >= 0)
    .sort((a, b) => a.at - b.at)
  const first = starts[0]
  const head = first && first.at > 0 ? [{ lead: '', text: caution.slice(0, first.at).trim() }] : []
  if (!first) return caution ? [{ lead: '', text: caution }] : []
  return [...head, ...starts.map(({ lead, at }, i) => ({ lead, text: caution.slice(at, starts[i + 1]?.at).trim() }))]
}

export function cautionIn(catalogue: Catalogue | undefined, caution: string): string {
  if (!catalogue || caution === '') return caution
  const known: Readonly<Record<string, string>> = catalogue.cautions
  return cautionParts(caution, Object.keys(known))
    .map(({ lead, text }) => known[lead] ?? text)
    .join(' ')
}

export function stepIn(catalogue: Catalogue | undefined, step: string, name: string): string {
  const known: Readonly<Record<string, string>> | undefined = catalogue?.steps
  return known?.[step] ?? name
}

export const thingIn = (catalogue: Catalogue | undefined, thing: string): string => catalogue?.things[thing] ?? thing
