/**
 * Days and small figures as the six languages write them. A browser's own formats take some 30 ms to make the first of
 * on a computer, four times that on a phone, and a list of work needs no more than these. Held against the browser's by
 * a test, day by day.
 *
 * Source of names and patterns: Unicode CLDR, as the browser's formats write them.
 */

interface Names {
  /** From Sunday and from January on. */
  readonly days: string
  readonly longDays: string
  readonly months: string
  readonly longMonths: string
  readonly short: (day: string, n: number, month: string) => string
  readonly long: (day: string, n: number, month: string) => string
  readonly point: '.' | ','
  /** Where they are written otherwise when no date stands around them. */
  readonly alone?: { readonly days: string; readonly months: string }
  /** Between thousands, from so many digits on. */
  readonly group: readonly [sign: string, from: number]
}

const plain = (day: string, n: number, month: string) => `${day} ${n} ${month}`
const monthFirst = (day: string, n: number, month: string) => `${day}, ${month} ${n}`
const withDe = (day: string, n: number, month: string) => `${day}, ${n} de ${month}`

const ENGLISH = {
  days: 'Sun Mon Tue Wed Thu Fri Sat',
  longDays: 'Sunday Monday Tuesday Wednesday Thursday Friday Saturday',
  longMonths: 'January February March April May June July August September October November December',
  point: '.',
  group: [',', 4],
} as const

const NAMES: Readonly<Partial<Record<string, Names>>> = {
  'en-GB': { ...ENGLISH, months: 'Jan Feb Mar Apr May Jun Jul Aug Sept Oct Nov Dec', short: plain, long: plain },
  'en-US': {
    ...ENGLISH,
    months: 'Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec',
    short: monthFirst,
    long: monthFirst,
  },
  es: {
    days: 'dom lun mar mié jue vie sáb',
    longDays: 'domingo lunes martes miércoles jueves viernes sábado',
    months: 'ene feb mar abr may jun jul ago sept oct nov dic',
    longMonths: 'enero febrero marzo abril mayo junio julio agosto septiembre octubre noviembre diciembre',
    short: (day, n, month) => `${day}, ${n} ${month}`,
    long: withDe,
    point: ',',
    group: ['.', 5],
  },
  fr: {
    days: 'dim. lun. mar. mer. jeu. ven. sam.',
    longDays: 'dimanche lundi mardi mercredi jeudi vendredi samedi',
    months: 'janv. févr. mars avr. mai juin juil. août sept. oct. nov. déc.',
    longMonths: 'janvier février mars avril mai juin juillet août septembre octobre novembre décembre',
    short: plain,
    long: plain,
    point: ',',
    group: ['\u202f', 4],
  },
  pt: {
    days: 'dom. seg. ter. qua. qui. sex. sáb.',
    longDays: 'domingo segunda-feira terça-feira quarta-feira quinta-feira sexta-feira sábado',
    months: 'jan. fev. mar. abr. mai. jun. jul. ago. set. out. nov. dez.',
    longMonths: 'janeiro fevereiro março abril maio junho julho agosto setembro outubro novembro dezembro',
    short: withDe,
    long: withDe,
    point: ',',
    group: ['.', 4],
  },
  it: {
    days: 'dom lun mar mer gio ven sab',
    longDays: 'domenica lunedì martedì mercoledì giovedì venerdì sabato',
    months: 'gen feb mar apr mag giu lug ago set ott nov dic',
    longMonths: 'gennaio febbraio marzo aprile maggio giugno luglio agosto settembre ottobre novembre dicembre',
    short: plain,
    long: plain,
    point: ',',
    group: ['.', 5],
  },
  de: {
    days: 'So. Mo. Di. Mi. Do. Fr. Sa.',
    longDays: 'Sonntag Montag Dienstag Mittwoch Donnerstag Freitag Samstag',
    months: 'Jan. Feb. März Apr. Mai Juni Juli Aug. Sept. Okt. Nov. Dez.',
    alone: { days: 'So Mo Di Mi Do Fr Sa', months: 'Jan Feb Mär Apr Mai Jun Jul Aug Sep Okt Nov Dez' },
    longMonths: 'Januar Februar März April Mai Juni Juli August September Oktober November Dezember',
    short: (day, n, month) => `${day}, ${n}. ${month}`,
    long: (day, n, month) => `${day}, ${n}. ${month}`,
    point: ',',
    group: ['.', 4],
  },
}

/**
 * `Tue 23 Mar`, or `Tuesday 23 March`.
 *
 * @param wallMs what the wall clock shows, written as if it were UTC, ms
 * @returns nothing for a language that is not ours
 */
export function dayWritten(language: string, form: 'short' | 'long', wallMs: number): string | undefined {
  const names = NAMES[language]
  if (!names) return undefined
  const wall = new Date(wallMs)
  const isShort = form === 'short'
  const day = (isShort ? names.days : names.longDays).split(' ')[wall.getUTCDay()] ?? ''
  const month = (isShort ? names.months : names.longMonths).split(' ')[wall.getUTCMonth()] ?? ''
  return names[form](day, wall.getUTCDate(), month)
}

/** Names as they stand alone: days from Sunday on, months from January on; nothing for a language that is not ours. */
export function namesWritten(language: string, of: 'days' | 'months' | 'longMonths'): readonly string[] | undefined {
  const names = NAMES[language]
  return names && (of === 'longMonths' ? names.longMonths : (names.alone ?? names)[of]).split(' ')
}

/** As it is shown on a clock of 24 hours, `08:30`. */
export const timeWritten = (wallMs: number): string => new Date(wallMs).toISOString().slice(11, 16)

/** No work of a cellar has more litres. */
const MOST = 999_999

/**
 * A figure with at most so many places, halves away from zero, no zeros at its end.
 *
 * @returns nothing for negative and very large figures, and for a language that is not ours
 */
export function figureWritten(language: string, value: number, places: number): string | undefined {
  const names = NAMES[language]
  if (!names || !(value === 0 || (value >= 1e-6 && value <= MOST))) return undefined
  const [whole = '', part = ''] = String(value).split('.')
  const up = (part[places] ?? '0') >= '5' ? 1 : 0
  const scaled = String(Number(whole + part.slice(0, places).padEnd(places, '0')) + up).padStart(places + 1, '0')
  const units = grouped(scaled.slice(0, scaled.length - places), names.group)
  const rest = scaled.slice(scaled.length - places).replace(/0+$/, '')
  return rest === '' || places === 0 ? units : `${units}${names.point}${rest}`
}

const grouped = (units: string, [sign, from]: Names['group']): string =>
  units.length < from ? units : `${units.slice(0, -3)}${sign}${units.slice(-3)}`
