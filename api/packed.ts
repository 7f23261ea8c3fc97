import { Temporal } from './time.ts'

/** Moments and days do not cross into another thread as they are; they travel as a mark and their text. */
const KINDS = { i: Temporal.Instant, d: Temporal.PlainDate } as const
const MARK = '\u0000at'

type Packed = { readonly [MARK]: keyof typeof KINDS; readonly text: string }

/** A copy of plain records in which every moment and day is put as text. Functions and what is absent are left out. */
export function packed(value: unknown): unknown {
  if (typeof value !== 'object' || value === null) return value
  if (value instanceof Temporal.Instant) return { [MARK]: 'i', text: value.toString() }
  if (value instanceof Temporal.PlainDate) return { [MARK]: 'd', text: value.toString() }
  if (Array.isArray(value)) return value.map(packed)
  return mapped(value, packed)
}

/** The other way: what `packed` gave becomes equal to what it was made from. */
export function unpacked(value: unknown): unknown {
  if (typeof value !== 'object' || value === null) return value
  if (Array.isArray(value)) return value.map(unpacked)
  if (MARK in value) {
    const { [MARK]: kind, text } = value as Packed
    return KINDS[kind].from(text)
  }
  return mapped(value, unpacked)
}

function mapped(value: object, of: (inner: unknown) => unknown): unknown {
  const made: Record<string, unknown> = {}
  for (const [key, inner] of Object.entries(value)) if (typeof inner !== 'function') made[key] = of(inner)
  return made
}
