import { createHash, randomBytes } from 'node:crypto'

/** 256 random bits, for links, sessions and feeds. Shown once; only `hashOf` it is stored. */
export const newSecret = (): string => randomBytes(32).toString('base64url')

/** SHA-256: a secret of full entropy needs no salt and no slow hash (OWASP ASVS 5.0 V11.4.1). */
export const hashOf = (secret: string): string => createHash('sha256').update(secret).digest('base64url')

/** What our secrets look like; anything else need not be looked up. */
export const looksLikeSecret = (text: string): boolean => /^[A-Za-z0-9_-]{43}$/.test(text)
