/** The second step of signing in: a passkey, or a code on paper in its place. Source: W3C Web Authentication, level 2. */
import { randomInt } from 'node:crypto'
import { isIP } from 'node:net'
import {
  type AuthenticationResponseJSON,
  generateAuthenticationOptions,
  generateRegistrationOptions,
  type PublicKeyCredentialRequestOptionsJSON,
  type RegistrationResponseJSON,
  verifyAuthenticationResponse,
  verifyRegistrationResponse,
} from '@simplewebauthn/server'
import type { Context } from 'hono'
import { findAccount } from '../db/queries/accounts.ts'
import {
  addPasskey,
  type Challenge,
  countChallengeTry,
  countPasskeyUse,
  findChallenge,
  listPasskeys,
  putChallenge,
  type StoredPasskey,
  takeChallenge,
  useRecoveryCode,
} from '../db/queries/passkeys.ts'
import { findPerson } from '../db/queries/people.ts'
import type { Proof } from '../db/schema/access.ts'
import { acrossCellars } from '../db/wall.ts'
import { clientOf, type Entering, type Halfway, type SignedIn, type Started, startSession } from './auth.ts'
import { dropCookie, putCookie, readCookie } from './cookies.ts'
import { problem } from './problem.ts'
import type { AppEnv } from './routes/route.ts'
import { hashOf, looksLikeSecret, newSecret } from './secrets.ts'

const SECOND = 'second'
const ANSWER_MIN = 5
const TRIES = 5
const TIMEOUT_MS = ANSWER_MIN * 60_000

/** What a passkey is bound to: the name people reach the server by. An address of numbers cannot have one. */
function siteOf(c: Context<AppEnv>): { readonly rpID: string; readonly origin: string } {
  const { hostname } = new URL(c.var.baseUrl)
  if (!hasName(c)) {
    throw problem(409, 'no-passkeys-here', 'Passkeys need an address with a name', {
      detail: `Open this page by a name, such as https://cellar.example, or http://localhost on the server itself; ${hostname} is a number.`,
    })
  }
  return { rpID: hostname, origin: c.var.baseUrl }
}

const hasName = (c: Context<AppEnv>) => isIP(new URL(c.var.baseUrl).hostname.replace(/^\[|\]$/g, '')) === 0

const until = (c: Context<AppEnv>) => c.var.now().add({ minutes: ANSWER_MIN })

/** The first step is done: keeps who it is in a cookie of five minutes, and puts the question. */
export async function askSecond(c: Context<AppEnv>, who: Entering, proof: Proof): Promise<Halfway> {
  const secret = newSecret()
  await putChallenge(
    c.var.db,
    {
      tokenHash: hashOf(secret),
      cellarId: who.cellarId,
      personId: who.id,
      purpose: 'second',
      proof,
      question: newSecret(),
      expiresAt: until(c),
    },
    c.var.now(),
  )
  putCookie(c, SECOND, secret, ANSWER_MIN / 60)
  c.set('second', secret)
  return { kind: 'second' }
}

async function openQuestion(c: Context<AppEnv>): Promise<Challenge | undefined> {
  const secret = c.get('second') ?? readCookie(c, SECOND)
  if (!secret || !looksLikeSecret(secret)) return undefined
  const found = await findChallenge(c.var.db, hashOf(secret), c.var.now())
  return found?.purpose === 'second' ? found : undefined
}

async function accountOf(c: Context<AppEnv>, open: Challenge): Promise<string | undefined> {
  return (await findPerson(c.var.db, open.cellarId, open.personId))?.accountId
}

/**
 * What the browser hands to the passkey, while the second step is waited for; null where this address has no name, so
 * that only a code is left.
 */
export function secondStep(
  c: Context<AppEnv>,
): Promise<{ readonly passkey: PublicKeyCredentialRequestOptionsJSON | null } | undefined> {
  return acrossCellars(async () => {
    const open = await openQuestion(c)
    const accountId = open && (await accountOf(c, open))
    if (!open || !accountId) return undefined
    if (!hasName(c)) return { passkey: null }
    const passkey = await generateAuthenticationOptions({
      rpID: siteOf(c).rpID,
      challenge: Buffer.from(open.question, 'base64url'),
      allowCredentials: (await listPasskeys(c.var.db, accountId)).map(shown),
      userVerification: 'preferred',
      timeout: TIMEOUT_MS,
    })
    return { passkey }
  })
}

const shown = (key: StoredPasskey) => ({
  id: key.id,
  transports: key.transports as NonNullable<RegistrationResponseJSON['response']['transports']>,
})

/** What is answered in the second step: a passkey's signature, or a code. */
export type SecondAnswer =
  | { readonly assertion: AuthenticationResponseJSON; readonly code?: undefined }
  | { readonly code: string; readonly assertion?: undefined }

