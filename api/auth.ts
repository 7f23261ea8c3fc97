/** Who is signed in: sessions in cookies, one-time links, passwords. Only hashes of secrets are stored. */
import type { Context } from 'hono'
import { createMiddleware } from 'hono/factory'
import {
  addLoginLink,
  addSession,
  type FoundSession,
  findSession,
  removeSession,
  useLoginLink as takeLoginLink,
  touchSession,
} from '../db/queries/access.ts'
import { findAccountByName, listMemberships } from '../db/queries/accounts.ts'
import { listCellars } from '../db/queries/cellars.ts'
import { lockSession } from '../db/queries/devices.ts'
import { listPasskeys } from '../db/queries/passkeys.ts'
import { findPerson, joinAccount } from '../db/queries/people.ts'
import type { Proof } from '../db/schema/access.ts'
import type { Db } from '../db/types.ts'
import { acrossCellars, inCellar } from '../db/wall.ts'
import { dropCookie, putCookie, readCookie } from './cookies.ts'
import { aside } from './ops/storage.ts'
import { fitsPassword } from './password.ts'
import { problem } from './problem.ts'
import type { Role } from './protocol/facts.ts'
import type { AppEnv } from './routes/route.ts'
import { askSecond } from './second.ts'
import { hashOf, looksLikeSecret, newSecret } from './secrets.ts'
import type { Temporal } from './time.ts'

export interface SignedIn {
  readonly cellarId: string
  readonly personId: string
  readonly name: string
  readonly role: Role
  readonly language: string
  readonly sessionHash: string
  readonly sessionId: string
  readonly proof: Proof
  /** Absent for those who come by link alone. */
  readonly accountId?: string
  /** The shared phone this session lies on. */
  readonly deviceHash?: string
}

/** A dead session in the cellar means records on paper: 30 days in all, a week without use. */
export const SESSION_H = 30 * 24
const IDLE_H = 7 * 24
const LINK_H = 24
/** A shared phone that nobody touched for this long is locked, should its screen not have done so. */
const SHARED_IDLE_MIN = 30
/** The last use is written down at most this often. */
const TOUCH_MIN = 10

const SESSION = 'session'
const SETUP = 'setup'

/** Finds out who is asking; a route that needs nobody goes on without. What it asks of the database sees one cellar. */
export const identify = createMiddleware<AppEnv>(async (c, next) => {
  const secret = readCookie(c, SESSION)
  if (secret && looksLikeSecret(secret)) {
    const who = await acrossCellars(() => whoHas(c, secret))
    if (who) c.set('who', who)
  }
  await inCellar(c.get('who')?.cellarId, next)
})

async function whoHas(c: Context<AppEnv>, secret: string): Promise<SignedIn | undefined> {
  const { db } = c.var
  const nowAt = c.var.now()
  const sessionHash = hashOf(secret)
  const found = await findSession(db, sessionHash, nowAt)
  if (!found || isPast(found.seenAt.add({ hours: IDLE_H }), nowAt)) return undefined
  if (found.lockedAt !== null || (found.deviceHash && isPast(found.seenAt.add({ minutes: SHARED_IDLE_MIN }), nowAt))) {
    c.set('locked', true)
    return undefined
  }
  if (isPast(found.seenAt.add({ minutes: TOUCH_MIN }), nowAt)) {
    await aside(c.var.storage, () => touchSession(db, sessionHash, nowAt))
  }
  return signedInOf(found, sessionHash)
}

function signedInOf(found: FoundSession, sessionHash: string): SignedIn {
  const { cellarId, personId, name, role, language, id: sessionId, proof, accountId, deviceHash } = found
  return {
    cellarId,
    personId,
    name,
    role,
    language,
    sessionHash,
    sessionId,
    proof,
    ...(accountId === null ? {} : { accountId }),
    ...(deviceHash === null ? {} : { deviceHash }),
  }
}

const isPast = (at: Temporal.Instant, nowAt: Temporal.Instant) => at.epochMilliseconds <= nowAt.epochMilliseconds

export interface Started {
  readonly kind: 'session'
  readonly secret: string
}

/** The first step is done; a passkey or a code has to follow. */
export interface Halfway {
  readonly kind: 'second'
}

export interface Entering {
  readonly cellarId: string
  readonly id: string
}

/** Opens a session for a person. */
export async function startSession(
  db: Db,
  person: Entering,
  client: string,
  nowAt: Temporal.Instant,
  proof: Proof = 'link',
): Promise<Started> {
  const secret = newSecret()
  await addSession(db, {
    tokenHash: hashOf(secret),
    cellarId: person.cellarId,
    personId: person.id,
    proof,
    createdAt: nowAt,
    seenAt: nowAt,
    expiresAt: nowAt.add({ hours: SESSION_H }),
    client: client.slice(0, 200),
  })
  return { kind: 'session', secret }
}

/**
 * A link that signs one person in once. Without a person: the link that makes the first cellar.
 *
 * @param madeBy the person who made it; absent where the server printed it
 * @param hours how long it works, a day at most
 */
export async function makeLink(
  db: Db,
  cellarId: string,
  personId: string | null,
  nowAt: Temporal.Instant,
  madeBy?: string,
  hours = LINK_H,
): Promise<string> {
  const secret = newSecret()
  const expiresAt = nowAt.add({ hours: Math.min(hours, LINK_H) })
  await addLoginLink(db, {
    tokenHash: hashOf(secret),
    cellarId,
    personId,
    createdAt: nowAt,
    expiresAt,
    ...(madeBy === undefined ? {} : { madeBy }),
  })
  return secret
}

