import type { BrokenRule, Cause } from '../schedule/types.ts'
import { momentAt, type Temporal } from '../time.ts'
import type { Cellar } from './facts.ts'

/** Names behind ids, and the clock they are told in. */
export interface Speech {
  readonly startAt: Temporal.Instant
  readonly cellar: Cellar
  readonly nameOf: (id: string) => string
  /** `L02: press` for a task key. */
  readonly taskOf: (key: string) => string
  readonly endOf: (key: string) => number | undefined
  readonly startOf: (key: string) => number | undefined
  /** Of work that is planned to the day no hour is told. */
  readonly isByDay: (key: string) => boolean
  /** ` t` of a cold room. */
  readonly measureOf: (id: string) => string
}

const DAYS = ['Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat', 'Sun'] as const
const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'] as const

/** `Fri 12 Mar 14:00` in the cellar's zone. */
export function moment(speech: Speech, min: number): string {
  const z = momentAt(speech.startAt, Math.round(min)).toZonedDateTimeISO(speech.cellar.zone)
  const two = (n: number) => String(n).padStart(2, '0')
  return `${day(speech, min)} ${two(z.hour)}:${two(z.minute)}`
}

/** `Fri 12 Mar` in the cellar's zone. */
export function day(speech: Speech, min: number): string {
  const z = momentAt(speech.startAt, Math.round(min)).toZonedDateTimeISO(speech.cellar.zone)
  return `${DAYS[z.dayOfWeek - 1]} ${z.day} ${MONTHS[z.month - 1]}`
}

/** What a day gives: `hands`, `skill press` or `pool pump` in words. */
export function gives(ref: string): string {
  const name = ref.replace(/^(skill|pool) /, '').replaceAll('-', ' ')
  if (ref.startsWith('pool ')) return `${name} time`
  return ref.startsWith('skill ') ? `working time of people with ${name}` : 'working time'
}

/** `, it goes to L01 rack 6 h, L02 filter 3 h`: the work that takes most of a full day. */
export function filledBy({ fills = [] }: Cause, taskOf: (key: string) => string): string {
  return fills.length === 0 ? '' : `, it goes to ${fills.map((f) => `${taskOf(f.key)} ${span(f.minutes)}`).join(', ')}`
}

export function span(min: number): string {
  const whole = Math.max(0, Math.round(min))
  if (whole < 60) return `${whole} min`
  if (whole < 48 * 60) return `${trim(whole / 60)} h`
  return `${trim(whole / 1440)} days`
}

const trim = (n: number): string => String(Math.round(n * 10) / 10)

/** The first work of each other lot that wants the same. */
function beside(tasks: readonly string[], speech: Speech): string {
  const lotOf = (key: string) => key.split('/')[0]
  const others = tasks.filter((key, k) => k > 0 && tasks.findIndex((o) => lotOf(o) === lotOf(key)) === k)
  return others.length > 0 ? `, beside ${others.map(speech.taskOf).join(' and ')}` : ''
}

/** Why a task starts no earlier, in one sentence. */
export function whyNotEarlier(causes: readonly Cause[], speech: Speech): string {
  const cause = causes[0]
  if (!cause) return 'as early as the plan begins'
  const until = (key = '') => {
    const end = speech.endOf(key)
    return end === undefined ? '' : ` until ${speech.isByDay(key) ? day(speech, end) : moment(speech, end)}`
  }
  switch (cause.kind) {
    case 'link':
      return cause.lagMin && cause.lagMin > 0
        ? `no earlier: ${span(cause.lagMin)} after ${speech.taskOf(cause.ref ?? '')}`
        : `no earlier: follows ${speech.taskOf(cause.ref ?? '')}${until(cause.ref)}`
    case 'person':
      return `no earlier: ${speech.nameOf(cause.ref ?? '')} has other work`
    case 'travel':
      return `no earlier: ${speech.nameOf(cause.ref ?? '')} is ${span(cause.lagMin ?? 0)} on the way from ${speech.taskOf(cause.by ?? '')}`
    case 'unit':
      return `no earlier: ${speech.nameOf(cause.ref ?? '')} is taken`
    case 'window':
      return 'no earlier: its hours of the day begin then'
    case 'shift':
      return `no earlier: ${cause.ref ? `${speech.nameOf(cause.ref)} starts` : 'the shift starts'} then`
    case 'release':
      return 'no earlier: that is when the fruit, the day or the forecast allows it'
    case 'deadline':
      return 'set by its deadline'
    case 'pin':
      return 'a person fixed it'
    case 'done':
      return 'this is when it happened'
    case 'bias':
      return 'wanted then; it could be earlier'
    case 'day':
      return `no earlier: ${day(speech, cause.dayMin ?? 0)} has no more ${gives(cause.ref ?? '')} left${filledBy(cause, speech.taskOf)}`
    case 'previous':
      return 'kept where the last plan had it'
    case 'now':
      return 'as soon as possible from now'
  }
}

