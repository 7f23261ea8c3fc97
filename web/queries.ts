/** What pages ask for. One name per question, so that a change in the cellar makes all of them fresh. */
import type { PublicKeyCredentialRequestOptionsJSON } from '@simplewebauthn/browser'
import { keepPreviousData, QueryClient, useMutation, useQuery, useQueryClient } from '@tanstack/solid-query'
import type { Choices } from '../api/protocol/choices.ts'
import type { Role } from '../api/protocol/facts.ts'
import type {
  CellarWire,
  ConflictWire,
  DrawnTaskWire,
  LotWire,
  MachineWire,
  PersonWire,
  PhaseWire,
  ReadingWire,
  TaskWire,
  VesselWire,
} from '../api/wire.ts'
import { get, getRead, isRefusal, post, query, taskPath } from './api.ts'

export const createQueries = () =>
  new QueryClient({
    defaultOptions: {
      queries: {
        staleTime: 15_000,
        gcTime: 24 * 3_600_000,
        // What the server refuses it will refuse again; a lost connection may come back.
        retry: (count, error) =>
          count < 2 && isRefusal(error) && (error.problem.status === 0 || error.problem.status >= 502),
        networkMode: 'always',
        refetchOnWindowFocus: true,
        placeholderData: keepPreviousData,
      },
      mutations: { networkMode: 'always', retry: false },
    },
  })

/**
 * An answer that is read as a whole and never in part. The store watches plain objects only, field by field, and goes
 * through all of them whenever a query so much as begins to ask again: a plan has a hundred thousand.
 */
export const whole = <T extends object>(answer: T): T => Object.setPrototypeOf(answer, WHOLE) as T
const WHOLE = Object.create(Object.prototype) as object

export interface Me {
  readonly person: {
    readonly id: string
    readonly name: string
    readonly role: Role
    readonly language: string
    readonly post: string
    readonly version: number
    readonly hasPassword: boolean
    readonly signInName?: string
    readonly proof: 'link' | 'password' | 'passkey'
    readonly passkeys: number
    readonly recoveryCodes: number
  } | null
  readonly cellar: { readonly id: string; readonly name: string } | null
  /** All one works in; empty for those who came by link. */
  readonly cellars: readonly { readonly id: string; readonly name: string; readonly role: Role }[]
  readonly locked: boolean
  /** The password was right; a passkey or a code has to follow. */
  readonly second?: { readonly passkey: PublicKeyCredentialRequestOptionsJSON | null }
  /** A phone that several people share, and the others on it. */
  readonly device: {
    readonly mine: boolean
    readonly seats: readonly { readonly id: string; readonly name: string }[]
  } | null
  readonly setup: boolean
  readonly demo: boolean
}

export interface PlanWire {
  readonly tasks: DrawnTaskWire[]
  readonly phases: PhaseWire[]
  readonly broken: TaskWire['broken']
  readonly conflicts: ConflictWire[]
  readonly people: PersonWire[]
  readonly vessels: VesselWire[]
  readonly machines: MachineWire[]
  readonly revision: number
  readonly plannedAt: string
  readonly nowAt: string
}

export interface ForecastPoint {
  readonly at: string
  readonly sugarGPerL: number
  readonly lowGPerL: number
  readonly highGPerL: number
  readonly tempC: number
}

export interface HistoryWire {
  readonly at: string
  readonly kind: string
  readonly readingId?: string
  readonly words: string
  readonly personId?: string
  readonly taskKey?: string
}

export interface LotPageWire {
  readonly lot: LotWire
  readonly tasks: TaskWire[]
  readonly phases: PhaseWire[]
  readonly readings: ReadingWire[]
  readonly forecast: ForecastPoint[]
  readonly watch?: { readonly kind: string; readonly level: 'note' | 'warn' | 'act'; readonly words: string }[]
  readonly so2?: {
    readonly totalMgPerL: number
    readonly tasted: boolean
    readonly step: string
    readonly limits: {
      readonly regime: string
      readonly limitMgPerL: number
      readonly roomMgPerL: number
      readonly overLimit: boolean
      readonly source: string
      readonly printed: string
      readonly note: string
      readonly memory: boolean
    }[]
  }
  readonly history: HistoryWire[]
  readonly choiceVersions: {
    readonly version: number
    readonly choices: Choices
    readonly at: string
    readonly personId: string | null
  }[]
}

