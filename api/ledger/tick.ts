/** A finished task writes its movement; taking the tick back takes the movement back. */
import { listContents, saveContents } from '../../db/queries/contents.ts'
import { listAllAdditions } from '../../db/queries/dosed.ts'
import { listVesselsOf } from '../../db/queries/ledger-sums.ts'
import { levelsAt } from '../../db/queries/levels.ts'
import { listMovements, lockLedger, type MovementRow } from '../../db/queries/movements.ts'
import { UNDO_OP } from '../../db/queries/records.ts'
import { listTasks } from '../../db/queries/tasks.ts'
import { listVessels } from '../../db/queries/vessels.ts'
import type { Db } from '../../db/types.ts'
import type { Outside } from '../cellar/ledger/movement.ts'
import { millilitres } from '../cellar/ledger/movement.ts'
import { toleranceShare } from '../cellar/ledger/tolerance.ts'
import type { Addition, Lot, TaskFact } from '../protocol/facts.ts'
import { Temporal } from '../time.ts'
import { type Book, type Booked, booked, causeOf, EMPTYING, spread, TOPPING } from './booking.ts'
import { END_MS } from './closure.ts'
import { doseOf } from './dosing.ts'
import { type Draft, reversalOf } from './draft.ts'
import { lookAt, refusedIn } from './look.ts'
import { downstream, post, refresh } from './post.ts'
import { litres } from './refused.ts'
import { followWork } from './states.ts'
import { bookAt } from './told.ts'

/** Litres told with a tick, before the ledger was asked. */
export interface TickMove {
  readonly lot: Lot
  readonly taskKey: string
  readonly step: string
  readonly at: Temporal.Instant
  readonly people: readonly string[]
  /** Vessel ids, as the plan has them. */
  readonly plannedFrom: readonly string[]
  readonly plannedTo: readonly string[]
  readonly plannedL?: number
  /** Vessel ids as told: where it went. Empty: as planned. */
  readonly vessels: readonly string[]
  readonly volumeL?: number
  readonly lossL?: number
  /** Vessel by vessel, where that was told. */
  readonly parts: readonly {
    readonly from?: string
    readonly to?: string
    readonly out?: Outside
    readonly volumeL: number
    readonly lossL: number
  }[]
}

export interface TickBooked {
  readonly rows: readonly MovementRow[]
  readonly warnings: readonly string[]
  /** Litres that found no place in the ledger: they stand as a dip of the lot. */
  readonly dipL?: number
}

const NOTHING: TickBooked = { rows: [], warnings: [] }

/** Call inside the transaction that stores the tick. @throws a problem where a vessel would run over */
export async function bookTick(
  db: Db,
  cellarId: string,
  t: TickMove,
  by: { readonly opId: string; readonly writtenAt: Temporal.Instant },
): Promise<TickBooked> {
  await lockLedger(db, cellarId)
  const made = t.parts.length > 0 ? await partsOf(db, cellarId, t) : await wholeOf(db, cellarId, t)
  if (made.blocked) {
    const { vesselId, lotId } = made.blocked
    const names = await lookAt(db, cellarId, { vessels: [vesselId], lots: [lotId] })
    return {
      rows: [],
      warnings: [
        `Not in the ledger: by its book ${names.vessel(vesselId)} holds ${names.lot(lotId)}. Write the movement there by hand.`,
      ],
      ...(t.volumeL !== undefined && !TOPPING.has(t.step) ? { dipL: t.volumeL } : {}),
    }
  }
  if (made.drafts.length === 0)
    return {
      ...NOTHING,
      warnings: made.warnings,
      ...(t.volumeL !== undefined && t.volumeL > 0 && !TOPPING.has(t.step) ? { dipL: t.volumeL } : {}),
    }
  const done = await post(db, cellarId, made.drafts, by)
  if (!done.ok) throw await refusedIn(db, await lookAt(db, cellarId), done.why)
  return {
    rows: done.value.rows,
    warnings: [...made.warnings, ...(await outsideTolerance(db, cellarId, done.value.rows))],
  }
}

