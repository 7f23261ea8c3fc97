import { createContext, createEffect, createMemo, createSignal, type JSX, onCleanup, useContext } from 'solid-js'
import type { Role } from '../api/protocol/facts.ts'
import type { CellarWire } from '../api/wire.ts'
import { addDays, createFormat, dayOf, type Format, msOf } from './format.ts'
import type { Me } from './queries.ts'
import { speak } from './words/words.ts'

export type Person = NonNullable<Me['person']>

/** Who reads, in which cellar, and what time it is there. Every page behind the sign-in has one. */
export interface Session {
  readonly person: () => Person
  readonly cellar: () => CellarWire
  readonly format: () => Format
  /** The cellar's clock, which in the demo may be another year. Moves every half minute. */
  readonly nowMs: () => number
  /** A moment of the device's clock on the cellar's, ms. */
  readonly onCellarClock: (deviceMs: number) => number
  /** The cellar's day, `2027-03-23`. */
  readonly today: () => string
  readonly dayFromNow: (days: number) => string
  /** May change plans, people, vessels. */
  readonly leads: () => boolean
  /** May tick, measure, note. */
  readonly works: () => boolean
}

const Context = createContext<Session>()

const LEADS: readonly Role[] = ['owner', 'winemaker']
const WORKS: readonly Role[] = ['owner', 'winemaker', 'hand', 'lab']

export function SessionProvider(props: {
  readonly person: Person
  readonly cellar: CellarWire
  readonly children: JSX.Element
}) {
  const [tick, setTick] = createSignal(Date.now())
  const timer = setInterval(() => setTick(Date.now()), 30_000)
  onCleanup(() => clearInterval(timer))
  // How far the cellar's clock is from the device's: the demo may live in another year.
  const offsetMs = createMemo(() => msOf(props.cellar.nowAt) - Date.now())
  const nowMs = createMemo(() => Math.max(tick(), Date.now()) + offsetMs())
  const today = createMemo(() => dayOf(nowMs(), props.cellar.zone))
  const format = createMemo(() => createFormat(props.cellar, props.person.language || props.cellar.language))
  // The person's language, whoever's phone it is.
  createEffect(() => void speak(props.person.language || props.cellar.language))
  const session: Session = {
    person: () => props.person,
    cellar: () => props.cellar,
    format,
    nowMs,
    onCellarClock: (deviceMs) => deviceMs + offsetMs(),
    today,
    dayFromNow: (days) => addDays(today(), days),
    leads: () => LEADS.includes(props.person.role),
    works: () => WORKS.includes(props.person.role),
  }
  return <Context.Provider value={session}>{props.children}</Context.Provider>
}

export function useSession(): Session {
  const session = useContext(Context)
  if (!session) throw new Error('useSession needs a SessionProvider above it')
  return session
}
