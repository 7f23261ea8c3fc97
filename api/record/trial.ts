import type { Entry } from '../../db/queries/record.ts'
import type { StoredTrial } from '../../db/queries/trials.ts'
import type { Temporal } from '../time.ts'

/** A trial that became facts, or was taken back as one: its changes, and who decided. */
export const trialEntry = (
  trial: StoredTrial,
  state: 'adopted' | 'undone',
  by: { readonly personId: string; readonly at: Temporal.Instant },
): Entry => ({
  kind: 'trial',
  subjectId: trial.id,
  personId: by.personId,
  at: by.at,
  writtenAt: by.at,
  fact: { id: trial.id, name: trial.name, state, changes: trial.changes },
})