async function outsideTolerance(db: Db, cellarId: string, rows: readonly MovementRow[]): Promise<string[]> {
  const planned = rows.filter((r) => r.plannedMl !== null)
  if (planned.length === 0) return []
  const targets = await listVessels(db, cellarId, [...new Set(planned.flatMap((r) => r.toVesselId ?? []))])
  const plannedMl = planned.reduce((sum, r) => sum + (r.plannedMl ?? 0), 0)
  const movedMl = planned.reduce((sum, r) => sum + r.volumeMl, 0)
  const share = toleranceShare(targets.map((v) => v.kind))
  if (plannedMl === 0 || Math.abs(movedMl - plannedMl) <= plannedMl * share) return []
  return [
    `${litres(movedMl)} measured against ${litres(plannedMl)} planned: more than ${share * 100} % apart. The plan goes on from what was measured.`,
  ]
}

/** One figure for the whole: spread over the vessels by their size, the source emptied where the work empties it. */
async function wholeOf(db: Db, cellarId: string, t: TickMove): Promise<Booked> {
  const totalMl = millilitres(t.volumeL ?? 0)
  const lossMl = millilitres(t.lossL ?? 0)
  const to = t.vessels.length > 0 ? t.vessels : t.plannedTo
  const book = await bookAt(db, cellarId, t.at, { vesselIds: [...t.plannedFrom, ...to], lotId: t.lot.id })
  const vessels = await listVessels(db, cellarId, to)
  const { own } = book
  const isFruit = causeOf(t.step) === 'press'
  const known = t.plannedFrom.filter((id) => own.includes(id) && !to.includes(id))
  const from = isFruit
    ? known
    : known.length > 0
      ? known
      : EMPTYING.has(t.step)
        ? [...own.filter((id) => !to.includes(id)), ...t.plannedFrom]
        : t.plannedFrom
  if (to.length === 0 || (!isFruit && from.every((id) => to.includes(id)) && to.every((id) => own.includes(id))))
    return inPlace(t, totalMl, own, book)
  if (TOPPING.has(t.step) && from.length === 0)
    return { drafts: [], warnings: ['Not in the ledger: say which vessel the topping wine came from.'] }
  const parts = t.lot.choices.vesselParts
  const targets = to.map((id, i) => {
    const v = vessels.find((x) => x.id === id)
    const capacityMl = Math.round((v?.volumeL ?? 0) * 1000)
    const share = t.step === 'rack-juice' && parts?.length === to.length ? parts[i]?.share : undefined
    return {
      vesselId: id,
      weight: share ?? Math.max(1, capacityMl),
      roomMl: Math.max(0, capacityMl - book.holds(id).ml),
    }
  })
  return booked(
    {
      at: t.at,
      lot: t.lot,
      step: t.step,
      from,
      to: spread(totalMl, targets),
      lossMl,
      empties: EMPTYING.has(t.step) && (await isLast(db, cellarId, t)),
      people: t.people,
      taskKey: t.taskKey,
      ...(t.plannedL === undefined ? {} : { plannedMl: millilitres(t.plannedL) }),
    },
    book,
  )
}

/** Measured where it lies: what the book has more is lost, what it has less was gained. */
function inPlace(t: TickMove, totalMl: number, own: readonly string[], book: Book): Booked {
  const [only] = own
  if (only === undefined || own.length > 1 || totalMl <= 0) return { drafts: [], warnings: [] }
  const differenceMl = totalMl - book.holds(only).ml
  if (differenceMl === 0) return { drafts: [], warnings: [] }
  const inLot = { vesselId: only, lotId: t.lot.id }
  const common = { at: t.at, people: t.people, taskKey: t.taskKey, volumeMl: Math.abs(differenceMl) }
  const cause = t.step.startsWith('filter') ? 'filter' : 'gauge'
  const draft: Draft =
    differenceMl > 0
      ? { ...common, from: { outside: 'gain' }, to: inLot, cause: 'gauge' }
      : { ...common, from: inLot, to: { outside: 'loss' }, cause }
  return { drafts: [draft], warnings: [] }
}

