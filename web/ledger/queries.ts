/** What the ledger's pages ask for and tell. */
import { useQuery } from '@tanstack/solid-query'
import type {
  ChecksWire,
  CountsWire,
  EnteredWire,
  LossesWire,
  LotLedgerWire,
  MovementsWire,
  MovementWire,
  RegisterWire,
  StockWire,
  TraceWire,
  VesselLedgerWire,
  YieldsWire,
} from '../../api/wire.ts'
import { get, post, problemOf, query } from '../api.ts'

const LEDGER = '/api/ledger'

/** A2 before A10, as a person walks the row. */
const inCounting = (stock: StockWire): StockWire => ({
  ...stock,
  contents: [...stock.contents].sort((a, b) => a.vessel.code.localeCompare(b.vessel.code, 'en', { numeric: true })),
})

export const useStock = (at: () => string | undefined = () => undefined) =>
  useQuery(() => ({
    queryKey: ['ledger', 'stock', at()],
    queryFn: async ({ signal }) => inCounting(await get<StockWire>(`${LEDGER}/stock${query({ at: at() })}`, signal)),
  }))

export const useVesselLedger = (id: () => string, at: () => string | undefined) =>
  useQuery(() => ({
    queryKey: ['ledger', 'vessel', id(), at()],
    queryFn: ({ signal }) =>
      get<VesselLedgerWire>(`${LEDGER}/vessels/${encodeURIComponent(id())}${query({ at: at() })}`, signal),
    placeholderData: undefined,
  }))

export const useLotLedger = (id: () => string, at: () => string | undefined = () => undefined) =>
  useQuery(() => ({
    queryKey: ['ledger', 'lot', id(), at()],
    queryFn: ({ signal }) =>
      get<LotLedgerWire>(`${LEDGER}/lots/${encodeURIComponent(id())}${query({ at: at() })}`, signal),
    placeholderData: undefined,
  }))

export interface TraceAsked {
  readonly lot?: string
  readonly vessel?: string
  readonly direction: 'back' | 'forward'
  readonly at?: string
  readonly since?: string
}

export const useTrace = (asked: () => TraceAsked) =>
  useQuery(() => ({
    queryKey: ['ledger', 'trace', asked()],
    queryFn: ({ signal }) => get<TraceWire>(`${LEDGER}/trace${query({ ...asked() })}`, signal),
    enabled: asked().lot !== undefined || asked().vessel !== undefined,
    placeholderData: undefined,
  }))

export interface MovementsAsked {
  readonly from?: string
  readonly to?: string
  readonly vessel?: string
  readonly lot?: string
  readonly before?: string
  readonly limit?: string
}

export const useMovements = (asked: () => MovementsAsked) =>
  useQuery(() => ({
    queryKey: ['ledger', 'movements', asked()],
    queryFn: ({ signal }) => get<MovementsWire>(`${LEDGER}/movements${query({ ...asked() })}`, signal),
  }))

export interface RegisterAsked {
  readonly name: string
  readonly from: string
  readonly to: string
  readonly unit: 'L' | 'gal'
  readonly vessel?: string
  readonly lot?: string
}

const registerQuery = ({ name: _, ...asked }: RegisterAsked) => query({ ...asked })
export const registerCsv = (asked: RegisterAsked) => `${LEDGER}/registers/${asked.name}/csv${registerQuery(asked)}`

export const useRegister = (asked: () => RegisterAsked) =>
  useQuery(() => ({
    queryKey: ['ledger', 'register', asked()],
    queryFn: ({ signal }) => get<RegisterWire>(`${LEDGER}/registers/${asked().name}${registerQuery(asked())}`, signal),
    placeholderData: undefined,
  }))

export const useLosses = (span: () => { readonly from: string; readonly to: string }) =>
  useQuery(() => ({
    queryKey: ['ledger', 'losses', span()],
    queryFn: ({ signal }) => get<LossesWire>(`${LEDGER}/losses${query({ ...span() })}`, signal),
  }))

export const useYields = () =>
  useQuery(() => ({
    queryKey: ['ledger', 'yields'],
    queryFn: ({ signal }) => get<YieldsWire>(`${LEDGER}/yields`, signal),
  }))

export const useCounts = () =>
  useQuery(() => ({
    queryKey: ['ledger', 'counts'],
    queryFn: ({ signal }) => get<CountsWire>(`${LEDGER}/counts`, signal),
  }))

export const useChecks = () =>
  useQuery(() => ({
    queryKey: ['ledger', 'checks'],
    queryFn: ({ signal }) => get<ChecksWire>(`${LEDGER}/checks`, signal),
  }))

export interface Sent {
  readonly path: string
  readonly body: Readonly<Record<string, unknown>>
  /** Says what it would do and writes nothing. */
  readonly preview?: boolean
}

/** An operation id makes a repeated send harmless. */
export const sendEntry = <Answer = EnteredWire>({ path, body, preview }: Sent): Promise<Answer> =>
  post<Answer>(`${LEDGER}${path}${preview ? '?preview=true' : ''}`, { opId: crypto.randomUUID(), ...body })

/** Takes movements back by entries against them, the last first; one that is taken back already stays so. */
export async function takeBack(movements: readonly MovementWire[], reason: string): Promise<void> {
  for (const movement of [...movements].reverse())
    try {
      await sendEntry({ path: `/movements/${movement.id}/correct`, body: { reason } })
    } catch (error) {
      if (problemOf(error).type !== 'already-corrected') throw error
    }
}
