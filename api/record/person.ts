import type { Entry } from '../../db/queries/record.ts'
import type { Person } from '../protocol/facts.ts'
import type { Temporal } from '../time.ts'

/** A change of who works here: what the person is from now on, and who said so. */
export const personEntry = (person: Person, by: string, at: Temporal.Instant, words?: string): Entry => ({
  kind: 'person',
  subjectId: person.id,
  personId: by,
  at,
  writtenAt: at,
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
    ...(words ? { words } : {}),
  },
})