/** Vessel by vessel, as told. */
async function partsOf(db: Db, cellarId: string, t: TickMove): Promise<Booked> {
  const drafts: Draft[] = []
  const warnings: string[] = []
  const vesselIds = t.parts.flatMap((p) => [p.from ?? [], p.to ?? []].flat())
  let book: Book = await bookAt(db, cellarId, t.at, { vesselIds, lotId: t.lot.id })
  const totalL = t.parts.reduce((sum, p) => sum + p.volumeL, 0)
  for (const p of t.parts) {
    if (p.out !== undefined) {
      const there = p.from === undefined ? undefined : book.holds(p.from)
      if (p.from === undefined || there?.lotId === undefined) {
        warnings.push('Not in the ledger: by its book nothing is where that was taken from.')
        continue
      }
      const from = { vesselId: p.from, lotId: there.lotId }
      const cause = p.out === 'loss' ? 'other' : p.out
      drafts.push({
        at: t.at,
        from,
        to: { outside: p.out },
        volumeMl: millilitres(p.volumeL),
        cause,
        people: t.people,
        taskKey: t.taskKey,
      })
      book = after(book, drafts.slice(-1))
      continue
    }
    const made = booked(
      {
        at: t.at,
        lot: t.lot,
        step: t.step,
        from: p.from === undefined ? [] : [p.from],
        to: p.to === undefined ? [] : [{ vesselId: p.to, volumeMl: millilitres(p.volumeL) }],
        lossMl: millilitres(p.lossL),
        empties: false,
        people: t.people,
        taskKey: t.taskKey,
        ...(t.plannedL === undefined ? {} : { plannedMl: millilitres((t.plannedL * p.volumeL) / (totalL || 1)) }),
      },
      book,
    )
    if (made.blocked) return made
    drafts.push(...made.drafts)
    warnings.push(...made.warnings)
    book = after(book, made.drafts)
  }
  return { drafts, warnings }
}

/** The book once these are in it. */
function after(book: Book, drafts: readonly Draft[]): Book {
  return {
    holds: (id) =>
      drafts.reduce((held, d) => {
        const inMl = 'vesselId' in d.to && d.to.vesselId === id ? d.volumeMl : 0
        const outMl = 'vesselId' in d.from && d.from.vesselId === id ? d.volumeMl : 0
        const lotId = inMl > 0 && 'vesselId' in d.to ? d.to.lotId : held.lotId
        const ml = held.ml + inMl - outMl
        return { ml, ...(lotId === undefined || ml === 0 ? {} : { lotId }) }
      }, book.holds(id)),
    hasReceived: (lotId) => book.hasReceived(lotId) || drafts.some((d) => d.receipt?.lotId === lotId),
  }
}

/** Whether no other task of this kind still takes wine from the same place. */
async function isLast(db: Db, cellarId: string, t: TickMove): Promise<boolean> {
  const open = await listTasks(db, cellarId, { lotId: t.lot.id })
  return !open.some(
    (o) =>
      o.step === t.step &&
      o.key !== t.taskKey &&
      o.state !== 'done' &&
      o.state !== 'skipped' &&
      o.state !== 'cancelled' &&
      o.rest.fromVessels.some((id) => t.plannedFrom.includes(id)),
  )
}

/** What was moved with a tick that is taken back never happened. @throws a problem where wine has moved on since */
export async function takeBackTick(
  db: Db,
  cellarId: string,
  tick: TaskFact,
  by: { readonly undoId: string; readonly writtenAt: Temporal.Instant; readonly reason: string },
): Promise<void> {
  await lockLedger(db, cellarId)
  const rows = await standingOf(db, cellarId, tick)
  const drafts = [...rows].reverse().map((r) => reversalOf(r, by.reason))
  const done = await post(db, cellarId, drafts, { opId: `${UNDO_OP}${by.undoId}`, writtenAt: by.writtenAt })
  if (!done.ok) throw await refusedIn(db, await lookAt(db, cellarId), done.why)
  await redose(db, cellarId, tick)
  await followWork(db, cellarId, tick)
}

/** Told again at the moment of a tick that was taken back: what was moved then stands again. */
export async function bookAgain(db: Db, cellarId: string, tick: TaskFact, writtenAt: Temporal.Instant): Promise<void> {
  await lockLedger(db, cellarId)
  const all = await rowsOf(db, cellarId, tick)
  const backs = await listMovements(db, cellarId, { reversing: all.map((r) => r.id) })
  const undone = backs.filter((b) => b.opId.startsWith(UNDO_OP))
  if (undone.length > 0 && undone.length === all.length) {
    // Of several tellings the last counts.
    const lastOp = all.at(-1)?.opId
    const drafts = all
      .filter((r) => r.opId === lastOp)
      .map((r) => {
        const { reversesId: _r, reason: _w, ...draft } = reversalOf(r, '')
        return { ...draft, from: draft.to, to: draft.from, ...(r.plannedMl === null ? {} : { plannedMl: r.plannedMl }) }
      })
    const receipts = all.filter((r) => r.opId === lastOp).map((r) => r.receiptId)
    const done = await post(
      db,
      cellarId,
      drafts.map((d, i) => ({ ...d, ...(receipts[i] ? { receiptId: receipts[i] } : {}) })),
      { opId: tick.id, writtenAt },
    )
    if (!done.ok) throw await refusedIn(db, await lookAt(db, cellarId), done.why)
  }
  await redose(db, cellarId, tick)
}

