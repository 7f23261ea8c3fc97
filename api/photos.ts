/** Pictures from the floor: small, of a known kind by their first bytes, and without the camera's notes on where they were taken. */
import { createHash } from 'node:crypto'
import { z } from '@hono/zod-openapi'
import { type Ground, vesselNamed } from './acts.ts'
import { id, moment, opId, prose } from './fields.ts'
import { refuseFar, refuseFuture } from './moments.ts'
import { fieldProblem, problem } from './problem.ts'
import { Temporal } from './time.ts'

/** Fits the 256 KiB of a request once it is written as base64. The database holds the same limit. */
export const PHOTO_MAX = 160 * 1024

export const photoBody = z
  .strictObject({
    id: opId,
    taskKey: z.string().max(64).optional(),
    lot: id.optional().openapi({ description: 'Lot id or code' }),
    vessel: id.optional().openapi({ description: 'Vessel code or id' }),
    words: prose(500).optional(),
    takenAt: moment.optional(),
    base64: z
      .string()
      .min(8)
      .max(Math.ceil(PHOTO_MAX / 3) * 4)
      .regex(/^[A-Za-z0-9+/]+={0,2}$/, 'must be base64'),
  })
  .openapi('NewPhoto', {
    example: {
      id: '00000000-0000-4000-8000-0000000000f0',
      lot: 'L01',
      words: 'The gasket of the door',
      // One transparent dot.
      base64: 'iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==',
    },
  })

export type PhotoBody = z.output<typeof photoBody>

export type PhotoMime = 'image/jpeg' | 'image/png' | 'image/webp'

/** The kind of picture its first bytes say, whatever its name says. Signatures: ISO 10918-1 SOI, PNG 5.2, RIFF/WebP container. */
export function pictureKind(bytes: Uint8Array): PhotoMime | undefined {
  const starts = (signature: readonly number[], at = 0) => signature.every((byte, i) => bytes[at + i] === byte)
  if (starts([0xff, 0xd8, 0xff])) return 'image/jpeg'
  if (starts([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a])) return 'image/png'
  if (starts([0x52, 0x49, 0x46, 0x46]) && starts([0x57, 0x45, 0x42, 0x50], 8)) return 'image/webp'
  return undefined
}

/** Marks under which cameras write where a picture was taken: Exif in JPEG, eXIf in PNG, EXIF in WebP, XMP in all three. */
const NOTES = ['Exif\0', 'eXIf', 'EXIF', 'http://ns.adobe.com/xap/', 'XMP ', 'XML:com.adobe.xmp']

export function hasCameraNotes(bytes: Uint8Array): boolean {
  const text = Buffer.from(bytes).toString('latin1')
  return NOTES.some((mark) => text.includes(mark))
}

type PhotoGround = Pick<Ground, 'vessels' | 'nowAt' | 'personId'> & {
  readonly cellarId: string
  readonly lots: readonly { readonly id: string; readonly code: string }[]
}

/** @throws a problem that says what does not fit */
export function photoFrom(body: PhotoBody, ground: PhotoGround) {
  const bytes = new Uint8Array(Buffer.from(body.base64, 'base64'))
  if (bytes.length > PHOTO_MAX) throw problem(413, 'too-large', `A photo has at most ${PHOTO_MAX / 1024} KiB`)
  const mime = pictureKind(bytes)
  if (!mime) throw fieldProblem('#/base64', 'must be a JPEG, PNG or WebP picture')
  if (hasCameraNotes(bytes)) {
    throw fieldProblem('#/base64', 'carries the camera’s notes, which may tell a place: draw it anew before sending')
  }
  const takenAt = body.takenAt ? Temporal.Instant.from(body.takenAt) : ground.nowAt
  refuseFuture(takenAt, ground.nowAt, '#/takenAt')
  refuseFar(takenAt, ground.nowAt, '#/takenAt')
  const lot = ground.lots.find((one) => one.id === body.lot || one.code === body.lot)
  if (body.lot && !lot) throw fieldProblem('#/lot', `is not known: there is no lot ${body.lot}`)
  return {
    cellarId: ground.cellarId,
    id: body.id,
    taskKey: body.taskKey ?? null,
    lotId: lot?.id ?? null,
    vesselId: body.vessel === undefined ? null : vesselNamed(body.vessel, ground, '#/vessel'),
    words: body.words ?? '',
    mime,
    size: bytes.length,
    sha256: createHash('sha256').update(bytes).digest('hex'),
    bytes,
    personId: ground.personId,
    takenAt,
    writtenAt: ground.nowAt,
  }
}
