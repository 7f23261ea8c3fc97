/** What happens in a story of the invented cellar, told through the API as a person would from the screen. */
import type { LotWire, MachineWire, PhaseWire, TaskWire, VesselWire } from '../../../api/wire.ts'
import { type Demo, local } from '../demo.ts'

export interface LotFull {
  readonly lot: LotWire
  readonly tasks: readonly TaskWire[]
  readonly phases: readonly PhaseWire[]
  readonly history: readonly {
    readonly kind: string
    readonly words: string
    readonly personId?: string
    readonly taskKey?: string
  }[]
}

export const OPEN: readonly string[] = ['planned', 'due', 'blocked', 'underway']

export type Story = ReturnType<typeof storyOf>

export const storyOf = (demo: Demo) => {
  const lead = demo.as('alex')
  const lot = async (code: string) => (await lead<LotFull>('GET', `/api/lots/${code}`)).body
  const bookings = async (id: string, next: (known: MachineWire['bookings']) => MachineWire['bookings']) => {
    const machines = (await lead<{ machines: MachineWire[] }>('GET', '/api/machines')).body.machines
    const { code, kind, name, capacity, bookings: known, version } = machines.find((m) => m.id === id)!
    const body = { code, kind, name, capacity, version, bookings: next(known) }
    return lead<{ changed: TaskWire[] }>('PUT', `/api/machines/${id}`, body)
  }
  return {
    ...demo,
    lead,
    lot,
    /** Changes what is known of a lot, over the version that was read. */
    change: async (code: string, patch: Record<string, unknown>) => {
      const { name, variety, block, place, vintage, fruit, pickOn, version } = (await lot(code)).lot
      const { fruit: more, ...rest } = patch as { fruit?: object }
      const body = { name, variety, block, place, vintage, pickOn, version, ...rest, fruit: { ...fruit, ...more } }
      return lead<{ changed: TaskWire[] }>('PUT', `/api/lots/${code}`, body)
    },
    choose: async (code: string, patch: Record<string, unknown>, signed: unknown[] = []) => {
      const now = (await lot(code)).lot
      const choices = Object.fromEntries(Object.entries({ ...now.choices, ...patch }).filter(([, v]) => v !== null))
      return lead<{ changed: TaskWire[] }>('PUT', `/api/lots/${code}/choices`, {
        choices,
        signed,
        version: now.choicesVersion,
      })
    },
    bookMachine: async (id: string, fromAt: string, toAt: string, why: string) =>
      bookings(id, (known) => [...known, { fromAt, toAt, why }]),
    /** It is there after all. */
    unbookMachine: async (id: string) => bookings(id, () => []),
    bookVessel: async (id: string, fromAt: string, toAt: string, why: string) => {
      const vessels = (await lead<{ vessels: VesselWire[] }>('GET', '/api/vessels')).body.vessels
      const { now: _n, next: _x, id: _i, bookings, ...rest } = vessels.find((v) => v.id === id)!
      return lead('PUT', `/api/vessels/${id}`, { ...rest, bookings: [...bookings, { fromAt, toAt, why }] })
    },
    away: async (id: string, fromAt: string, toAt: string) => {
      const people = (await lead<{ people: { id: string; version: number }[] }>('GET', '/api/people')).body.people
      const { version } = people.find((p) => p.id === id)!
      return lead('POST', `/api/people/${id}/absences`, { fromAt, toAt, reason: 'ill', version })
    },
    /** Told from the floor, as the problem screen does. */
    trouble: (body: Record<string, unknown>, by = 'kim') =>
      demo.as(by)<{ id: string; changed: TaskWire[] }>('POST', '/api/troubles', { id: crypto.randomUUID(), ...body }),
    open: async (code?: string) =>
      (await demo.tasks()).filter((t) => OPEN.includes(t.state) && (code === undefined || t.lotCode === code)),
    broken: async () =>
      (
        await lead<{ broken: { strength: string; words: string; rule: string; taskKeys: string[] }[] }>(
          'GET',
          '/api/plan',
        )
      ).body.broken,
  }
}

/** `03-24` of a moment on the cellar's clock. */
export const dayOf = (at: string): string => local(at).slice(0, 5)

export const daysBetween = (a: string, b: string): number => Math.round((Date.parse(b) - Date.parse(a)) / 86_400_000)