async function rowsOf(db: Db, cellarId: string, tick: TaskFact): Promise<readonly MovementRow[]> {
  const rows = await listMovements(db, cellarId, { taskKey: tick.taskKey })
  return rows.filter((r) => r.reversesId === null && r.at.epochMilliseconds === tick.at.epochMilliseconds)
}

async function standingOf(db: Db, cellarId: string, tick: TaskFact): Promise<readonly MovementRow[]> {
  const rows = await rowsOf(db, cellarId, tick)
  const back = new Set(
    (await listMovements(db, cellarId, { reversing: rows.map((r) => r.id) })).map((r) => r.reversesId),
  )
  return rows.filter((r) => !back.has(r.id))
}

/** Additions told with a tick count again, or no more. */
async function redose(db: Db, cellarId: string, tick: TaskFact): Promise<void> {
  const next = Temporal.Instant.fromEpochMilliseconds(tick.at.epochMilliseconds + 1)
  const told = (await listAllAdditions(db, cellarId, { fromAt: tick.at, toAt: next })).filter(
    (a) => a.taskKey === tick.taskKey,
  )
  if (told.length > 0) await refresh(db, cellarId, await dosedVessels(db, cellarId, told, tick.at))
}

async function dosedVessels(
  db: Db,
  cellarId: string,
  additions: readonly { readonly vesselId?: string | null | undefined; readonly lotId: string }[],
  at: Temporal.Instant,
): Promise<readonly string[]> {
  const lotIds = additions.flatMap((a) => (a.vesselId ? [] : [a.lotId]))
  const levels = await levelsAt(db, cellarId, at, { vesselIds: await listVesselsOf(db, cellarId, lotIds) })
  const ids = new Set(
    additions.flatMap((a) =>
      a.vesselId
        ? [a.vesselId]
        : [...levels.values()].filter((l) => (l.afterLotId ?? l.beforeLotId) === a.lotId).map((l) => l.vesselId),
    ),
  )
  return ids.size === 0 ? [] : downstream(db, cellarId, [...ids], at)
}

/** The wine once additions count otherwise than before. */
export async function redosed(
  db: Db,
  cellarId: string,
  additions: readonly {
    readonly vesselId: string | null
    readonly lotId: string
    readonly addedAt: Temporal.Instant
  }[],
): Promise<void> {
  await lockLedger(db, cellarId)
  for (const a of additions) await refresh(db, cellarId, await dosedVessels(db, cellarId, [a], a.addedAt))
}

/** Products just put in are in the wine. Call after they were stored. */
export async function bookAdditions(db: Db, cellarId: string, additions: readonly Addition[]): Promise<void> {
  if (additions.length === 0) return
  await lockLedger(db, cellarId)
  const first = additions.map((a) => a.addedAt).reduce((a, b) => (Temporal.Instant.compare(a, b) <= 0 ? a : b))
  const reached = await dosedVessels(db, cellarId, additions, first)
  if (reached.length === 0) return
  const last = await levelsAt(db, cellarId, Temporal.Instant.fromEpochMilliseconds(END_MS), { vesselIds: reached })
  const isNow = [...last.values()].every((l) => l.atMs <= first.epochMilliseconds && l.afterMl > 0)
  if (!isNow) return refresh(db, cellarId, reached)
  const held = await listContents(db, cellarId, { vesselIds: reached })
  await saveContents(
    db,
    cellarId,
    held.map((c) => c.vesselId),
    held.map((c) => {
      const added = { ...c.added }
      for (const a of additions) {
        if (a.vesselId === undefined ? a.lotId !== c.lotId : a.vesselId !== c.vesselId) continue
        const { product, amount } = doseOf(a)
        const part = a.vesselId === undefined ? (amount * c.volumeMl) / (a.treatedL * 1000) : amount
        if (part > 0) added[product] = (added[product] ?? 0) + part
      }
      return { ...c, added }
    }),
  )
}
