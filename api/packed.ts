import { Temporal } from './time.ts'

/**
 * Moments and days do not cross into another thread as they are; they travel as a mark and their text, moments of whole
 * milliseconds as a number: a plan has ten thousand of them, and text takes ten times as long to read.
 */
const KINDS = {
  i: (text: string | number) => Temporal.Instant.from(String(text)),
  m: (ms: string | number) => Temporal.Instant.fromEpochMilliseconds(Number(ms)),
  d: (text: string | number) => Temporal.PlainDate.from(String(text)),
} as const
const MARK = '\u0000at'

type Packed = { readonly [MARK]: keyof typeof KINDS; readonly as: string | number }

/** A copy of plain records in which moments and days are put as text or numbers; sets stay. Functions are left out. */
export function packed(value: unknown): unknown {
  if (typeof value !== 'object' || value === null || value instanceof Set) return value
  if (value instanceof Temporal.Instant) {
    const ms = value.epochMilliseconds
    const isWhole = Temporal.Instant.fromEpochMilliseconds(ms).equals(value)
    return isWhole ? { [MARK]: 'm', as: ms } : { [MARK]: 'i', as: value.toString() }
  }
  if (value instanceof Temporal.PlainDate) return { [MARK]: 'd', as: value.toString() }
  if (Array.isArray(value)) return value.map(packed)
  return mapped(value, packed)
}

/** The other way: what `packed` gave becomes equal to what it was made from. */
export function unpacked(value: unknown): unknown {
  if (typeof value !== 'object' || value === null || value instanceof Set) return value
  if (Array.isArray(value)) return value.map(unpacked)
  if (MARK in value) {
    const { [MARK]: kind, as } = value as Packed
    return KINDS[kind](as)
  }
  return mapped(value, unpacked)
}

function mapped(value: object, of: (inner: unknown) => unknown): unknown {
  const made: Record<string, unknown> = {}
  for (const [key, inner] of Object.entries(value)) if (typeof inner !== 'function') made[key] = of(inner)
  return made
}