export function whyNotLater(causes: readonly Cause[], speech: Speech): string {
  const cause = causes[0]
  if (!cause) return 'nothing hurries it'
  if (cause.kind === 'link') return `no later: ${speech.taskOf(cause.ref ?? '')} needs it in time`
  if (cause.kind === 'travel')
    return `no later: ${speech.nameOf(cause.ref ?? '')} is ${span(cause.lagMin ?? 0)} on the way to ${speech.taskOf(cause.by ?? '')}`
  if (cause.kind === 'deadline') return 'no later: the booked day'
  if (cause.kind === 'pin') return 'a person fixed it'
  if (cause.kind === 'done') return 'this is when it happened'
  if (cause.kind === 'bias') return 'wanted then; it could be later'
  return `no later: ${cause.ref ? speech.nameOf(cause.ref) : 'what comes after'}`
}

/** A broken rule, said with names. */
export function brokenWords(broken: BrokenRule, speech: Speech): string {
  const [a = '', b = ''] = broken.tasks
  const by = broken.by ?? 0
  const because = broken.reason ? ` (${broken.reason})` : ''
  const ref = broken.ref ? speech.nameOf(broken.ref) : ''
  switch (broken.rule) {
    case 'link-too-short':
      return `${speech.taskOf(b)} begins ${span(by)} too soon after ${speech.taskOf(a)}${because}`
    case 'link-too-long':
      return `${speech.taskOf(b)} begins ${span(by)} too late after ${speech.taskOf(a)}${because}`
    case 'unit-taken':
      return `${ref} ${broken.reason ?? 'is promised twice'}: ${broken.tasks.map(speech.taskOf).join(' and ')}`
    case 'person-taken':
      return `${ref} has two things at once: ${broken.tasks.map(speech.taskOf).join(' and ')}`
    case 'travel-short':
      return `${ref} has ${span(by)} too little for the way from ${speech.taskOf(a)} to ${speech.taskOf(b)}`
    case 'no-person':
      return `nobody ${ref ? `with ${ref} ` : ''}is free for ${speech.taskOf(a)}${because}`
    case 'no-unit':
      return `no vessel or machine is found for ${speech.taskOf(a)}${because}`
    case 'outside-shift':
      return `${speech.taskOf(a)} lies outside the shift${ref ? ` of ${ref}` : ''}`
    case 'outside-window':
      return `${speech.taskOf(a)} starts outside its hours of the day`
    case 'before-release':
      return `${speech.taskOf(a)} begins ${span(by)} before it can`
    case 'after-due':
      return `${speech.taskOf(a)} is ${span(by)} late${because}`
    case 'pool-short':
      return `${ref || 'a machine'} is short by ${trim(by)}${speech.measureOf(broken.ref ?? '')} for ${speech.taskOf(a)}${beside(broken.tasks, speech)}`
    case 'day-full':
      return `${day(speech, broken.dayMin ?? 0)} asks for ${span(by)} more ${gives(broken.ref ?? '')} than there is: ${broken.tasks.map(speech.taskOf).join(', ')}`
    case 'beyond-horizon':
      return `${speech.taskOf(a)} lies beyond the plan`
    case 'cycle':
      return `these wait for each other: ${broken.tasks.map(speech.taskOf).join(', ')}`
  }
}
