/** What is written into the ledger by hand: movements, corrections, lots that part and join. */
import type { Context } from 'hono'
import { addQuarantine, liftQuarantine } from '../../db/queries/contents.ts'
import { findLot, saveLot } from '../../db/queries/lots.ts'
import { appendEntry } from '../../db/queries/record.ts'
import { idParam } from '../bodies.ts'
import { newId } from '../ids.ts'
import { correctionOf, draftsOf, enter, tried } from '../ledger/entry.ts'
import { lookAt, lotFor } from '../ledger/look.ts'
import { lotLedger } from '../ledger/lot-ledger.ts'
import { madeBefore, mergeOf, type Regrouped, splitOf, storeRegrouped } from '../ledger/lots.ts'
import {
  correctBody,
  mergeBody,
  movementBody,
  previewQuery,
  quarantineBody,
  renameBody,
  splitBody,
} from '../ledger-bodies.ts'
import { enteredWire, lotLedgerWire, lotsEnteredWire } from '../ledger-wire.ts'
import { problem } from '../problem.ts'
import { anewShape, planAnew } from './anew.ts'
import { type AppEnv, answers, describe, routes, takes } from './route.ts'

const entered = enteredWire.extend(anewShape).openapi('EnteredAnew')
const regrouped = lotsEnteredWire.extend(anewShape).openapi('LotsEnteredAnew')
const NOTHING = { changed: [], revision: 0 }

const whoOf = (c: Context<AppEnv>) => ({ personId: c.var.who.personId, nowAt: c.var.now() })

export const ledgerEntries = routes()
  .openapi(
    describe({
      method: 'post',
      path: '/api/ledger/movements',
      operationId: 'addMovement',
      tags: ['Ledger'],
      summary: 'Wine received, moved, gone or found: written down, or looked at first with preview',
      request: { query: previewQuery, body: takes(movementBody) },
      responses: { 201: answers(entered, 'What it did, or would do') },
    }),
    async (c) => {
      const body = c.req.valid('json')
      const { db, who } = c.var
      const isPreview = c.req.valid('query').preview === 'true'
      const by = whoOf(c)
      const opId = body.opId ?? newId(by.nowAt.epochMilliseconds)
      const answer = await tried(db, isPreview, async (tx) => {
        const look = await lookAt(tx, who.cellarId)
        const made = await draftsOf(tx, look, body, by)
        return enter(tx, who.cellarId, made, { opId, writtenAt: by.nowAt }, isPreview)
      })
      const words = `${answer.movements[0]?.from.lot?.code ?? answer.movements[0]?.to.lot?.code ?? ''} was moved in the ledger`
      return c.json({ ...answer, ...(isPreview ? NOTHING : await planAnew(c, who.cellarId, { words })) }, 201)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/ledger/movements/{id}/correct',
      operationId: 'correctMovement',
      tags: ['Ledger'],
      summary: 'Takes an entry back, with the reason, and writes what truly happened',
      request: { params: idParam('0190'), query: previewQuery, body: takes(correctBody) },
      responses: { 201: answers(entered, 'What it did, or would do') },
    }),
    async (c) => {
      const body = c.req.valid('json')
      const { db, who } = c.var
      const isPreview = c.req.valid('query').preview === 'true'
      const by = whoOf(c)
      const opId = body.opId ?? newId(by.nowAt.epochMilliseconds)
      const answer = await tried(db, isPreview, async (tx) => {
        const look = await lookAt(tx, who.cellarId)
        const made = await correctionOf(tx, look, c.req.valid('param').id, body, by)
        return enter(tx, who.cellarId, made, { opId, writtenAt: by.nowAt }, isPreview)
      })
      const words = 'an entry of the ledger was corrected'
      return c.json({ ...answer, ...(isPreview ? NOTHING : await planAnew(c, who.cellarId, { words })) }, 201)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/ledger/lots/split',
      operationId: 'splitLot',
      tags: ['Ledger'],
      summary: 'Parts a lot: children with their vessels, litres and the rest of its plan',
      request: { query: previewQuery, body: takes(splitBody) },
      responses: { 201: answers(regrouped, 'The new lots, and what it did') },
    }),
    async (c) => {
      const body = c.req.valid('json')
      const isPreview = c.req.valid('query').preview === 'true'
      return c.json(await regroup(c, body.opId, isPreview, (tx, look, by) => splitOf(tx, look, body, by)), 201)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/ledger/lots/merge',
      operationId: 'mergeLots',
      tags: ['Ledger'],
      summary: 'Joins lots in a new one; its plan goes on with what one of them is still owed',
      request: { query: previewQuery, body: takes(mergeBody) },
      responses: { 201: answers(regrouped, 'The new lot, and what it did') },
    }),
    async (c) => {
      const body = c.req.valid('json')
      const isPreview = c.req.valid('query').preview === 'true'
      return c.json(await regroup(c, body.opId, isPreview, (tx, look, by) => mergeOf(tx, look, body, by)), 201)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/ledger/lots/{id}/rename',
      operationId: 'renameLot',
      tags: ['Ledger'],
      summary: 'Gives a lot another name. Its code stays: it leads the keys of its tasks',
      request: { params: idParam('L01'), body: takes(renameBody) },
      responses: { 200: answers(lotLedgerWire, 'The lot as it is now') },
    }),
    async (c) => {
      const { db, who } = c.var
      const { id } = c.req.valid('param')
      const named = lotFor(await lookAt(db, who.cellarId, { lots: [id] }), id)
      const lot = await findLot(db, who.cellarId, named.id)
      if (!lot) throw new Error(`the lot ${named.id} has a name and no row`)
      const { name, reason, opId } = c.req.valid('json')
      const { personId, nowAt } = whoOf(c)
      const saved = await db.transaction(async (tx) => {
        const done = await saveLot(tx, who.cellarId, { ...lot, name }, lot.version)
        if (done.ok && name !== lot.name)
          await appendEntry(tx, who.cellarId, {
            kind: 'rename',
            subjectId: lot.id,
            lotId: lot.id,
            personId,
            ...(opId === undefined ? {} : { opId }),
            at: nowAt,
            writtenAt: nowAt,
            fact: { from: lot.name, to: name, ...(reason ? { reason } : {}) },
          })
        return done
      })
      if (!saved.ok) throw problem(409, 'stale', `${lot.code} was changed meanwhile. Look again`)
      await planAnew(c)
      return c.json(await lotLedger(db, await lookAt(db, who.cellarId), lot.id, c.var.now()), 200)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/ledger/lots/{id}/quarantine',
      operationId: 'quarantineLot',
      tags: ['Ledger'],
      summary: 'Keeps a lot apart, so that it may not go into another wine; or lets it free',
      request: { params: idParam('L01'), body: takes(quarantineBody) },
      responses: { 200: answers(lotLedgerWire, 'The lot as it is now') },
    }),
    async (c) => {
      const { db, who } = c.var
      const { on, reason } = c.req.valid('json')
      const { id } = c.req.valid('param')
      const look = await lookAt(db, who.cellarId, { lots: [id] })
      const lot = lotFor(look, id)
      const { personId, nowAt } = whoOf(c)
      const isOn = look.quarantined.has(lot.id)
      if (on && !isOn)
        await addQuarantine(db, who.cellarId, {
          id: newId(nowAt.epochMilliseconds),
          lotId: lot.id,
          since: nowAt,
          personId,
          reason,
          liftedAt: null,
          liftedBy: null,
          liftReason: null,
        })
      if (!on && isOn) await liftQuarantine(db, who.cellarId, lot.id, { at: nowAt, personId, reason })
      return c.json(await lotLedger(db, await lookAt(db, who.cellarId), lot.id, nowAt), 200)
    },
  )

