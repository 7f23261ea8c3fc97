/** A count of the stock: what the book says, what was found, and entries for what differs. */

import type { CountLineJson } from '../../db/json.ts'
import { addStockCount, findStockCount, listStockCounts, type StockCountRow } from '../../db/queries/contents.ts'
import { levelsAt } from '../../db/queries/levels.ts'
import type { Db } from '../../db/types.ts'
import { millilitres } from '../cellar/ledger/movement.ts'
import { toleranceShare } from '../cellar/ledger/tolerance.ts'
import { newId } from '../ids.ts'
import type { CountLineWire, CountWire } from '../ledger-wire.ts'
import { fieldProblem, problem } from '../problem.ts'
import type { Draft } from './draft.ts'
import { momentOf, type Who } from './entry.ts'
import { type Look, lotRef, readNames, refusedIn, vesselFor, vesselRef } from './look.ts'
import { post } from './post.ts'
import { inL } from './shapes.ts'

export interface CountTold {
  readonly opId?: string | undefined
  readonly at?: string | undefined
  readonly atLocal?: string | undefined
  readonly lines: readonly {
    readonly vessel: string
    readonly volumeL: number
    readonly cause?: string | undefined
    readonly reason?: string | undefined
  }[]
}

/**
 * Compares a count with the book. A difference within tolerance is written as what the gauge showed; a larger one
 * wants its cause and reason. Call inside a transaction.
 *
 * @throws a problem that names every line still unexplained, unless it is a preview
 */
export async function counted(db: Db, look: Look, body: CountTold, who: Who, isPreview: boolean): Promise<CountWire> {
  const id = body.opId ?? newId(who.nowAt.epochMilliseconds)
  const known = await findStockCount(db, look.cellarId, id)
  if (known) return countToWire(db, look, known, true)
  const at = momentOf(body, look, who.nowAt)
  await readNames(db, look, { vessels: body.lines.map((l) => l.vessel) })
  const levels = await levelsAt(db, look.cellarId, at, {
    vesselIds: body.lines.flatMap((l) => look.vessels.find(l.vessel)?.id ?? []),
  })
  const lines: CountLineJson[] = []
  const drafts: Draft[] = []
  const unexplained: { pointer: string; detail: string }[] = []
  const seen = new Set<string>()
  body.lines.forEach((told, i) => {
    const v = vesselFor(look, told.vessel)
    if (seen.has(v.id)) throw fieldProblem(`#/lines/${i}/vessel`, 'is counted twice')
    seen.add(v.id)
    const level = levels.get(v.id)
    const bookMl = level?.afterMl ?? 0
    const lotId = bookMl > 0 ? (level?.afterLotId ?? null) : null
    const countedMl = millilitres(told.volumeL)
    const toleranceMl = Math.round(bookMl * toleranceShare([v.kind]))
    const differenceMl = countedMl - bookMl
    const line = { vesselId: v.id, lotId, bookMl, countedMl, toleranceMl }
    if (differenceMl === 0) {
      lines.push(line)
      return
    }
    if (lotId === null) {
      unexplained.push({
        pointer: `#/lines/${i}/volumeL`,
        detail: `By the book ${v.code} is empty: write down where its wine came from first.`,
      })
      lines.push(line)
      return
    }
    const isSmall = Math.abs(differenceMl) <= toleranceMl
    if (!isSmall && (!told.cause || !told.reason?.trim()))
      unexplained.push({
        pointer: `#/lines/${i}/reason`,
        detail: `${v.code} differs by more than it may: say cause and reason.`,
      })
    const cause = told.cause ?? 'gauge'
    const reason = told.reason?.trim() || 'stock count, within tolerance'
    const movementId = newId(who.nowAt.epochMilliseconds)
    const inLot = { vesselId: v.id, lotId }
    drafts.push({
      id: movementId,
      at,
      people: [who.personId],
      volumeMl: Math.abs(differenceMl),
      ...(differenceMl > 0
        ? { from: { outside: 'gain' as const }, to: inLot }
        : { from: inLot, to: { outside: cause === 'lees' ? ('lees' as const) : ('loss' as const) } }),
      cause,
      reason,
      measuredAfterMl: countedMl,
    })
    lines.push({ ...line, movementId, cause, reason })
  })
  const row: StockCountRow = { id, at, writtenAt: who.nowAt, personId: who.personId, lines }
  if (isPreview) return countToWire(db, look, row, false)
  if (unexplained.length > 0)
    throw problem(422, 'not-explained', 'Some differences are not explained yet', { errors: unexplained })
  const done = await post(db, look.cellarId, drafts, { opId: id, writtenAt: who.nowAt })
  if (!done.ok) throw await refusedIn(db, look, done.why)
  await addStockCount(db, look.cellarId, row)
  return countToWire(db, look, row, true)
}

export async function countsOf(db: Db, look: Look): Promise<CountWire[]> {
  const out: CountWire[] = []
  for (const row of await listStockCounts(db, look.cellarId, 100)) out.push(await countToWire(db, look, row, true))
  return out
}

async function countToWire(db: Db, look: Look, row: StockCountRow, written: boolean): Promise<CountWire> {
  await readNames(db, look, { vessels: row.lines.map((l) => l.vesselId), lots: row.lines.map((l) => l.lotId) })
  const lines = row.lines.map((l): CountLineWire => {
    const differenceMl = l.countedMl - l.bookMl
    const isSmall = Math.abs(differenceMl) <= l.toleranceMl
    return {
      vessel: vesselRef(look, l.vesselId),
      lot: l.lotId === null ? null : lotRef(look, l.lotId),
      bookL: inL(l.bookMl),
      countedL: inL(l.countedMl),
      differenceL: inL(differenceMl),
      toleranceL: inL(l.toleranceMl),
      withinTolerance: isSmall,
      needsReason: !isSmall,
      ...(written && l.movementId !== undefined ? { movementId: l.movementId } : {}),
      ...(l.cause === undefined ? {} : { cause: l.cause }),
      ...(l.reason === undefined ? {} : { reason: l.reason }),
    }
  })
  return {
    ...(written ? { id: row.id } : {}),
    at: row.at.toString(),
    ...(row.personId === null ? {} : { person: look.person(row.personId) }),
    written,
    lines,
    differenceL: inL(row.lines.reduce((ml, l) => ml + l.countedMl - l.bookMl, 0)),
  }
}
