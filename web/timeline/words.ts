/** Dates and lengths in words, in the reader's language and the cellar's zone. */
import { shownMs } from '../wall-clock.ts'
import { dayWritten, namesWritten, timeWritten } from '../written.ts'
import { later } from './later.ts'

export interface Words {
  readonly zone: string
  readonly months: readonly string[]
  readonly monthsShort: readonly string[]
  /** Monday first. */
  readonly weekdays: readonly string[]
  day(atMs: number): string
  dayShort(atMs: number): string
  time(atMs: number): string
  moment(atMs: number): string
  momentLong(atMs: number): string
}

/** Plain `en` would put the month first; a cellar reads 3 April, not April 3. */
const dayFirst = (language: string): string => (language === 'en' ? 'en-GB' : language)

/** Each form of a date costs milliseconds to set up: none for our own languages, and none before it is needed. */
export function wordsFor(spoken: string, zone: string): Words {
  const language = dayFirst(spoken)
  const form = (options: Intl.DateTimeFormatOptions) =>
    later(() => new Intl.DateTimeFormat(language, { timeZone: zone, ...options }))
  const names = (options: Intl.DateTimeFormatOptions, moments: readonly number[]) => {
    const named = new Intl.DateTimeFormat(language, { timeZone: 'UTC', ...options })
    return moments.map((ms) => named.format(ms))
  }
  const twelve = Array.from({ length: 12 }, (_, i) => Date.UTC(2026, i, 15))
  // 5 January 2026 is a Monday.
  const seven = Array.from({ length: 7 }, (_, i) => Date.UTC(2026, 0, 5 + i))
  const months = later(() => namesWritten(language, 'longMonths') ?? names({ month: 'long' }, twelve))
  const monthsShort = later(() => namesWritten(language, 'months') ?? names({ month: 'short' }, twelve))
  const weekdays = later(() => mondayFirst(namesWritten(language, 'days')) ?? names({ weekday: 'short' }, seven))
  const otherDay = form({ weekday: 'long', day: 'numeric', month: 'long' })
  const otherDayShort = form({ weekday: 'short', day: 'numeric', month: 'short' })
  const day = (ms: number) => dayWritten(language, 'long', shownMs(ms, zone)) ?? otherDay().format(ms)
  const dayShort = (ms: number) => dayWritten(language, 'short', shownMs(ms, zone)) ?? otherDayShort().format(ms)
  const time = (ms: number) => timeWritten(shownMs(ms, zone))
  return {
    zone,
    get months() {
      return months()
    },
    get monthsShort() {
      return monthsShort()
    },
    get weekdays() {
      return weekdays()
    },
    day,
    dayShort,
    time,
    moment: (ms) => `${dayShort(ms)} ${time(ms)}`,
    momentLong: (ms) => `${day(ms)}, ${time(ms)}`,
  }
}

/** The days of [fromMs, toMs): one where it is one, their years where these differ. */
export function daysWords(
  words: Pick<Words, 'zone'>,
  day: (ms: number) => string,
  fromMs: number,
  toMs: number,
): string {
  const ends = [fromMs, toMs - 1]
  const years = ends.map((ms) => new Date(shownMs(ms, words.zone)).getUTCFullYear())
  const told = ends.map((ms, i) => (years[0] === years[1] ? day(ms) : `${day(ms)} ${years[i]}`))
  return [...new Set(told)].join(' to ')
}

const mondayFirst = (days: readonly string[] | undefined) => days && [...days.slice(1), ...days.slice(0, 1)]

export function lengthWords(ms: number): string {
  const min = Math.round(ms / 60_000)
  if (min < 60) return `${min} min`
  const h = min / 60
  if (h < 48) return `${Number.isInteger(h) ? h : h.toFixed(1)} h`
  const days = h / 24
  if (days < 21) return `${Math.round(days)} days`
  return `${Math.round(days / 7)} weeks`
}

export const STATE_WORDS = {
  planned: 'planned',
  due: 'due',
  underway: 'under way',
  done: 'done',
  skipped: 'skipped',
  cancelled: 'cancelled',
  blocked: 'blocked',
} as const

export const FAMILY_WORDS = {
  juice: 'juice',
  ferment: 'ferment',
  check: 'check',
  move: 'move',
  lees: 'lees',
  protect: 'protect',
} as const
