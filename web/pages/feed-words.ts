import type { FeedWire } from '../queries.ts'

export const FEED_LANGUAGE_WORDS = {
  en: 'English',
  es: 'Español',
  fr: 'Français',
  pt: 'Português',
  it: 'Italiano',
  de: 'Deutsch',
} as const

export type FeedLanguage = keyof typeof FEED_LANGUAGE_WORDS

export const ALARM_WORDS = {
  none: 'None',
  usual: 'For work that others wait for',
  all: 'For everything, half an hour before',
} as const

export type Alarms = keyof typeof ALARM_WORDS

/** Minutes before the start, by family. The usual ones are common practice: what others wait for rings. */
export const ALARM_MIN: Readonly<Record<Alarms, FeedWire['alarmMin']>> = {
  none: {},
  usual: { juice: 30, move: 30, ferment: 15, protect: 30 },
  all: { juice: 30, move: 30, ferment: 30, protect: 30, check: 30, lees: 30 },
}

/** Which of the three choices a feed's alarms are nearest to. */
export function alarmsOf(alarmMin: FeedWire['alarmMin']): Alarms {
  const count = Object.keys(alarmMin).length
  return count === 0 ? 'none' : count >= 6 ? 'all' : 'usual'
}
