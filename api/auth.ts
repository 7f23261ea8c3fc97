/** Who is signed in: sessions in cookies, one-time links, passwords. Only hashes of secrets are stored. */
import type { Context } from 'hono'
import { createMiddleware } from 'hono/factory'
import {
  addLoginLink,
  addSession,
  findPasswordHash,
  findSession,
  removeSession,
  useLoginLink as takeLoginLink,
  touchSession,
} from '../db/queries/access.ts'
import { findCellar, listCellars } from '../db/queries/cellars.ts'
import { findPerson, findPersonByName } from '../db/queries/people.ts'
import type { Db } from '../db/types.ts'
import { createAttempts } from './attempts.ts'
import { dropCookie, putCookie, readCookie } from './cookies.ts'
import { fitsPassword } from './password.ts'
import { problem } from './problem.ts'
import type { Role } from './protocol/facts.ts'
import type { AppEnv } from './routes/route.ts'
import { hashOf, looksLikeSecret, newSecret } from './secrets.ts'
import type { Temporal } from './time.ts'

export interface SignedIn {
  readonly cellarId: string
  readonly personId: string
  readonly name: string
  readonly role: Role
  readonly language: string
  readonly sessionHash: string
}

/** A dead session in the cellar means records on paper: 30 days in all, a week without use. */
const SESSION_H = 30 * 24
const IDLE_H = 7 * 24
const LINK_H = 24
/** The last use is written down at most this often. */
const TOUCH_MIN = 10

const SESSION = 'session'
const SETUP = 'setup'

/** Finds out who is asking; a route that needs nobody goes on without. */
export const identify = createMiddleware<AppEnv>(async (c, next) => {
  const secret = readCookie(c, SESSION)
  if (secret && looksLikeSecret(secret)) {
    const who = await whoHas(c.var.db, secret, c.var.now())
    if (who) c.set('who', who)
  }
  await next()
})

async function whoHas(db: Db, secret: string, nowAt: Temporal.Instant): Promise<SignedIn | undefined> {
  const sessionHash = hashOf(secret)
  const found = await findSession(db, sessionHash, nowAt)
  if (!found || isPast(found.seenAt.add({ hours: IDLE_H }), nowAt)) return undefined
  if (isPast(found.seenAt.add({ minutes: TOUCH_MIN }), nowAt)) await touchSession(db, sessionHash, nowAt)
  const { cellarId, personId, name, role, language } = found
  return { cellarId, personId, name, role, language, sessionHash }
}

const isPast = (at: Temporal.Instant, nowAt: Temporal.Instant) => at.epochMilliseconds <= nowAt.epochMilliseconds

export interface Started {
  readonly kind: 'session'
  readonly secret: string
  readonly who: SignedIn
}

/** Opens a session for a person. */
export async function startSession(
  db: Db,
  person: {
    readonly cellarId: string
    readonly id: string
    readonly name: string
    readonly role: Role
    readonly language: string
  },
  client: string,
  nowAt: Temporal.Instant,
): Promise<Started> {
  const secret = newSecret()
  const sessionHash = hashOf(secret)
  await addSession(db, {
    tokenHash: sessionHash,
    cellarId: person.cellarId,
    personId: person.id,
    createdAt: nowAt,
    seenAt: nowAt,
    expiresAt: nowAt.add({ hours: SESSION_H }),
    client: client.slice(0, 200),
  })
  return {
    kind: 'session',
    secret,
    who: {
      cellarId: person.cellarId,
      personId: person.id,
      name: person.name,
      role: person.role,
      language: person.language,
      sessionHash,
    },
  }
}

/** A link that signs one person in once, within a day. Without a person: the link that makes the first cellar. */
export async function makeLink(
  db: Db,
  cellarId: string,
  personId: string | null,
  nowAt: Temporal.Instant,
): Promise<string> {
  const secret = newSecret()
  const expiresAt = nowAt.add({ hours: LINK_H })
  await addLoginLink(db, { tokenHash: hashOf(secret), cellarId, personId, createdAt: nowAt, expiresAt })
  return secret
}

/** The address of a link. The page there spends it on a tap, so that a previewer of messages cannot. */
export const linkAddress = (baseUrl: string, secret: string) => `${baseUrl}/welcome?token=${secret}`

const LINK_SPENT = () =>
  problem(401, 'link-spent', 'This link does not work', {
    detail: 'A link works once and for a day. Ask for a new one, or start the server again: it prints a new one.',
  })

const tries = createAttempts()