export interface ProtocolWire {
  readonly id: string
  readonly name: string
  readonly choices: Choices
  readonly version: number
  readonly changedAt: string
}

export interface FeedWire {
  readonly id: string
  readonly kind: 'cellar' | 'person' | 'lot' | 'vessels' | 'family'
  readonly subject: string
  readonly name: string
  readonly personId: string
  readonly language: string
  readonly showDoses: boolean
  readonly alarmMin: Partial<Record<TaskWire['family'], number>>
  readonly createdAt: string
  readonly lastFetchAt?: string
  readonly lastClient?: string
}

export const useMe = () => useQuery(() => ({ queryKey: ['me'], queryFn: () => get<Me>('/api/me'), staleTime: 60_000 }))

export interface SessionWire {
  readonly id: string
  readonly client: string
  readonly proof: 'link' | 'password' | 'passkey'
  readonly createdAt: string
  readonly seenAt: string
  readonly shared: boolean
  readonly here: boolean
}

export const useSessions = () =>
  useQuery(() => ({
    queryKey: ['sessions'],
    queryFn: () => get<{ sessions: SessionWire[] }>('/api/me/sessions'),
  }))

export interface PasskeyWire {
  readonly id: string
  readonly name: string
  readonly createdAt: string
  readonly usedAt?: string
}

export const usePasskeys = () =>
  useQuery(() => ({
    queryKey: ['passkeys'],
    queryFn: () => get<{ passkeys: PasskeyWire[] }>('/api/me/passkeys'),
  }))

export interface InvitationWire {
  readonly id: string
  readonly personId: string
  readonly madeBy?: string
  readonly createdAt: string
  readonly expiresAt: string
}

export const useInvitations = () =>
  useQuery(() => ({
    queryKey: ['invitations'],
    queryFn: () => get<{ invitations: InvitationWire[] }>('/api/invitations'),
  }))

export const useCellar = () => useQuery(() => ({ queryKey: ['cellar'], queryFn: readCellar, reconcile: 'id' }))

/** With its clock as it is now: where the phone answers, it was read hours ago, and work would be late by that much. */
async function readCellar(): Promise<CellarWire> {
  const { body, readMs } = await getRead<CellarWire>('/api/cellar')
  return { ...body, nowAt: new Date(Date.parse(body.nowAt) + Date.now() - readMs).toISOString() }
}

export const usePlan = (range: () => { readonly from: string; readonly to: string }) =>
  useQuery(() => ({
    queryKey: ['plan', range().from, range().to],
    queryFn: async ({ signal }) => whole(await get<PlanWire>(`/api/season${query(range())}`, signal)),
  }))

export interface TaskRange {
  readonly from?: string
  readonly to?: string
  readonly lot?: string
  readonly person?: string
}

/** When the answer to a path that a query holds was read, by this phone's clock. */
const readAtMs = new Map<string, number>()

async function readTasks<T>(path: string, signal: AbortSignal): Promise<T> {
  const { body, readMs } = await getRead<T>(path, signal)
  readAtMs.set(path, readMs)
  return body
}

const tasksPath = (range: TaskRange) => `/api/tasks${query({ ...range })}`

/** Since when what a query shows may be out of date: the phone's own answer is older than its arrival. */
const readMsOf = (path: string, held: { readonly dataUpdatedAt: number }): number =>
  held.dataUpdatedAt === 0 ? 0 : (readAtMs.get(path) ?? held.dataUpdatedAt)

export const tasksReadMs = (range: TaskRange, held: { readonly dataUpdatedAt: number }) =>
  readMsOf(tasksPath(range), held)
export const taskReadMs = (key: string, held: { readonly dataUpdatedAt: number }) => readMsOf(taskPath(key), held)

export const useTasks = (range: () => TaskRange) =>
  useQuery(() => ({
    queryKey: ['tasks', range()],
    queryFn: ({ signal }) => readTasks<{ tasks: TaskWire[] }>(tasksPath(range()), signal),
    reconcile: 'key',
  }))

/** The same, for a list that is drawn anew by its tasks' keys: no store watches each field of each task. */
export const useDayTasks = (range: () => TaskRange) =>
  useQuery(() => ({
    queryKey: ['tasks', range()],
    queryFn: ({ signal }) => readTasks<{ tasks: TaskWire[] }>(tasksPath(range()), signal),
    select: ({ tasks }: { readonly tasks: TaskWire[] }) => whole({ tasks }),
  }))