type MakeGroups = (
  tx: Parameters<typeof splitOf>[0],
  look: Parameters<typeof splitOf>[1],
  by: Parameters<typeof splitOf>[3],
) => Promise<Regrouped>

async function regroup(c: Context<AppEnv>, givenOp: string | undefined, isPreview: boolean, make: MakeGroups) {
  const { db, who } = c.var
  const by = whoOf(c)
  const opId = givenOp ?? newId(by.nowAt.epochMilliseconds)
  const answer = await tried(db, isPreview, async (tx) => {
    const look = await lookAt(tx, who.cellarId, { vessels: 'all', lots: 'all' })
    const known = givenOp === undefined ? undefined : await madeBefore(tx, look, opId)
    if (known) {
      const entered = await enter(tx, who.cellarId, { drafts: [], warnings: [] }, { opId, writtenAt: by.nowAt })
      return { ...entered, lots: [...known], ended: [] }
    }
    const made = await make(tx, look, by)
    await storeRegrouped(tx, look, made, by)
    const entered = await enter(tx, who.cellarId, made, { opId, writtenAt: by.nowAt }, isPreview)
    const ref = (l: { id: string; code: string; name: string }) => ({ id: l.id, code: l.code, name: l.name })
    return { ...entered, lots: made.lots.map(ref), ended: made.ended.map(ref) }
  })
  if (isPreview) return { ...answer, tasksCancelled: 0, tasksNew: 0, ...NOTHING }
  const words = `${answer.lots.map((l) => l.code).join(', ')} came about`
  const anew = await planAnew(c, who.cellarId, { words })
  const codes = new Set(answer.lots.map((l) => l.code))
  return {
    ...answer,
    tasksCancelled: anew.changed.filter((t) => t.state === 'cancelled').length,
    tasksNew: anew.changed.filter((t) => codes.has(t.lotCode) && t.state !== 'cancelled').length,
    ...anew,
  }
}
