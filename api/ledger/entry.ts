/** A form's entry as movements, the dry run of it, and what it did. */
import { levelsAt } from '../../db/queries/levels.ts'
import { listMovements, type MovementRow } from '../../db/queries/movements.ts'
import type { Db } from '../../db/types.ts'
import { millilitres } from '../cellar/ledger/movement.ts'
import { newId } from '../ids.ts'
import type { MovementBody } from '../ledger-bodies.ts'
import type { CompositionWire, EnteredWire } from '../ledger-wire.ts'
import { refuseFar, refuseFuture, toldAt } from '../moments.ts'
import { fieldProblem, problem } from '../problem.ts'
import type { Temporal } from '../time.ts'
import { followAt, receiptsFor } from './answers.ts'
import { type Book, fruitReceipt } from './booking.ts'
import type { Draft } from './draft.ts'
import { reversalOf } from './draft.ts'
import { type Look, lookAt, lotFor, readNames, refusedIn, vesselFor } from './look.ts'
import { type Posted, post } from './post.ts'
import { litres } from './refused.ts'
import { compositionToWire, contentToWire, movementsToWire } from './shapes.ts'
import { bookAt } from './told.ts'

export interface Who {
  readonly personId: string
  readonly nowAt: Temporal.Instant
}

/** When a body says it happened. @throws a problem at the field */
export function momentOf(
  body: { readonly at?: string | undefined; readonly atLocal?: string | undefined },
  look: Look,
  nowAt: Temporal.Instant,
): Temporal.Instant {
  const at = toldAt({ utc: body.at, local: body.atLocal }, look.zone, '#/at') ?? nowAt
  refuseFuture(at, nowAt, '#/at')
  refuseFar(at, nowAt, '#/at')
  return at.round({ smallestUnit: 'millisecond', roundingMode: 'trunc' })
}

export interface Drafted {
  readonly drafts: readonly Draft[]
  readonly warnings: readonly string[]
}

/** What a form says, as movements over the ledger of that moment. @throws a problem where it cannot be meant */
export async function draftsOf(db: Db, look: Look, body: MovementBody, who: Who): Promise<Drafted> {
  const at = momentOf(body, look, who.nowAt)
  const people = body.people?.length ? body.people : [who.personId]
  const common = { at, people, ...(body.reason?.trim() ? { reason: body.reason.trim() } : {}) }
  const ends = [body.kind === 'leave' ? undefined : body.to, 'from' in body ? body.from : undefined]
  await readNames(db, look, { vessels: ends, lots: [body.kind === 'receive' ? body.lot : undefined] })
  const named = ends.flatMap((name) => (name === undefined ? [] : (look.vessels.find(name)?.id ?? [])))
  const book = await bookAt(db, look.cellarId, at, { vesselIds: named })
  await readNames(db, look, { lots: named.map((id) => book.holds(id).lotId) })
  switch (body.kind) {
    case 'receive':
      return received(look, book, body, common, who)
    case 'gain': {
      const to = vesselFor(look, body.to)
      const { lotId } = book.holds(to.id)
      if (lotId === undefined) throw empty(to.code, '#/to')
      const volumeMl = millilitres(body.volumeL)
      const into = { vesselId: to.id, lotId }
      return { drafts: [{ ...common, from: { outside: 'gain' }, to: into, volumeMl, cause: body.cause }], warnings: [] }
    }
    case 'leave': {
      const from = vesselFor(look, body.from)
      const held = book.holds(from.id)
      if (held.lotId === undefined) throw empty(from.code, '#/from')
      const cause = body.to === 'loss' ? (body.cause ?? 'other') : body.to
      const volumeMl = body.volumeL === undefined ? held.ml : millilitres(body.volumeL)
      const out = { vesselId: from.id, lotId: held.lotId }
      return { drafts: [{ ...common, from: out, to: { outside: body.to }, volumeMl, cause }], warnings: [] }
    }
    case 'move':
      return moved(look, book, body, common)
  }
}

const empty = (code: string, pointer: string) => fieldProblem(pointer, `${code} is empty then, by the ledger`)

type Common = Pick<Draft, 'at' | 'people' | 'reason'>

