import { codeOf, type Trouble, troubleOf } from '../db/room.ts'
import type { Problem } from './problem.ts'

/** The database's last wall: what its refusals mean to a caller. Codes: PostgreSQL documentation, appendix A. */
export function fromDatabase(error: unknown): Problem | undefined {
  const code = codeOf(error)
  if (code === undefined) return undefined
  if (BUSY.has(code)) {
    return { type: 'busy', title: 'Somebody else was writing the same. Try again', status: 503, retryAfterS: 1 }
  }
  const trouble = troubleOf(error)
  if (trouble) return storageProblem(trouble)
  const mapped = REFUSED[code]
  return mapped && { type: mapped[1], title: mapped[2], status: mapped[0] }
}

/** 40001 serialization failure, 40P01 deadlock, 55P03 lock not available. */
const BUSY = new Set(['40001', '40P01', '55P03'])
const REFUSED: Readonly<Record<string, readonly [status: 409 | 422, type: string, title: string]>> = {
  '23505': [409, 'already-there', 'There is one with this name already'],
  '23503': [409, 'still-used', 'It belongs to something that is not there, or something still needs it'],
  '23P01': [409, 'already-booked', 'It is booked at that time'],
  '23514': [422, 'outside-limits', 'A value lies outside its limits'],
  '23502': [422, 'missing', 'A value is missing'],
  '22003': [422, 'outside-limits', 'A number is too large'],
  '22007': [422, 'outside-limits', 'A date cannot be stored'],
  '22008': [422, 'outside-limits', 'A date cannot be stored'],
  '22021': [422, 'not-text', 'A text holds a sign that cannot be stored'],
  '22P05': [422, 'not-text', 'A text holds a sign that cannot be stored'],
}

const WORDS: Readonly<Record<Trouble, string>> = {
  'storage-full': 'The disk of the server is full: this was not stored. Reading goes on; free some room and try again',
  'storage-read-only':
    'The disk of the server cannot be written to: this was not stored. Reading goes on; try again later',
  'database-away': 'The database does not answer: nothing was stored. Try again in a moment',
}

/** Whoever asks again after this long finds it settled, or is told the same once more. */
const AGAIN_S = 5

/** Why nothing is stored, in words, for as long as the trouble lasts. */
export const storageProblem = (trouble: Trouble): Problem => ({
  type: trouble,
  title: WORDS[trouble],
  status: 503,
  retryAfterS: AGAIN_S,
})