/** The address of a link. The page there spends it on a tap, so that a previewer of messages cannot. */
export const linkAddress = (baseUrl: string, secret: string) => `${baseUrl}/welcome?token=${secret}`

const LINK_SPENT = () =>
  problem(401, 'link-spent', 'This link does not work', {
    detail:
      'A link works once and for a day at most. Ask for a new one, or start the server again: it prints a new one.',
  })

/** @throws 429 where this name, or this address, has been tried too often */
export function mayTry(c: Context<AppEnv>, name: string): void {
  const waitS = c.var.tries.waitS(name, c.var.address, c.var.now().epochMilliseconds)
  if (waitS > 0) {
    throw problem(429, 'too-many', 'Too many tries. Wait a little', {
      retryAfterS: waitS,
      detail: `Try again in ${waitS} s.`,
    })
  }
}

/** Remembers how a try went. */
export const tried = (c: Context<AppEnv>, name: string, passed: boolean): void =>
  passed
    ? c.var.tries.passed(name, c.var.address)
    : c.var.tries.failed(name, c.var.address, c.var.now().epochMilliseconds)

export const busy = () => problem(429, 'many-at-once', 'Many people are signing in. Try again', { retryAfterS: 2 })

/**
 * Signs in by link. The link of a first start signs nobody in: it is changed for another one in a cookie, which
 * making the cellar spends, so that the page may be loaded again in between. Somebody who is signed in by password may
 * join the link's person to the account they have: one name and password for both cellars.
 */
export function fromLink(
  c: Context<AppEnv>,
  secret: string,
  join: boolean,
): Promise<Started | Halfway | { readonly kind: 'setup' }> {
  const { db } = c.var
  const nowAt = c.var.now()
  const me = c.get('who')
  return acrossCellars(async () => {
    const key = `link ${c.var.address}`
    mayTry(c, key)
    const link = looksLikeSecret(secret) ? await takeLoginLink(db, hashOf(secret), nowAt) : undefined
    tried(c, key, link !== undefined)
    if (!link) throw LINK_SPENT()
    if (link.personId === null) {
      if ((await listCellars(db)).length > 0) throw LINK_SPENT()
      putCookie(c, SETUP, await makeLink(db, '', null, nowAt), LINK_H)
      return { kind: 'setup' }
    }
    const person = await findPerson(db, link.cellarId, link.personId)
    if (!person || person.removedAt) throw LINK_SPENT()
    const entering = { cellarId: link.cellarId, id: person.id }
    if (join && me?.accountId !== undefined && me.proof !== 'link') {
      const mine = person.accountId === me.accountId || (await joinAccount(db, link.cellarId, person.id, me.accountId))
      if (!mine) throw problem(409, 'already-there', 'This person signs in with a name and password of their own')
      return startSession(db, entering, clientOf(c), nowAt, me.proof)
    }
    // A link from a winemaker's screen is one proof; one that the server printed is for those who run it.
    if (link.madeBy !== null && person.accountId && (await listPasskeys(db, person.accountId)).length > 0) {
      return askSecond(c, entering, 'link')
    }
    return startSession(db, entering, clientOf(c), nowAt, 'link')
  })
}

/** Spends the right to make the first cellar. */
export async function takeSetup(c: Context<AppEnv>): Promise<boolean> {
  const secret = readCookie(c, SETUP)
  if (!secret || !looksLikeSecret(secret)) return false
  const link = await acrossCellars(() => takeLoginLink(c.var.db, hashOf(secret), c.var.now()))
  dropCookie(c, SETUP)
  return link?.personId === null
}

/**
 * Signs in by name and password: the same answer, after the same time, for an unknown name and a wrong password.
 *
 * @param cellarId where to, for those who work in several
 */
export function fromPassword(
  c: Context<AppEnv>,
  name: string,
  password: string,
  cellarId: string | undefined,
): Promise<Started | Halfway> {
  const { db } = c.var
  return acrossCellars(async () => {
    mayTry(c, name)
    const account = await findAccountByName(db, name)
    const fits = await fitsPassword(account?.passwordHash ?? null, password)
    if (!fits.ok) throw busy()
    const cellars = fits.value && account ? await listMemberships(db, account.id) : []
    tried(c, name, cellars.length > 0)
    const to = cellars.find((m) => m.cellarId === cellarId) ?? cellars[0]
    if (!account || !to) throw problem(401, 'wrong-sign-in', 'Name and password do not fit together')
    const entering = { cellarId: to.cellarId, id: to.personId }
    if ((await listPasskeys(db, account.id)).length > 0) return askSecond(c, entering, 'password')
    return startSession(db, entering, clientOf(c), c.var.now(), 'password')
  })
}

export const clientOf = (c: Context) => c.req.header('user-agent') ?? ''

/** Puts a session into the browser. Whoever was signed in on a shared phone stays on it, behind their number. */
export async function setSession(c: Context<AppEnv>, secret: string): Promise<void> {
  const before = c.get('who')
  if (before) {
    await acrossCellars(() =>
      before.deviceHash === undefined
        ? removeSession(c.var.db, before.sessionHash)
        : lockSession(c.var.db, before.sessionId, c.var.now()),
    )
  }
  putCookie(c, SESSION, secret, SESSION_H)
}

export async function clearSession(c: Context<AppEnv>): Promise<void> {
  const who = c.get('who')
  if (who) await removeSession(c.var.db, who.sessionHash)
  dropCookie(c, SESSION)
}

/** Who has a secret that was just made. */
export async function whoWith(c: Context<AppEnv>, secret: string): Promise<SignedIn | undefined> {
  const sessionHash = hashOf(secret)
  const found = await acrossCellars(() => findSession(c.var.db, sessionHash, c.var.now()))
  return found && signedInOf(found, sessionHash)
}
