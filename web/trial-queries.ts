/** Trials, proposals and answers: what their pages ask for. */
import { useQuery } from '@tanstack/solid-query'
import type { TrialChange, TrialState } from '../api/protocol/trial/change.ts'
import type { Compared } from '../api/protocol/trial/compare.ts'
import type { ConflictWire, PhaseWire, ProposedMove, TaskWire } from '../api/wire.ts'
import { get, query } from './api.ts'
import { whole } from './queries.ts'

export interface TrialWire {
  readonly id: string
  readonly name: string
  readonly changes: readonly TrialChange[]
  readonly words: readonly string[]
  readonly state: TrialState
  readonly createdAt: string
  readonly createdBy: string
  readonly decidedAt?: string
  readonly decidedBy?: string
  readonly version: number
}

export interface MovedWire extends TaskWire {
  readonly fromStartAt: string | null
  readonly fromEndAt: string | null
  readonly fromGrain: TaskWire['grain']
  readonly fromPeople: string[]
  readonly gone: boolean
}

export interface TrialPlanWire {
  readonly trial: TrialWire
  readonly tasks: TaskWire[]
  readonly phases: PhaseWire[]
  readonly broken: TaskWire['broken']
  readonly conflicts: ConflictWire[]
  readonly changed: MovedWire[]
  readonly numbers: Compared
  readonly plannedOn: { readonly revision: number; readonly plannedAt: string }
  readonly nowAt: string
}

export const useTrials = () =>
  useQuery(() => ({
    queryKey: ['trials'],
    queryFn: ({ signal }) => get<{ trials: TrialWire[] }>('/api/trials', signal),
  }))

export const useTrial = (id: () => string) =>
  useQuery(() => ({
    queryKey: ['trial', id()],
    queryFn: ({ signal }) => get<{ trial: TrialWire }>(`/api/trials/${encodeURIComponent(id())}`, signal),
    placeholderData: undefined,
  }))

/** Computing takes a moment: it is asked for once, and again only when somebody says so. */
export const useTrialPlan = (id: () => string, wanted: () => boolean = () => true) =>
  useQuery(() => ({
    queryKey: ['trial-plan', id()],
    queryFn: async ({ signal }) =>
      whole(await get<TrialPlanWire>(`/api/trials/${encodeURIComponent(id())}/plan`, signal)),
    enabled: wanted(),
    placeholderData: undefined,
    staleTime: Number.POSITIVE_INFINITY,
    refetchOnWindowFocus: false,
    retry: false,
  }))

export interface ProposalWire {
  readonly id: string
  readonly madeAt: string
  readonly because: string
  readonly moves: readonly ProposedMove[]
  readonly state: 'open' | 'accepted' | 'partly' | 'refused' | 'passed'
  readonly decidedAt?: string
  readonly decidedBy?: string
  readonly refused: readonly string[]
}

export const useProposals = () =>
  useQuery(() => ({
    queryKey: ['proposals'],
    queryFn: ({ signal }) => get<{ open: ProposalWire | null; earlier: ProposalWire[] }>('/api/proposals', signal),
  }))

export interface QuestionWire {
  readonly id: string
  readonly words: string
  readonly needs: readonly string[]
}

export interface AnswerWire {
  readonly question: string
  readonly verdict?: 'yes' | 'no' | 'with-changes'
  readonly sentences: readonly string[]
  readonly table?: {
    readonly head: readonly string[]
    readonly rows: readonly { readonly cells: readonly string[]; readonly taskKey?: string }[]
  }
  readonly tried?: readonly TrialChange[]
}

export const useQuestions = () =>
  useQuery(() => ({
    queryKey: ['questions'],
    queryFn: ({ signal }) => get<{ questions: QuestionWire[] }>('/api/answers', signal),
    staleTime: Number.POSITIVE_INFINITY,
  }))

export const useAnswer = (question: () => string | undefined, fields: () => Readonly<Record<string, string>>) =>
  useQuery(() => ({
    queryKey: ['answer', question(), fields()],
    queryFn: ({ signal }) => get<AnswerWire>(`/api/answers/${question()}${query(fields())}`, signal),
    enabled: question() !== undefined,
    placeholderData: undefined,
    retry: false,
  }))
