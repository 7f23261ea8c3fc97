import type { Problem } from './problem.ts'

/** The database's last wall: what its refusals mean to a caller. Codes: PostgreSQL documentation, appendix A. */
export function fromDatabase(error: unknown): Problem | undefined {
  const code = codeOf(error)
  if (code === undefined) return undefined
  if (BUSY.has(code)) {
    return { type: 'busy', title: 'Somebody else was writing the same. Try again', status: 503, retryAfterS: 1 }
  }
  if (FULL.has(code)) {
    return {
      type: 'storage-full',
      title: 'The disk is full. Nothing was stored; free some room and try again',
      status: 503,
      retryAfterS: 30,
    }
  }
  if (AWAY.has(code) || code.startsWith('08')) {
    return { type: 'database-away', title: 'The database does not answer. Try again', status: 503, retryAfterS: 5 }
  }
  const mapped = REFUSED[code]
  return mapped && { type: mapped[1], title: mapped[2], status: mapped[0] }
}

/** 40001 serialization failure, 40P01 deadlock, 55P03 lock not available. */
const BUSY = new Set(['40001', '40P01', '55P03'])
/** 53100 disk full, ENOSPC from the file system. */
const FULL = new Set(['53100', 'ENOSPC', 'EROFS'])
/** 57P01-03 shut down and starting up, 53300 too many connections, and what the socket says. */
const AWAY = new Set([
  '57P01',
  '57P02',
  '57P03',
  '53300',
  'ECONNREFUSED',
  'ECONNRESET',
  'CONNECTION_CLOSED',
  'CONNECTION_ENDED',
  'CONNECT_TIMEOUT',
])

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

function codeOf(error: unknown): string | undefined {
  for (let e: unknown = error, depth = 0; e instanceof Error && depth < 5; e = e.cause, depth++) {
    if ('code' in e && typeof e.code === 'string') return e.code
  }
  return undefined
}
