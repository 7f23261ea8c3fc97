import type { Entry } from '../../db/queries/record.ts'
import type { Cellar } from '../protocol/facts.ts'
import type { Temporal } from '../time.ts'

/** The cellar made or changed: what it is from now on, and who said so. */
export const cellarEntry = (cellar: Cellar, by: string, at: Temporal.Instant, words: string): Entry => ({
  kind: 'cellar',
  subjectId: cellar.id,
  personId: by,
  at,
  writtenAt: at,
  fact: { ...cellar, words },
})