/** Takes the second step. A question is good for five tries, five minutes and one success. */
export function takeSecond(c: Context<AppEnv>, answer: SecondAnswer): Promise<Started> {
  const { db } = c.var
  return acrossCellars(async () => {
    const open = await openQuestion(c)
    const accountId = open && (await accountOf(c, open))
    if (!open || !accountId) {
      throw problem(409, 'first-step', 'Sign in with your name and password first', {
        detail: 'The second step has to follow within five minutes.',
      })
    }
    if ((await countChallengeTry(db, open.tokenHash)) > TRIES) {
      await forget(c, open)
      throw problem(429, 'tries-spent', 'Too many tries. Begin with your password again', { retryAfterS: 5 })
    }
    const good =
      answer.code === undefined
        ? await signedBy(c, accountId, open.question, answer.assertion)
        : await useRecoveryCode(db, accountId, codeHash(answer.code), c.var.now())
    if (!good) {
      throw problem(
        401,
        'wrong-second-step',
        answer.code === undefined ? 'This passkey is not known here' : 'This code does not work',
        { detail: 'Each code works once. Spaces and small letters do not matter.' },
      )
    }
    if (!(await takeChallenge(db, open.tokenHash))) throw problem(409, 'first-step', 'Sign in again')
    await forget(c, open)
    return startSession(db, { cellarId: open.cellarId, id: open.personId }, clientOf(c), c.var.now(), 'passkey')
  })
}

async function forget(c: Context<AppEnv>, open: Challenge): Promise<void> {
  await takeChallenge(c.var.db, open.tokenHash)
  dropCookie(c, SECOND)
}

async function signedBy(
  c: Context<AppEnv>,
  accountId: string,
  question: string,
  response: AuthenticationResponseJSON,
): Promise<boolean> {
  const key = (await listPasskeys(c.var.db, accountId)).find((k) => k.id === response.id)
  if (!key) return false
  const { rpID, origin } = siteOf(c)
  const checked = await verifyAuthenticationResponse({
    response,
    expectedChallenge: question,
    expectedOrigin: origin,
    expectedRPID: rpID,
    credential: {
      id: key.id,
      publicKey: new Uint8Array(Buffer.from(key.publicKey, 'base64url')),
      counter: key.counter,
    },
    requireUserVerification: false,
  }).catch(() => undefined)
  if (!checked?.verified) return false
  await countPasskeyUse(c.var.db, key.id, checked.authenticationInfo.newCounter, c.var.now())
  return true
}

/** The question for a new passkey hangs on the session that asks. */
const registerKey = (who: SignedIn) => hashOf(`register ${who.sessionHash}`)

/** What the browser hands to the device that is to make a passkey. */
export async function askRegister(c: Context<AppEnv>, accountId: string) {
  const { db, who } = c.var
  const { rpID } = siteOf(c)
  const account = await findAccount(db, accountId)
  const options = await generateRegistrationOptions({
    rpName: 'Leesway',
    rpID,
    userName: account?.name ?? who.name,
    userDisplayName: who.name,
    userID: new TextEncoder().encode(accountId),
    attestationType: 'none',
    excludeCredentials: (await listPasskeys(db, accountId)).map(shown),
    authenticatorSelection: { residentKey: 'discouraged', userVerification: 'preferred' },
    timeout: TIMEOUT_MS,
  })
  await putChallenge(
    db,
    {
      tokenHash: registerKey(who),
      cellarId: who.cellarId,
      personId: who.personId,
      purpose: 'register',
      proof: who.proof,
      question: options.challenge,
      expiresAt: until(c),
    },
    c.var.now(),
  )
  return options
}

/** Keeps a new passkey, where it answers the question put to it. */
export async function keepPasskey(
  c: Context<AppEnv>,
  accountId: string,
  name: string,
  response: RegistrationResponseJSON,
): Promise<void> {
  const { db, who } = c.var
  const open = await findChallenge(db, registerKey(who), c.var.now())
  if (open?.purpose !== 'register' || !(await takeChallenge(db, open.tokenHash))) {
    throw problem(409, 'first-step', 'Begin again: a passkey has to be made within five minutes')
  }
  const { rpID, origin } = siteOf(c)
  const checked = await verifyRegistrationResponse({
    response,
    expectedChallenge: open.question,
    expectedOrigin: origin,
    expectedRPID: rpID,
    requireUserVerification: false,
  }).catch(() => undefined)
  if (!checked?.verified) {
    throw problem(422, 'not-a-passkey', 'The device did not make a passkey for this address')
  }
  const { credential } = checked.registrationInfo
  await addPasskey(db, {
    id: credential.id,
    accountId,
    publicKey: Buffer.from(credential.publicKey).toString('base64url'),
    counter: credential.counter,
    transports: [...(credential.transports ?? [])],
    name,
    createdAt: c.var.now(),
  })
}

/** Without letters and digits that are mistaken for each other on paper. */
const SIGNS = 'ABCDEFGHJKLMNPQRSTUVWXYZ23456789'
const CODES = 8
const GROUPS = 6

/** Codes of 24 signs of 32: 120 random bits each, so a plain digest keeps them (OWASP ASVS 5.0 V6.5.2 asks for 112). */
export const newRecoveryCodes = (): readonly string[] =>
  Array.from({ length: CODES }, () =>
    Array.from({ length: GROUPS }, () => Array.from({ length: 4 }, () => SIGNS[randomInt(SIGNS.length)]).join('')).join(
      '-',
    ),
  )

/** As typed from paper: case, spaces and dashes do not matter. */
export const codeHash = (code: string): string => hashOf(`code ${code.toUpperCase().replaceAll(/[^A-Z0-9]/g, '')}`)
