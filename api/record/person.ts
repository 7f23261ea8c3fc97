import type { Entry } from '../../db/queries/record.ts'
import type { Person } from '../protocol/facts.ts'
import type { Temporal } from '../time.ts'

export interface PersonTold {
  readonly words: string
  /** What was done to it, for those who send it again. */
  readonly act?: string
  /** Id of the absence that was told, changed or taken back. */
  readonly correctsId?: string
  readonly opId?: string | undefined
}

/** A change of who works here: what the person is from now on, and who said so. */
export const personEntry = (person: Person, by: string, at: Temporal.Instant, told?: PersonTold): Entry => ({
  kind: 'person',
  subjectId: person.id,
  personId: by,
  at,
  writtenAt: at,
  opId: told?.opId,
  correctsId: told?.correctsId,
  fact: {
    id: person.id,
    name: person.name,
    role: person.role,
    post: person.post,
    skills: person.skills,
    language: person.language,
    shifts: person.shifts,
    fromOn: person.fromOn,
    untilOn: person.untilOn,
    absences: person.absences,
    words: told?.words,
    act: told?.act,
  },
})
