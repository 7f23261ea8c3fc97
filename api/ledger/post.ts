/** The one way movements are written: pages and contents are written with them, or nothing is. */
import { type ContentRow, listContents, saveContents } from '../../db/queries/contents.ts'
import { listCounting } from '../../db/queries/dosed.ts'
import { listReached } from '../../db/queries/flows.ts'
import { addLevels, levelsAt, listLevels, removeLevels } from '../../db/queries/levels.ts'
import {
  addMovements,
  addReceipts,
  lastEntry,
  listMovements,
  listReceipts,
  lockLedger,
  type MovementRow,
  movementOf,
  receiptOf,
} from '../../db/queries/movements.ts'
import { listVessels } from '../../db/queries/vessels.ts'
import type { Db } from '../../db/types.ts'
import { mixForward } from '../cellar/ledger/mixing.ts'
import type { Receipt } from '../cellar/ledger/movement.ts'
import { type Level, pageOf } from '../cellar/ledger/page.ts'
import { type LedgerState, replay, START } from '../cellar/ledger/replay.ts'
import { standing } from '../cellar/ledger/standing.ts'
import { newId } from '../ids.ts'
import { Temporal } from '../time.ts'
import { atMoment, closureOf, END_MS } from './closure.ts'
import { type Draft, type Refusal, rowOf } from './draft.ts'
import { followVessels } from './states.ts'

export interface Posted {
  readonly rows: readonly MovementRow[]
  /** The last level of every vessel touched. */
  readonly levels: ReadonlyMap<string, Level>
  /** False where these movements were written before. */
  readonly isNew: boolean
}

export type PostResult = { readonly ok: true; readonly value: Posted } | { readonly ok: false; readonly why: Refusal }

/**
 * Writes movements into the book. Call inside a transaction: what is refused leaves the transaction as it was, since
 * it is refused before anything is written.
 *
 * @param opId the same again writes nothing and answers what was written
 */
export async function post(
  db: Db,
  cellarId: string,
  drafts: readonly Draft[],
  by: { readonly opId: string; readonly writtenAt: Temporal.Instant },
): Promise<PostResult> {
  await lockLedger(db, cellarId)
  const known = await listMovements(db, cellarId, { opId: by.opId })
  if (known.length > 0) return { ok: true, value: { rows: known, levels: new Map(), isNew: false } }
  if (drafts.length === 0) return { ok: true, value: { rows: [], levels: new Map(), isNew: true } }
  const first = (await lastEntry(db, cellarId)) + 1
  const rows = drafts.map((d, i) =>
    rowOf(d, { ...by, id: d.id ?? newId(by.writtenAt.epochMilliseconds), entry: first + i }),
  )
  const pages = await pagesWith(db, cellarId, rows)
  if (!pages.ok) return pages
  const { touched, fromAt, levels, isAppend } = pages.value
  await addReceipts(
    db,
    cellarId,
    drafts.flatMap((d) => d.receipt ?? []),
  )
  await addMovements(db, cellarId, rows)
  await removeLevels(db, cellarId, { at: fromAt, vesselIds: touched })
  await addLevels(db, cellarId, levels)
  const last = await levelsAt(db, cellarId, Temporal.Instant.fromEpochMilliseconds(END_MS), { vesselIds: touched })
  if (isAppend && !(await dosedSince(db, cellarId, fromAt, rows))) await goOn(db, cellarId, rows, last)
  else await refresh(db, cellarId, await downstream(db, cellarId, touched, fromAt))
  await followVessels(db, cellarId, touched)
  return { ok: true, value: { rows, levels: last, isNew: true } }
}

interface Pages {
  readonly touched: readonly string[]
  readonly fromAt: Temporal.Instant
  readonly levels: readonly Level[]
  /** Nothing later was in the book: what is in the vessels goes on from what was. */
  readonly isAppend: boolean
}

async function pagesWith(
  db: Db,
  cellarId: string,
  rows: readonly MovementRow[],
): Promise<{ ok: true; value: Pages } | { ok: false; why: Refusal }> {
  const touched = [...new Set(rows.flatMap((r) => [r.fromVesselId, r.toVesselId]).filter((id) => id !== null))]
  const fromAt = rows.map((r) => r.at).reduce((a, b) => (Temporal.Instant.compare(a, b) <= 0 ? a : b))
  const before = await levelsAt(db, cellarId, fromAt, { vesselIds: touched, isBefore: true })
  const later = await listLevels(db, cellarId, { vesselIds: touched, fromAt })
  const stored = await listMovements(db, cellarId, { ids: [...new Set(later.map((l) => l.movementId))] })
  const movements = standing([...stored, ...rows].map((r) => movementOf(r)))
  const limits = new Map((await listVessels(db, cellarId, touched)).map((v) => [v.id, Math.round(v.volumeL * 1000)]))
  const isOwn = new Set(rows.map((r) => r.id))
  const pages = touched.map((id) => pageOf(id, movements, before.get(id), limits.get(id)))
  const faults = pages.flatMap((p) => p.faults)
  const fault = faults.find((f) => isOwn.has(f.movementId)) ?? faults[0]
  if (fault) {
    const { movementId, ...told } = fault
    const row = stored.find((r) => r.id === movementId)
    return { ok: false, why: row ? { ...told, why: 'would-not-stand', standing: row } : told }
  }
  const startMs = fromAt.epochMilliseconds
  return {
    ok: true,
    value: {
      touched,
      fromAt,
      levels: pages.flatMap((p) => p.levels),
      isAppend: !rows.some((r) => r.reversesId !== null) && later.every((l) => l.atMs <= startMs),
    },
  }
}

