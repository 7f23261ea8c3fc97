/** Pages and contents of a whole cellar, made anew from its movements. */
import { saveContents } from '../../db/queries/contents.ts'
import { type AdditionRow, type LevelThen, listCounting } from '../../db/queries/dosed.ts'
import { addLevels, hasLevels, removeLevels } from '../../db/queries/levels.ts'
import {
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
import type { LedgerAddition, Receipt } from '../cellar/ledger/movement.ts'
import { inOrder, type Movement, vesselOf } from '../cellar/ledger/movement.ts'
import { type Level, type PageFault, pageOf } from '../cellar/ledger/page.ts'
import { type Fault, type LedgerState, replay } from '../cellar/ledger/replay.ts'
import { standing } from '../cellar/ledger/standing.ts'
import { dosedInto } from './dosing.ts'
import { contentRows } from './post.ts'
import { followStates } from './states.ts'

export interface Whole {
  readonly pages: ReadonlyMap<string, readonly Level[]>
  readonly state: LedgerState
  readonly faults: readonly (Fault | PageFault)[]
}

/** The whole ledger worked out from the start. What could not have happened is left out everywhere. Pure. */
export function wholeOf(
  rows: readonly MovementRow[],
  receipts: ReadonlyMap<string, Receipt>,
  additions: readonly AdditionRow[],
  limitMl: (vesselId: string) => number | undefined,
): Whole {
  let movements: readonly Movement[] = inOrder(standing(rows.map((r) => movementOf(r, receipts))))
  const faults: (Fault | PageFault)[] = []
  for (;;) {
    const { pages, wrong } = pagesOf(movements, limitMl)
    const played = replay(movements, placed(additions, pages), { limitMl })
    const found = [...wrong, ...played.faults]
    const out = new Set(found.map(entryOf))
    const next = movements.filter((m) => !out.has(m.id))
    faults.push(...found.filter((f, i) => found.findIndex((o) => entryOf(o) === entryOf(f)) === i))
    if (next.length === movements.length) return { pages, state: played.state, faults }
    movements = next
  }
}

export const entryOf = (f: Fault | PageFault): string => ('entryId' in f ? f.entryId : f.movementId)

function pagesOf(movements: readonly Movement[], limitMl: (vesselId: string) => number | undefined) {
  const touching = new Map<string, Movement[]>()
  for (const m of movements)
    for (const id of new Set([vesselOf(m.from), vesselOf(m.to)])) {
      if (id === undefined) continue
      const list = touching.get(id)
      if (list) list.push(m)
      else touching.set(id, [m])
    }
  const found = [...touching].map(([id, list]) => [id, pageOf(id, list, undefined, limitMl(id))] as const)
  return {
    pages: new Map(found.map(([id, page]) => [id, page.levels])),
    wrong: found.flatMap(([, page]) => page.faults),
  }
}

/** Additions as the core takes them: one a vessel, at its place in the order. */
function placed(
  additions: readonly AdditionRow[],
  pages: ReadonlyMap<string, readonly Level[]>,
): readonly LedgerAddition[] {
  const all = [...pages.keys()]
  return additions.flatMap((a) => {
    const atMs = a.addedAt.epochMilliseconds
    const then = (a.vesselId === null ? all : [a.vesselId]).map((id) => levelThen(id, pages.get(id) ?? [], atMs))
    return dosedInto(a, then).map((d, i) => ({
      id: `${a.id}/${i}`,
      entry: d.entry,
      atMs: d.atMs,
      vesselId: d.vesselId,
      product: d.product,
      amountG: d.amount,
      batchNo: a.batchNo ?? '',
      personId: a.personId,
    }))
  })
}

function levelThen(vesselId: string, page: readonly Level[], atMs: number): LevelThen {
  const after = lastWhere(page, (l) => l.atMs <= atMs)
  const before = lastWhere(page, (l) => l.atMs < atMs)
  return {
    vesselId,
    atMs,
    afterMl: after?.afterMl ?? 0,
    afterLotId: after?.afterLotId ?? null,
    beforeMl: before?.afterMl ?? 0,
    beforeLotId: before?.afterLotId ?? null,
  }
}

/** Pages are in order of time, so the last that fits is found by halving. */
function lastWhere(page: readonly Level[], fits: (l: Level) => boolean): Level | undefined {
  let low = 0
  let high = page.length
  while (low < high) {
    const middle = (low + high) >> 1
    const l = page[middle]
    if (l && fits(l)) low = middle + 1
    else high = middle
  }
  return page[low - 1]
}

/** Reads everything, works it out, stores it. Call inside a transaction. */
export async function rebuildLedger(db: Db, cellarId: string): Promise<Whole> {
  await lockLedger(db, cellarId)
  const whole = await readWhole(db, cellarId)
  await removeLevels(db, cellarId)
  await addLevels(db, cellarId, [...whole.pages.values()].flat())
  const last = new Map([...whole.pages].flatMap(([id, page]) => (page.at(-1) ? [[id, page.at(-1) as Level]] : [])))
  await saveContents(db, cellarId, 'all', contentRows(whole.state, last))
  return whole
}

export async function readWhole(db: Db, cellarId: string): Promise<Whole> {
  const rows = await listMovements(db, cellarId)
  const receipts = new Map((await listReceipts(db, cellarId)).map((r) => [r.id, receiptOf(r)]))
  const limits = new Map((await listVessels(db, cellarId)).map((v) => [v.id, Math.round(v.volumeL * 1000)]))
  return wholeOf(rows, receipts, await listCounting(db, cellarId), (id) => limits.get(id))
}

/** Pages are written with the movements; where movements came in by another way (an older edition) they are made now. */
export async function rebuildWhereMissing(db: Db, cellarId: string): Promise<boolean> {
  return db.transaction(async (tx) => {
    if ((await lastEntry(tx, cellarId)) === 0 || (await hasLevels(tx, cellarId))) return false
    await rebuildLedger(tx, cellarId)
    await followStates(tx, cellarId)
    return true
  })
}
