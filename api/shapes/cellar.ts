import type { StoredCellar } from '../../db/queries/cellars.ts'
import type { StoredPerson } from '../../db/queries/people.ts'
import type { StoredMachine } from '../../db/queries/vessels.ts'
import { type Booking, EXACT_WEEKS, type Person, type Site } from '../protocol/facts.ts'
import { HOME, travelBetween } from '../protocol/sites.ts'
import { travelOf } from '../schedule/travel.ts'
import { Temporal } from '../time.ts'
import type { CellarWire, MachineWire, PersonWire } from '../wire.ts'

const at = (text: string) => Temporal.Instant.from(text)
const on = (text: string) => Temporal.PlainDate.from(text)

export const cellarToWire = (cellar: StoredCellar, nowAt: Temporal.Instant, planRevision: number): CellarWire => ({
  id: cellar.id,
  name: cellar.name,
  hemisphere: cellar.hemisphere,
  vintage: cellar.vintage,
  zone: cellar.zone,
  units: cellar.units,
  sugarUnit: cellar.sugarUnit,
  language: cellar.language,
  holidays: cellar.holidays.map((h) => ({ on: h.on.toString(), name: h.name })),
  exactWeeks: cellar.exactWeeks ?? EXACT_WEEKS.usual,
  sites: (cellar.sites ?? []).map(({ to, ...site }) => ({ ...site, ...(to ? { to: { ...to } } : {}) })),
  nowAt: nowAt.toString(),
  demo: cellar.demo,
  planRevision,
  version: cellar.version,
})

/** Minutes between sites as the planner counts them; nothing where nobody ever travels. */
export function travelToWire(sites: readonly Site[]): { travel?: { sites: string[]; minutes: number[][] } } {
  const travel = travelOf({ travel: travelBetween(sites) })
  if (!travel) return {}
  return { travel: { sites: [HOME, ...sites.map((s) => s.name)], minutes: travel.minutes.map((row) => [...row]) } }
}

export const bookingsToWire = (list: readonly Booking[]) =>
  list.map((b) => ({ fromAt: b.fromAt.toString(), toAt: b.toAt.toString(), why: b.why }))

export const bookingsFromWire = (list: readonly { fromAt: string; toAt: string; why: string }[]): Booking[] =>
  list.map((b) => ({ fromAt: at(b.fromAt), toAt: at(b.toAt), why: b.why }))

export const machineToWire = (m: StoredMachine): MachineWire => ({
  id: m.id,
  code: m.code,
  kind: m.kind,
  name: m.name,
  capacity: m.capacity,
  ...(m.site === undefined ? {} : { site: m.site }),
  bookings: bookingsToWire(m.bookings),
  version: m.version,
})

export const personToWire = (p: StoredPerson): PersonWire => ({
  id: p.id,
  name: p.name,
  role: p.role,
  post: p.post,
  skills: [...p.skills],
  language: p.language,
  shifts: p.shifts.map((s) => ({
    weekdays: [...s.weekdays],
    startMin: s.startMin,
    endMin: s.endMin,
    ...(s.fromOn ? { fromOn: s.fromOn.toString() } : {}),
    ...(s.untilOn ? { untilOn: s.untilOn.toString() } : {}),
  })),
  ...(p.fromOn ? { fromOn: p.fromOn.toString() } : {}),
  ...(p.untilOn ? { untilOn: p.untilOn.toString() } : {}),
  absences: p.absences.map((a) => ({
    id: a.id,
    fromAt: a.fromAt.toString(),
    toAt: a.toAt.toString(),
    reason: a.reason,
  })),
  ...(p.removedAt ? { removedAt: p.removedAt.toString() } : {}),
  version: p.version,
})

export type PersonInput = Omit<PersonWire, 'id' | 'version' | 'absences' | 'removedAt'>

export const personFromWire = (p: PersonInput, id: string, absences: Person['absences']): Person => ({
  id,
  name: p.name,
  role: p.role,
  post: p.post,
  skills: p.skills,
  language: p.language,
  shifts: p.shifts.map((s) => ({
    weekdays: s.weekdays,
    startMin: s.startMin,
    endMin: s.endMin,
    ...(s.fromOn ? { fromOn: on(s.fromOn) } : {}),
    ...(s.untilOn ? { untilOn: on(s.untilOn) } : {}),
  })),
  ...(p.fromOn ? { fromOn: on(p.fromOn) } : {}),
  ...(p.untilOn ? { untilOn: on(p.untilOn) } : {}),
  absences,
})
