/** A phone that several people share: each behind a number of their own, the one who works in front. */
import type { Context } from 'hono'
import { endSession } from '../db/queries/access.ts'
import { countPinTry, listSeats, lockSession, takeSeat, wakeSession } from '../db/queries/devices.ts'
import { acrossCellars } from '../db/wall.ts'
import { busy, SESSION_H, setSession } from './auth.ts'
import { putCookie, readCookie } from './cookies.ts'
import { fitsPassword, hashPassword } from './password.ts'
import { problem } from './problem.ts'
import type { AppEnv } from './routes/route.ts'
import { hashOf, looksLikeSecret, newSecret } from './secrets.ts'

const DEVICE = 'device'
/** Wrong numbers before somebody has to sign in anew. A number opens nothing but a session on this one phone. */
const PIN_TRIES = 5

export function deviceOf(c: Context<AppEnv>): string | undefined {
  const secret = c.get('device') ?? readCookie(c, DEVICE)
  return secret && looksLikeSecret(secret) ? hashOf(secret) : undefined
}

/** Keeps whoever is signed in on this phone, behind a number. */
export async function stayHere(c: Context<AppEnv>, pin: string): Promise<void> {
  const hashed = await hashPassword(pin)
  if (!hashed.ok) throw busy()
  const held = readCookie(c, DEVICE)
  const secret = held && looksLikeSecret(held) ? held : newSecret()
  const { db, who } = c.var
  await db.transaction((tx) =>
    takeSeat(tx, { id: who.sessionId, cellarId: who.cellarId, personId: who.personId }, hashOf(secret), hashed.value),
  )
  putCookie(c, DEVICE, secret, SESSION_H)
  c.set('device', secret)
  c.set('who', { ...who, deviceHash: hashOf(secret) })
}

/** Locks the phone: whoever works next says who they are. */
export async function lockHere(c: Context<AppEnv>): Promise<void> {
  const { who, db } = c.var
  if (who.deviceHash === undefined) {
    throw problem(409, 'not-shared', 'This device is nobody’s but yours: sign out instead')
  }
  await lockSession(db, who.sessionId, c.var.now())
}

/** Somebody else on this phone takes it in hand. Answers the secret of their session. */
export function switchTo(c: Context<AppEnv>, seatId: string, pin: string): Promise<string> {
  const { db } = c.var
  return acrossCellars(async () => {
    const deviceHash = deviceOf(c)
    const seats = deviceHash === undefined ? [] : await listSeats(db, deviceHash, c.var.now())
    const seat = seats.find((s) => s.id === seatId)
    if (!seat) throw problem(404, 'unknown-seat', 'Nobody of this kind is on this phone. Sign in')
    if ((await countPinTry(db, seat.id)) > PIN_TRIES) {
      await endSession(db, { cellarId: seat.cellarId, personId: seat.personId }, seat.id)
      throw problem(429, 'tries-spent', 'Too many tries. Sign in anew', { retryAfterS: 5 })
    }
    const fits = await fitsPassword(seat.pinHash, pin)
    if (!fits.ok) throw busy()
    if (!fits.value) throw problem(401, 'wrong-number', 'This is not their number')
    const secret = newSecret()
    await setSession(c, secret)
    await wakeSession(db, seat.id, hashOf(secret), c.var.now())
    return secret
  })
}