/** Whether a product went into one of these lots at the moment or later: then it must be placed anew. */
async function dosedSince(
  db: Db,
  cellarId: string,
  fromAt: Temporal.Instant,
  rows: readonly MovementRow[],
): Promise<boolean> {
  const lotIds = [...new Set(rows.flatMap((r) => [r.fromLotId, r.toLotId]).filter((id) => id !== null))]
  return (await listCounting(db, cellarId, { lotIds, fromAt })).length > 0
}

/** The usual case: contents go on from what they were. */
async function goOn(
  db: Db,
  cellarId: string,
  rows: readonly MovementRow[],
  last: ReadonlyMap<string, Level>,
): Promise<void> {
  const touched = [...last.keys()]
  const held = await listContents(db, cellarId, { vesselIds: touched })
  const receipts = await receiptsOf(db, cellarId, rows)
  const start: LedgerState = { ...START, contents: new Map(held.map((c) => [c.vesselId, contentOf(c)])) }
  const { state, faults } = replay(
    rows.map((r) => movementOf(r, receipts)),
    [],
    { start },
  )
  if (faults.length > 0) throw new Error(`the pages took what the contents refuse: ${JSON.stringify(faults[0])}`)
  await saveContents(db, cellarId, touched, contentRows(state, last))
}

export async function receiptsOf(
  db: Db,
  cellarId: string,
  rows: readonly MovementRow[],
): Promise<ReadonlyMap<string, Receipt>> {
  const ids = [...new Set(rows.flatMap((r) => r.receiptId ?? []))]
  return new Map((await listReceipts(db, cellarId, ids)).map((r) => [r.id, receiptOf(r)]))
}

const contentOf = (c: ContentRow) => ({
  lotId: c.lotId,
  sinceMs: c.sinceAt.epochMilliseconds,
  parcel: {
    volumeMl: c.volumeMl,
    sourcesMl: new Map(Object.entries(c.sourcesMl)),
    additionsG: new Map(Object.entries(c.added)),
  },
})

export const contentRows = (state: LedgerState, levels: ReadonlyMap<string, Level>): ContentRow[] =>
  [...state.contents].map(([vesselId, c]) => ({
    vesselId,
    lotId: c.lotId,
    volumeMl: c.parcel.volumeMl,
    sinceAt: Temporal.Instant.fromEpochMilliseconds(levels.get(vesselId)?.sinceMs ?? c.sinceMs),
    sourcesMl: Object.fromEntries(c.parcel.sourcesMl),
    added: Object.fromEntries(c.parcel.additionsG),
  }))

/** Vessels whose wine may hold some of these since a moment. */
export async function downstream(
  db: Db,
  cellarId: string,
  touched: readonly string[],
  fromAt: Temporal.Instant,
): Promise<readonly string[]> {
  const sinceMs = new Map(touched.map((id) => [id, fromAt.epochMilliseconds]))
  let wanted = [...sinceMs].map(([vesselId, atMs]) => ({ vesselId, atMs }))
  while (wanted.length > 0) {
    const reached = await listReached(db, cellarId, wanted)
    wanted = reached.filter((r) => (sinceMs.get(r.vesselId) ?? Number.POSITIVE_INFINITY) > r.atMs)
    for (const r of wanted) sinceMs.set(r.vesselId, r.atMs)
  }
  return [...sinceMs.keys()]
}

/** What is in vessels now, worked out anew from all that flowed into them. */
export async function refresh(db: Db, cellarId: string, vesselIds: readonly string[]): Promise<void> {
  const levels = await levelsAt(db, cellarId, Temporal.Instant.fromEpochMilliseconds(END_MS), { vesselIds })
  const full = [...levels.values()].filter((l) => l.afterMl > 0)
  const places = full.map((l) => atMoment(l.vesselId, END_MS))
  const closure = await closureOf(db, cellarId, places, { most: Number.POSITIVE_INFINITY })
  const mixed = mixForward(closure.inflows, closure.dosed)
  const rows = full.map((l): ContentRow => {
    const made = mixed.get(l.vesselId)
    if (!made) throw new Error(`nothing flowed into ${l.vesselId}, which holds ${l.afterMl} mL`)
    const times = (parts: ReadonlyMap<string, number>) =>
      Object.fromEntries([...parts].map(([k, v]) => [k, v * l.afterMl]))
    return {
      vesselId: l.vesselId,
      lotId: l.afterLotId ?? '',
      volumeMl: l.afterMl,
      sinceAt: Temporal.Instant.fromEpochMilliseconds(l.sinceMs),
      sourcesMl: times(made.shares),
      added: times(made.addedPerMl),
    }
  })
  await saveContents(db, cellarId, vesselIds, rows)
}
