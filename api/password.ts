import { hash, verify } from '@node-rs/argon2'
import { isCommon } from './common-passwords.ts'
import { no, ok, type Result } from './result.ts'

/** argon2id, 19 MiB, two passes, one lane: OWASP Password Storage Cheat Sheet, commit 6b8819d. */
const COST = { memoryCost: 19_456, timeCost: 2, parallelism: 1 } as const

/** Signs of a password that stands alone, and of one with a passkey behind it: NIST SP 800-63B-4. */
export const PASSWORD_MIN = 15
export const PASSWORD_MIN_WITH_SECOND = 8
/** The whole password is checked, so it has to end somewhere. At least 64 must be allowed: NIST SP 800-63B-4. */
export const PASSWORD_MAX = 200

/** Hashing takes a core for some 100 ms: two at once, a short queue, then "too many". */
const AT_ONCE = 2
const WAITING_AT_MOST = 20

let running = 0
const waiting: (() => void)[] = []

async function queued<T>(work: () => Promise<T>): Promise<Result<T, 'busy'>> {
  if (running >= AT_ONCE) {
    if (waiting.length >= WAITING_AT_MOST) return no('busy')
    await new Promise<void>((go) => waiting.push(go))
  }
  running++
  try {
    return ok(await work())
  } finally {
    running--
    waiting.shift()?.()
  }
}

/** Hashed in a thread of the native module, never on the event loop. */
export const hashPassword = (password: string) => queued(() => hash(password.normalize('NFC'), COST))

/**
 * Whether the password fits. Without a stored hash it takes the same time and says no, so that an unknown name
 * cannot be told from a wrong password.
 */
export async function fitsPassword(stored: string | null, password: string): Promise<Result<boolean, 'busy'>> {
  decoy ??= hash('nobody has this password', COST)
  const against = stored ?? (await decoy)
  const fits = await queued(() => verify(against, password.normalize('NFC')))
  if (!fits.ok) return fits
  return ok(fits.value && stored !== null)
}

let decoy: Promise<string> | undefined

/**
 * Why a new password will not do, or undefined. No rules of composition (NIST SP 800-63B-4): length, and none of the
 * first that are tried.
 *
 * @param names words an outsider knows of this account: name, sign-in name, cellar
 */
export function weakPassword(password: string, names: readonly string[], minSigns = PASSWORD_MIN): string | undefined {
  const signs = [...password].length
  if (signs > PASSWORD_MAX) return `must have ${PASSWORD_MAX} signs at most`
  const plain = password.normalize('NFC').toLowerCase()
  if (new Set(plain).size <= 2) return 'repeats one or two signs'
  if (isCommon(plain, names)) return 'is among the first that are tried'
  if (names.some((name) => name.length >= 3 && plain.includes(name.toLowerCase()))) return 'must not hold your name'
  if (signs < minSigns) return `needs ${minSigns} signs or more`
  return undefined
}