function received(
  look: Look,
  book: Book,
  body: Extract<MovementBody, { kind: 'receive' }>,
  common: Common,
  who: Who,
): Drafted {
  const to = vesselFor(look, body.to)
  const lot = lotFor(look, body.lot)
  const held = book.holds(to.id)
  if (held.lotId !== undefined && held.lotId !== lot.id) throw anotherThere(look, to.id, held.lotId, held.ml)
  const receipt = body.bought
    ? {
        id: body.opId ?? newId(who.nowAt.epochMilliseconds),
        kind: 'bought' as const,
        lotId: lot.id,
        variety: body.variety ?? lot.variety,
        vintage: body.vintage ?? String(lot.vintage),
        block: body.block ?? '',
        origin: body.origin ?? lot.place,
      }
    : fruitReceipt(lot)
  return {
    drafts: [
      {
        ...common,
        from: { outside: body.bought ? 'bought' : 'fruit' },
        to: { vesselId: to.id, lotId: lot.id },
        volumeMl: millilitres(body.volumeL),
        cause: body.bought ? 'bought' : 'press',
        receipt,
      },
    ],
    warnings: [],
  }
}

function moved(look: Look, book: Book, body: Extract<MovementBody, { kind: 'move' }>, common: Common): Drafted {
  const from = vesselFor(look, body.from)
  const to = vesselFor(look, body.to)
  if (from.id === to.id) throw fieldProblem('#/to', 'is where it came from')
  const held = book.holds(from.id)
  if (held.lotId === undefined) throw empty(from.code, '#/from')
  const there = book.holds(to.id)
  const isOther = there.lotId !== undefined && there.lotId !== held.lotId
  if (isOther && !body.intoOther) throw anotherThere(look, to.id, there.lotId ?? '', there.ml)
  const barred = look.quarantined.get(held.lotId)
  if (isOther && barred) throw quarantined(look, held.lotId, barred.reason)
  const lossMl = millilitres(body.lossL)
  const volumeMl = body.volumeL === undefined ? held.ml - lossMl : millilitres(body.volumeL)
  if (volumeMl <= 0) throw fieldProblem('#/lossL', `is as much as ${from.code} holds`)
  const source = { vesselId: from.id, lotId: held.lotId }
  const drafts: Draft[] = [
    {
      ...common,
      from: source,
      to: { vesselId: to.id, lotId: isOther ? (there.lotId ?? held.lotId) : held.lotId },
      volumeMl,
      cause: body.cause,
      ...(body.measuredBeforeL === undefined ? {} : { measuredBeforeMl: millilitres(body.measuredBeforeL) }),
      ...(body.measuredAfterL === undefined ? {} : { measuredAfterMl: millilitres(body.measuredAfterL) }),
    },
  ]
  if (lossMl > 0) {
    const outside = body.lossCause === 'lees' ? ('lees' as const) : ('loss' as const)
    drafts.push({ ...common, from: source, to: { outside }, volumeMl: lossMl, cause: body.lossCause })
  }
  const warnings = isOther
    ? [`${look.lot(held.lotId)} becomes part of ${look.lot(there.lotId ?? '')}: see its new shares.`]
    : []
  return { drafts, warnings }
}

export const anotherThere = (look: Look, vesselId: string, lotId: string, ml: number) =>
  problem(409, 'another-lot-there', `Another wine is in ${look.vessel(vesselId)}`, {
    detail: `By the ledger it holds ${litres(ml)} of ${look.lot(lotId)}. To make it part of that wine, say so (intoOther).`,
  })

export const quarantined = (look: Look, lotId: string, reason: string) =>
  problem(409, 'quarantined', `${look.lot(lotId)} is in quarantine`, {
    detail: `It may not go into another wine: ${reason}. Lift the quarantine first.`,
  })

/** Runs work in a transaction; a preview is undone at its end and answers all the same. */
export async function tried<T>(db: Db, isPreview: boolean, work: (tx: Db) => Promise<T>): Promise<T> {
  if (!isPreview) return db.transaction(work)
  const undone = new Error('a dry run')
  let answer: { readonly value: T } | undefined
  try {
    await db.transaction(async (tx) => {
      answer = { value: await work(tx) }
      throw undone
    })
  } catch (error) {
    if (error !== undone) throw error
  }
  if (!answer) throw new Error('a dry run ended without an answer')
  return answer.value
}

/** Writes movements and tells what they did. Call inside a transaction. @throws a problem where the ledger refuses */
export async function enter(
  db: Db,
  cellarId: string,
  made: Drafted,
  by: { readonly opId: string; readonly writtenAt: Temporal.Instant },
  isPreview = false,
): Promise<EnteredWire> {
  const look = await lookAt(db, cellarId)
  const touched = touchedBy(made.drafts)
  const was = await compositionsOf(db, look, touched, by.writtenAt)
  const done = await post(db, cellarId, made.drafts, by)
  if (!done.ok) throw await refusedIn(db, look, done.why)
  return told(db, look, done.value, { was, isPreview, warnings: made.warnings, nowAt: by.writtenAt })
}

