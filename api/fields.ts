/** Fields that bodies and queries share: their limits are the check, the OpenAPI document and the answer's words at once. */
import { z } from '@hono/zod-openapi'
import { Temporal } from './time.ts'
import { day, moment } from './wire.ts'

/** No control signs but newline and tab, no lone surrogates: the database stores neither as they are. */
const clean = (text: string) => text.isWellFormed() && ![...text].some(isControl)

const isControl = (sign: string) => {
  const code = sign.charCodeAt(0)
  return (code < 32 && sign !== '\n' && sign !== '\t') || code === 127
}

/** Composed, so that a word is the same word on whatever keyboard it was typed (Unicode Normalization Form C). */
const composed = (text: string) => text.normalize('NFC')

/** One line of words. */
export const line = (max: number) =>
  z
    .string()
    .trim()
    .min(1)
    .max(max)
    .refine((t) => clean(t) && !/[\n\t]/.test(t), 'must be one line of plain text')
    .overwrite(composed)

/** Words of several lines; may be empty. */
export const prose = (max: number) => z.string().max(max).refine(clean, 'must be plain text').overwrite(composed)

/** A name that leads a task key or is painted on a vessel. */
export const code = z
  .string()
  .trim()
  .regex(/^[A-Za-z0-9][A-Za-z0-9._-]{0,15}$/, 'must be 1 to 16 letters, digits, dots or dashes')
  .openapi({ example: 'L01' })

/** Ids of rows: ours are UUIDs, those of the invented cellar are short words. */
export const id = z
  .string()
  .regex(/^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$/, 'must be an id')
  .openapi({ example: 'L01' })

/** Made by the client, so that a resent request counts once. */
export const opId = z.uuid().openapi({ description: 'Made by the client; the same id again gives the same answer' })

/** The version the caller holds; the header If-Match may say it instead. */
export const heldVersion = z.number().int().min(1).max(1_000_000).optional().openapi({
  description: 'The version this change stands on. May be sent as If-Match instead; one of the two is needed',
})

export const zone = z
  .string()
  .refine(isZone, 'must be an IANA time zone such as Pacific/Auckland')
  .openapi({ example: 'Pacific/Auckland' })

function isZone(name: string): boolean {
  try {
    return (
      /^[A-Z][A-Za-z_+-]+(\/[A-Za-z0-9_+-]+)*$/.test(name) && new Intl.DateTimeFormat('en', { timeZone: name }) !== null
    )
  } catch {
    return false
  }
}

/** A wall-clock time in the cellar, as a form gives it. The server turns it into a moment and refuses what the clock never shows. */
export const wallTime = z
  .string()
  .regex(/^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}$/, 'must be a local time such as 2027-03-22T08:00')
  .openapi({ description: 'Time on the cellar clock', example: '2027-03-22T08:00' })

/** A span of time to show. At most two years. */
export const span = z.object({
  from: moment.optional(),
  to: moment.optional(),
})

export const HORIZON_DAYS = 731

export { day, moment }

export const instantOf = (text: string): Temporal.Instant => Temporal.Instant.from(text)
