import { pino } from 'pino'

/** What routes need of a log; pino fits it. */
export interface Log {
  readonly info: (fields: object, words: string) => void
  readonly warn: (fields: object, words: string) => void
  readonly error: (fields: object, words: string) => void
}

export const quiet: Log = { info: () => {}, warn: () => {}, error: () => {} }

/** Structured lines. Secrets are never passed to it; the second wall is here. */
export const createLog = (level: string): Log =>
  pino({
    level,
    base: null,
    redact: { paths: ['*.password', '*.token', '*.cookie', 'password', 'token', 'cookie'], censor: '***' },
  })

/** A path that may be logged: secrets in it are hidden. */
export const shownPath = (path: string): string =>
  path.replace(/^\/feed\/.+$/, '/feed/***').replace(/([?&](?:token|key)=)[^&]+/g, '$1***')