const touchedBy = (drafts: readonly Draft[]): string[] => [
  ...new Set(drafts.flatMap((d) => [d.from, d.to].flatMap((e) => ('vesselId' in e ? [e.vesselId] : [])))),
]

async function told(
  db: Db,
  look: Look,
  posted: Posted,
  more: {
    readonly was: ReadonlyMap<string, CompositionWire>
    readonly isPreview: boolean
    readonly warnings: readonly string[]
    readonly nowAt: Temporal.Instant
  },
): Promise<EnteredWire> {
  const touched = [...new Set(posted.rows.flatMap((r) => [r.fromVesselId, r.toVesselId]).filter((id) => id !== null))]
  const now = await compositionsOf(db, look, touched, more.nowAt)
  const levels = await levelsAt(db, look.cellarId, more.nowAt, { vesselIds: touched })
  const movements = await movementsToWire(db, look, posted.rows)
  await readNames(db, look, { vessels: touched, lots: [...levels.values()].map((l) => l.afterLotId) })
  return {
    written: !more.isPreview,
    movements,
    contents: touched.map((id) => ({
      content: contentToWire(look, id, levels.get(id)),
      composition: now.get(id) ?? NOTHING,
      before: more.was.get(id) ?? null,
    })),
    warnings: [...more.warnings],
  }
}

const NOTHING: CompositionWire = { variety: [], vintage: [], block: [], origin: [] }

async function compositionsOf(
  db: Db,
  look: Look,
  vesselIds: readonly string[],
  at: Temporal.Instant,
): Promise<ReadonlyMap<string, CompositionWire>> {
  const levels = await levelsAt(db, look.cellarId, at, { vesselIds })
  const out = new Map<string, CompositionWire>()
  for (const l of levels.values()) {
    if (l.afterMl === 0) continue
    const f = await followAt(db, look.cellarId, [l], at)
    const receipts = await receiptsFor(db, look.cellarId, f.back.sourcesMl.keys())
    out.set(l.vesselId, compositionToWire(f.back.sourcesMl, receipts))
  }
  return out
}

/** Takes an entry back and, where something else happened, writes that at its moment. */
export async function correctionOf(
  db: Db,
  look: Look,
  id: string,
  body: { readonly reason: string; readonly instead?: MovementBody | undefined },
  who: Who,
): Promise<Drafted & { readonly row: MovementRow }> {
  const [row] = await listMovements(db, look.cellarId, { ids: [id] })
  if (!row) throw problem(404, 'unknown-movement', `There is no movement ${id}`)
  if (row.reversesId !== null)
    throw problem(409, 'already-corrected', 'This entry takes another one back: write what happened as a new entry')
  const [back] = await listMovements(db, look.cellarId, { reversing: [id] })
  if (back) throw problem(409, 'already-corrected', 'This entry was taken back already', { detail: back.reason ?? '' })
  const reversal = reversalOf(row, body.reason)
  if (!body.instead) return { drafts: [reversal], warnings: [], row }
  const told = body.instead.at === undefined && body.instead.atLocal === undefined
  const instead: MovementBody = told ? { ...body.instead, at: row.at.toString() } : body.instead
  // What happened instead is read off the ledger without the wrong entry: written, then undone by the caller's dry run.
  const made = await without(db, look, reversal, (tx) => draftsOf(tx, look, instead, who), who)
  const keep = row.taskKey === null ? {} : { taskKey: row.taskKey }
  return { drafts: [reversal, ...made.drafts.map((d) => ({ ...d, ...keep }))], warnings: made.warnings, row }
}

/** The book as if one entry had been taken back. A savepoint keeps the transaction as it was. */
async function without<T>(db: Db, look: Look, reversal: Draft, work: (tx: Db) => Promise<T>, who: Who): Promise<T> {
  return tried(db, true, async (tx) => {
    const done = await post(tx, look.cellarId, [reversal], {
      opId: newId(who.nowAt.epochMilliseconds),
      writtenAt: who.nowAt,
    })
    if (!done.ok && done.why.why !== 'would-not-stand') throw await refusedIn(db, look, done.why)
    return work(tx)
  })
}
