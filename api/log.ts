import { type DestinationStream, pino } from 'pino'

/** What routes need of a log; pino fits it. */
export interface Log {
  readonly info: (fields: object, words: string) => void
  readonly warn: (fields: object, words: string) => void
  readonly error: (fields: object, words: string) => void
}

export const quiet: Log = { info: () => {}, warn: () => {}, error: () => {} }

/** Structured lines. Secrets are never passed to it; the second wall is here. */
export const createLog = (level: string, to?: DestinationStream): Log =>
  pino(
    {
      level,
      base: null,
      redact: { paths: ['*.password', '*.token', '*.cookie', 'password', 'token', 'cookie'], censor: '***' },
    },
    to ?? pino.destination(1),
  )

/**
 * An error as it may be logged. What the query builder says of a refused query holds all its values, digests of secrets
 * and people's words among them; what the database said is enough.
 */
export function shownError(error: unknown): {
  readonly error: string
  readonly code?: string
  readonly stack?: string
} {
  if (!(error instanceof Error)) return { error: String(error) }
  if (error.cause instanceof Error) return shownError(error.cause)
  const code = 'code' in error && typeof error.code === 'string' ? { code: error.code } : {}
  return { error: `${error.name}: ${error.message}`, ...code, ...(error.stack ? { stack: error.stack } : {}) }
}

/** A path that may be logged: secrets in it are hidden. */
export const shownPath = (path: string): string =>
  path.replace(/^\/feed\/.+$/, '/feed/***').replace(/([?&](?:token|key)=)[^&]+/g, '$1***')
