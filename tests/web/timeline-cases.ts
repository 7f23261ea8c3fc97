/** A small plan of known answers for the timeline's tests. */
import type { MachineWire, PersonWire, PhaseWire, TaskWire, VesselWire } from '../../api/wire.ts'
import type { SeasonPlan } from '../../web/timeline/model.ts'

export const HOUR = 3_600_000
export const DAY = 24 * HOUR
export const iso = (ms: number): string => new Date(ms).toISOString().replace('.000Z', 'Z')

export function task(key: string, startMs: number, hours: number, more: Partial<TaskWire> = {}): TaskWire {
  const [lot = 'L01'] = key.split('/')
  return {
    key,
    lotId: `id-${lot}`,
    lotCode: lot,
    lotName: `Lot ${lot}`,
    step: 'read-density',
    family: 'check',
    name: 'Read density',
    detail: '',
    startAt: iso(startMs),
    endAt: iso(startMs + hours * HOUR),
    grain: 'minute',
    crewMin: hours * 60,
    people: [],
    crew: 1,
    fromVessels: [],
    toVessels: [],
    machines: [],
    state: 'planned',
    late: false,
    earliestAt: iso(startMs - 2 * DAY),
    latestAt: iso(startMs + 2 * DAY),
    slackMin: 2880,
    forecast: false,
    pinned: false,
    doses: [],
    records: [],
    caution: '',
    materials: [],
    why: '',
    whyNotLater: '',
    prev: [],
    next: [],
    conflicts: [],
    broken: [],
    revision: 1,
    changedAt: iso(startMs),
    ...more,
  }
}

export function phase(
  lot: string,
  kind: PhaseWire['kind'],
  fromMs: number,
  toMs: number,
  more: Partial<PhaseWire> = {},
): PhaseWire {
  return {
    key: `${lot}/${kind}`,
    lotId: `id-${lot}`,
    lotCode: lot,
    kind,
    vessels: [{ code: 'T01', kind: 'tank' }],
    volumeL: 5000,
    startAt: iso(fromMs),
    endAt: iso(toMs),
    ratePerDay: [],
    tempC: 14,
    ...more,
  }
}

export const person = (id: string, startMin: number, endMin: number, more: Partial<PersonWire> = {}): PersonWire => ({
  id,
  name: id.toUpperCase(),
  role: 'hand',
  post: 'cellar hand',
  skills: [],
  language: 'en',
  shifts: [{ weekdays: [1, 2, 3, 4, 5], startMin, endMin }],
  absences: [],
  version: 1,
  ...more,
})

export const vessel = (code: string, volumeL: number, more: Partial<VesselWire> = {}): VesselWire => ({
  id: `v-${code}`,
  code,
  kind: 'tank',
  volumeL,
  jacket: true,
  insulated: false,
  pressureBar: 0,
  state: 'clean',
  now: null,
  next: [],
  bookings: [],
  version: 1,
  ...more,
})

export const machine = (code: string, kind: MachineWire['kind'], more: Partial<MachineWire> = {}): MachineWire => ({
  id: `m-${code}`,
  code,
  kind,
  name: code,
  capacity: 1,
  bookings: [],
  version: 1,
  ...more,
})

export const plan = (
  tasks: readonly TaskWire[],
  phases: readonly PhaseWire[] = [],
  more: Partial<SeasonPlan> = {},
): SeasonPlan => ({
  tasks,
  phases,
  people: [],
  vessels: [],
  machines: [],
  conflicts: [],
  broken: [],
  revision: 1,
  ...more,
})

export const T0 = Date.UTC(2027, 2, 1)

/** Twelve lots with a reading every day and a half each, some late, some tight, all tied one to the next. */
export const VINTAGE = vintage()

function vintage() {
  const codes = ['L01', 'L02', 'L03', 'L04', 'L05', 'L06', 'L07', 'L08', 'L09', 'L10', 'L11', 'L12']
  const tasks = codes.flatMap((code, row) =>
    Array.from({ length: 30 }, (_, i) =>
      task(`${code}/read/${i}`, T0 + (i * 37 + row * 11) * HOUR, 1 + (i % 5), {
        late: i % 13 === 0,
        slackMin: i % 3 === 0 ? 600 : 0,
        latestAt: iso(T0 + (i * 37 + row * 11 + 10) * HOUR),
        prev: i > 0 ? [`${code}/read/${i - 1}`] : [],
        next: i < 29 ? [`${code}/read/${i + 1}`] : [],
      }),
    ),
  )
  const phases = codes.flatMap((code) => [
    phase(code, 'ferment', T0, T0 + 18 * DAY, { ratePerDay: Array(18).fill(12) }),
    phase(code, 'lees', T0 + 18 * DAY, T0 + 50 * DAY),
  ])
  return { codes, tasks, phases }
}