export function mayTry(c: Context<AppEnv>, key: string) {
  const waitS = tries.waitS(key, c.var.now().epochMilliseconds)
  if (waitS > 0) {
    throw problem(429, 'too-many', 'Too many tries. Wait a little', {
      retryAfterS: waitS,
      detail: `Try again in ${waitS} s.`,
    })
  }
}

/** Remembers how a try went. */
export const tried = (c: Context<AppEnv>, key: string, passed: boolean): void =>
  passed ? tries.passed(key) : tries.failed(key, c.var.now().epochMilliseconds)

/**
 * Signs in by link. The link of a first start signs nobody in: it is changed for another one in a cookie, which
 * making the cellar spends, so that the page may be loaded again in between.
 */
export async function fromLink(c: Context<AppEnv>, secret: string): Promise<Started | { readonly kind: 'setup' }> {
  const { db } = c.var
  const nowAt = c.var.now()
  const key = `link ${c.var.address}`
  mayTry(c, key)
  const link = looksLikeSecret(secret) ? await takeLoginLink(db, hashOf(secret), nowAt) : undefined
  if (!link) {
    tries.failed(key, nowAt.epochMilliseconds)
    throw LINK_SPENT()
  }
  tries.passed(key)
  if (link.personId === null) {
    if ((await listCellars(db)).length > 0) throw LINK_SPENT()
    putCookie(c, SETUP, await makeLink(db, '', null, nowAt), LINK_H)
    return { kind: 'setup' }
  }
  const person = await findPerson(db, link.cellarId, link.personId)
  if (!person) throw LINK_SPENT()
  return startSession(db, { ...person, cellarId: link.cellarId }, clientOf(c), nowAt)
}

/** Spends the right to make the first cellar. */
export async function takeSetup(c: Context<AppEnv>): Promise<boolean> {
  const secret = readCookie(c, SETUP)
  if (!secret || !looksLikeSecret(secret)) return false
  const link = await takeLoginLink(c.var.db, hashOf(secret), c.var.now())
  dropCookie(c, SETUP)
  return link?.personId === null
}

/** Signs in by name and password: the same answer, after the same time, for an unknown name and a wrong password. */
export async function fromPassword(c: Context<AppEnv>, name: string, password: string): Promise<Started> {
  const nowMs = c.var.now().epochMilliseconds
  const key = `${name.toLowerCase()} ${c.var.address}`
  mayTry(c, key)
  const person = await personNamed(c.var.db, name)
  const stored = person && (await findPasswordHash(c.var.db, person.cellarId, person.id))
  const fits = await fitsPassword(stored ?? null, password)
  if (!fits.ok) throw problem(429, 'too-many', 'Many people are signing in. Try again', { retryAfterS: 2 })
  if (!fits.value || !person) {
    tries.failed(key, nowMs)
    throw problem(401, 'wrong-sign-in', 'Name and password do not fit together')
  }
  tries.passed(key)
  return startSession(c.var.db, person, clientOf(c), c.var.now())
}

/** Names are unique in a cellar; the first cellar that knows the name is meant. */
async function personNamed(db: Db, name: string) {
  for (const { id: cellarId } of await listCellars(db)) {
    const person = await findPersonByName(db, cellarId, name)
    if (person) return { ...person, cellarId }
  }
  return undefined
}

export const clientOf = (c: Context) => c.req.header('user-agent') ?? ''

export const setSession = (c: Context<AppEnv>, secret: string): void => putCookie(c, SESSION, secret, SESSION_H)

export async function clearSession(c: Context<AppEnv>): Promise<void> {
  const who = c.get('who')
  if (who) await removeSession(c.var.db, who.sessionHash)
  dropCookie(c, SESSION)
}

/** What a screen needs to know first: who, where, and whether there is a cellar at all. */
export async function signedIn(c: Context<AppEnv>, who: SignedIn | undefined = c.get('who')) {
  const { db, demo } = c.var
  if (!who) {
    const cellars = await listCellars(db)
    return { person: null, cellar: null, setup: cellars.length === 0, demo }
  }
  const [cellar, person, passwordHash] = await Promise.all([
    findCellar(db, who.cellarId),
    findPerson(db, who.cellarId, who.personId),
    findPasswordHash(db, who.cellarId, who.personId),
  ])
  return {
    person: person
      ? {
          id: person.id,
          name: person.name,
          role: person.role,
          language: person.language,
          post: person.post,
          hasPassword: passwordHash !== undefined,
        }
      : null,
    cellar: cellar ? { id: cellar.id, name: cellar.name } : null,
    setup: cellar === undefined,
    demo: demo || (cellar?.demo ?? false),
  }
}
