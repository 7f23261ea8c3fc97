import { Temporal } from '../../time.ts'
import type { TrialChange } from './change.ts'

export interface TrialNames {
  readonly zone: string
  /** `L03 Chardonnay east`, `Kim`, `PA`, `T04` for an id. */
  readonly nameOf: (id: string) => string
  /** `L03 load press` for a task key. */
  readonly taskOf: (key: string) => string
}

const DAYS = ['Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat', 'Sun'] as const
const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'] as const

/** One change in one sentence. */
export function changeWords(change: TrialChange, names: TrialNames): string {
  const { nameOf, taskOf, zone } = names
  const span = (from: string, to: string) => `from ${momentWords(from, zone)} to ${momentWords(to, zone)}`
  switch (change.kind) {
    case 'pick':
      return `${nameOf(change.lot)} is picked on ${dayWords(change.pickOn)}`
    case 'move': {
      const who = change.people?.length ? ` by ${change.people.map(nameOf).join(' and ')}` : ''
      return `${taskOf(change.taskKey)} is done on ${momentWords(change.startAt, zone)}${who}`
    }
    case 'more-fruit':
      return `${change.tonnes} t more like ${nameOf(change.like)} come on ${dayWords(change.on)}, as ${change.code}`
    case 'fruit':
      return `${nameOf(change.lot)} comes with ${fruitWords(change.fruit)}`
    case 'machine-down':
      return `${nameOf(change.machine)} cannot be used ${span(change.fromAt, change.toAt)}${because(change.why)}`
    case 'away':
      return `${nameOf(change.person)} is away ${span(change.fromAt, change.toAt)}${because(change.reason)}`
    case 'stay':
      return `${nameOf(change.person)} stays until ${hourWords(change.untilMin)} on ${dayWords(change.on)}`
    case 'choices':
      return `${nameOf(change.lot)}: ${Object.entries(change.choices)
        .map(([key, value]) => `${choiceWord(key)} ${said(value)}`)
        .join(', ')}`
    case 'vessel':
      return `${nameOf(change.lot)} goes to ${change.vessels.map(nameOf).join(', ')} to ${change.hold}`
  }
}

const because = (why: string) => (why ? ` (${why})` : '')

/** `19:30` of minutes of a day; `03:00 the next day` of a shift that ends past midnight. */
export function hourWords(min: number): string {
  const of = min > 1440 ? min - 1440 : min
  const clock = `${String(Math.floor(of / 60)).padStart(2, '0')}:${String(of % 60).padStart(2, '0')}`
  return min > 1440 ? `${clock} the next day` : clock
}

/** `Fri 12 Mar` */
export function dayWords(on: string): string {
  const day = Temporal.PlainDate.from(on)
  return `${DAYS[day.dayOfWeek - 1]} ${day.day} ${MONTHS[day.month - 1]}`
}

/** `Fri 12 Mar 14:00` on the cellar's clock. */
export function momentWords(at: string | Temporal.Instant, zone: string): string {
  const z = (typeof at === 'string' ? Temporal.Instant.from(at) : at).toZonedDateTimeISO(zone)
  const two = (n: number) => String(n).padStart(2, '0')
  return `${dayWords(z.toPlainDate().toString())} ${two(z.hour)}:${two(z.minute)}`
}

const FRUIT: Readonly<Record<string, (value: number) => string>> = {
  tonnes: (v) => `${v} t`,
  brix: (v) => `${v} Brix`,
  pH: (v) => `pH ${v}`,
  acidGPerLTartaric: (v) => `${v} g/L acid`,
  malicGPerL: (v) => `${v} g/L malic`,
  yanMgPerL: (v) => `${v} mg/L nitrogen`,
  fruitTempC: (v) => `${v} C at the scale`,
  rotPct: (v) => `${v} % rot`,
  yieldLPerT: (v) => `${v} L/t`,
}

const fruitWords = (fruit: object): string =>
  Object.entries(fruit)
    .map(([key, value]) => FRUIT[key]?.(Number(value)) ?? `${key} ${String(value)}`)
    .join(', ')

const UNITS: readonly (readonly [ending: string, unit: string])[] = [
  ['EndTempC', ' at the end, C'],
  ['TempC', ' temperature, C'],
  ['SugarGPerL', ' sugar, g/L'],
  ['MgPerL', ', mg/L'],
  ['GPerHL', ', g/hL'],
  ['GPerL', ', g/L'],
  ['ToC', ' to, C'],
  ['C', ', C'],
  ['H', ', h'],
]

/** `fermentTempC` as `ferment temperature, C:`. */
function choiceWord(key: string): string {
  const found = UNITS.find(([ending]) => key.endsWith(ending))
  const stem = found ? key.slice(0, -found[0].length) : key
  const words = stem.replaceAll(/([a-z])([A-Z])/g, '$1 $2').toLowerCase()
  return `${words}${found?.[1] ?? ''}:`
}

const said = (value: unknown): string =>
  value === null ? 'none' : typeof value === 'string' ? value.replaceAll('-', ' ') : JSON.stringify(value)