export const useTask = (key: () => string | undefined) =>
  useQuery(() => ({
    queryKey: ['task', key()],
    queryFn: ({ signal }) => readTasks<TaskWire>(taskPath(key() ?? ''), signal),
    enabled: key() !== undefined,
  }))

export const useLots = () =>
  useQuery(() => ({ queryKey: ['lots'], queryFn: () => get<{ lots: LotWire[] }>('/api/lots'), reconcile: 'id' }))

export const useLot = (id: () => string) =>
  useQuery(() => ({
    queryKey: ['lot', id()],
    queryFn: ({ signal }) => get<LotPageWire>(`/api/lots/${encodeURIComponent(id())}`, signal),
    placeholderData: undefined,
  }))

export const useReadings = (lotId: () => string | undefined) =>
  useQuery(() => ({
    queryKey: ['readings', lotId()],
    queryFn: ({ signal }) => get<{ readings: ReadingWire[] }>(`/api/readings${query({ lot: lotId() })}`, signal),
    enabled: lotId() !== undefined,
  }))

export const useAllReadings = () =>
  useQuery(() => ({
    queryKey: ['readings'],
    queryFn: ({ signal }) => get<{ readings: ReadingWire[] }>('/api/readings', signal),
  }))

export interface DemandWire {
  readonly poolKW: number
  readonly hours: readonly {
    readonly at: string
    readonly fermentKW: number
    readonly chillKW: number
    readonly coolingKW: number
    readonly shortKW: number
    readonly co2M3PerH: number
    readonly freshAirM3PerH: number
    readonly loads: readonly { readonly name: string; readonly kW: number }[]
  }[]
  readonly limits: readonly {
    readonly id: string
    readonly substance: string
    readonly value: number
    readonly unit: string
    readonly kind: string
    readonly source: string
    readonly memory: boolean
  }[]
  readonly basis: string
}

export const useDemand = () =>
  useQuery(() => ({ queryKey: ['demand'], queryFn: ({ signal }) => get<DemandWire>('/api/demand', signal) }))

export const useVessels = () =>
  useQuery(() => ({
    queryKey: ['vessels'],
    queryFn: () => get<{ vessels: VesselWire[] }>('/api/vessels'),
    reconcile: 'id',
  }))

export const useMachines = () =>
  useQuery(() => ({
    queryKey: ['machines'],
    queryFn: () => get<{ machines: MachineWire[] }>('/api/machines'),
    reconcile: 'id',
  }))

export const usePeople = () =>
  useQuery(() => ({
    queryKey: ['people'],
    queryFn: () => get<{ people: PersonWire[] }>('/api/people'),
    reconcile: 'id',
  }))

export const useProtocols = () =>
  useQuery(() => ({
    queryKey: ['protocols'],
    queryFn: () => get<{ protocols: ProtocolWire[] }>('/api/protocols'),
    reconcile: 'id',
  }))

export const useFeeds = () =>
  useQuery(() => ({
    queryKey: ['feeds'],
    queryFn: () => get<{ feeds: FeedWire[]; zoneData: { edition: string; warning?: string } }>('/api/feeds'),
    reconcile: 'id',
  }))

/** A write. Everything on screen is asked for again once it stands; a plan may move anywhere. */
export function useWrite<Input, Answer>(write: (input: Input) => Promise<Answer>) {
  const client = useQueryClient()
  return useMutation(() => ({
    mutationFn: write,
    onSuccess: () => client.invalidateQueries(),
  }))
}

export type TaskAct = 'start' | 'done' | 'skip' | 'pin' | 'unpin' | 'assign' | 'undo' | 'note' | 'acknowledge'

export interface TaskWrite {
  readonly key: string
  readonly act: TaskAct
  readonly body?: Readonly<Record<string, unknown>>
}

export interface TaskAnswer {
  readonly task: TaskWire
  readonly changed: TaskWire[]
  readonly revision: number
}

/** An operation id makes a repeated send harmless. */
export const useTaskWrite = () =>
  useWrite(({ key, act, body }: TaskWrite) =>
    post<TaskAnswer>(taskPath(key, act), { opId: crypto.randomUUID(), ...body }),
  )
