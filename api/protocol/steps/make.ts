import type { Basis, Step, StepLink } from '../types.ts'

/** A step says only what is not the usual. */
type Draft = Partial<Step> & Pick<Step, 'id' | 'nr' | 'stage' | 'family' | 'names' | 'trigger' | 'labourH' | 'elapsedH'>

const USUAL = {
  after: [],
  crew: 1,
  skills: [],
  machines: [],
  onHolidays: false,
  repeats: 'once',
  records: [],
  writeDown: [],
  doses: [],
  alarms: [],
  skippable: 'no',
  skipNote: '',
  interruptible: false,
  caution: '',
  materials: [],
  movesVolume: false,
  countsAsAddition: false,
  basis: { kind: 'common-practice' },
} as const

export const step = (draft: Draft): Step => ({ ...USUAL, ...draft })

type LinkOf = (
  prev: string,
  from: StepLink['from'],
  minH: number,
  maxH: number,
  note?: string,
  scope?: StepLink['scope'],
) => StepLink

const linkOf =
  (strength: StepLink['strength']): LinkOf =>
  (prev, from, minH, maxH, note, scope) => ({
    prev,
    from,
    minH,
    maxH,
    strength,
    ...(note ? { note } : {}),
    ...(scope ? { scope } : {}),
  })

/** Refuse or ask the winemaker. */
export const hard = linkOf('hard')
/** Warn. */
export const soft = linkOf('soft')
/** One of the alternatives that apply must hold. */
export const alt = linkOf('alt')

/** `clock('06:00', '12:00')`: minutes of the local day. */
export const clock = (from: string, to: string): readonly [number, number] => [minuteOfDay(from), minuteOfDay(to)]

/** At least one value of each named field was read in a source; all other numbers are common practice. */
export const source = (refs: readonly string[], fields: readonly string[]): Basis => ({
  kind: 'source',
  refs,
  note: `read for: ${fields.join(', ')}; the rest is common practice`,
})

function minuteOfDay(time: string): number {
  const [hour, minute] = time.split(':').map(Number)
  if (hour === undefined || minute === undefined) throw new RangeError(`time must be HH:MM, got ${time}`)
  return hour * 60 + minute
}
