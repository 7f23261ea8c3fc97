import { z } from '@hono/zod-openapi'
import { findPhoto, listPhotos, type PhotoLine, recordPhoto } from '../../db/queries/floor.ts'
import { listLots } from '../../db/queries/lots.ts'
import { listVessels } from '../../db/queries/vessels.ts'
import { id, moment } from '../fields.ts'
import { photoBody, photoFrom } from '../photos.ts'
import { problem } from '../problem.ts'
import { answers, describe, routes, takes } from './route.ts'

const photoWire = z
  .object({
    id: z.string(),
    taskKey: z.string().optional(),
    lotId: z.string().optional(),
    vesselId: z.string().optional(),
    words: z.string(),
    mime: z.enum(['image/jpeg', 'image/png', 'image/webp']),
    size: z.number().int(),
    sha256: z.string(),
    personId: z.string(),
    takenAt: moment,
    writtenAt: moment,
  })
  .openapi('Photo')

export type PhotoWire = z.infer<typeof photoWire>

const toWire = (row: PhotoLine): PhotoWire => ({
  id: row.id,
  ...(row.taskKey === null ? {} : { taskKey: row.taskKey }),
  ...(row.lotId === null ? {} : { lotId: row.lotId }),
  ...(row.vesselId === null ? {} : { vesselId: row.vesselId }),
  words: row.words,
  mime: row.mime,
  size: row.size,
  sha256: row.sha256,
  personId: row.personId,
  takenAt: row.takenAt.toString(),
  writtenAt: row.writtenAt.toString(),
})

export const photos = routes()
  .openapi(
    describe({
      method: 'get',
      path: '/api/photos',
      operationId: 'listPhotos',
      tags: ['Floor'],
      summary: 'Photos of a task, a lot or a vessel, oldest first, without the pictures',
      request: { query: z.object({ task: z.string().max(64).optional(), lot: id.optional(), vessel: id.optional() }) },
      responses: { 200: answers(z.object({ photos: z.array(photoWire) }), 'By time taken') },
    }),
    async (c) => {
      const { db, who } = c.var
      const { task, lot, vessel } = c.req.valid('query')
      const found = await listPhotos(db, who.cellarId, { taskKey: task, lotId: lot, vesselId: vessel })
      return c.json({ photos: found.map(toWire) }, 200)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/photos',
      operationId: 'addPhoto',
      tags: ['Floor'],
      summary: 'Keep a photo: JPEG, PNG or WebP of at most 160 KiB, without camera notes',
      request: { body: takes(photoBody) },
      responses: { 201: answers(photoWire, 'Kept; the same id again answers the same') },
    }),
    async (c) => {
      const { db, who } = c.var
      const body = c.req.valid('json')
      const row = photoFrom(body, {
        cellarId: who.cellarId,
        lots: await listLots(db, who.cellarId),
        vessels: await listVessels(db, who.cellarId),
        nowAt: c.var.now(),
        personId: who.personId,
      })
      await recordPhoto(db, row)
      const stored = await findPhoto(db, who.cellarId, row.id)
      if (stored && stored.sha256 !== row.sha256) throw problem(409, 'other-photo', 'Another photo has this id')
      return c.json(toWire(stored ?? row), 201)
    },
  )
  .openapi(
    describe({
      method: 'get',
      path: '/api/photos/{id}',
      operationId: 'getPhoto',
      tags: ['Floor'],
      summary: 'The picture itself, for people of its cellar only',
      request: { params: z.object({ id }) },
      responses: { 200: { description: 'The picture' } },
    }),
    async (c) => {
      const { db, who } = c.var
      const found = await findPhoto(db, who.cellarId, c.req.valid('param').id)
      if (!found) throw problem(404, 'unknown-photo', 'There is no such photo')
      return c.body(new Uint8Array(found.bytes), 200, {
        'content-type': found.mime,
        'cache-control': 'private, max-age=86400, immutable',
        'content-disposition': `inline; filename="${found.id}.${found.mime.slice(6)}"`,
      })
    },
  )
