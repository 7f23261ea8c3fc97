/** Moves told with a task or read from records: booked against the ledger as it stands. */
import { listVesselsOf } from '../../db/queries/ledger-sums.ts'
import { levelsAt } from '../../db/queries/levels.ts'
import { addMovements, addReceipts, hasReceipt, lastEntry } from '../../db/queries/movements.ts'
import type { Db } from '../../db/types.ts'
import { millilitres } from '../cellar/ledger/movement.ts'
import { newId } from '../ids.ts'
import type { Lot, Transfer } from '../protocol/facts.ts'
import { Temporal } from '../time.ts'
import { type Book, booked, EMPTYING, type Holds } from './booking.ts'
import { type Draft, rowOf } from './draft.ts'
import { rebuildLedger } from './rebuild.ts'

export interface BookOfLot extends Book {
  /** Vessels that hold it, in order of id. */
  readonly own: readonly string[]
}

/**
 * The ledger as it stood after everything of a moment, as far as it is asked about: some vessels, and all that ever
 * held a lot. What a tick costs hangs on what it touches, not on the cellar.
 */
export async function bookAt(
  db: Db,
  cellarId: string,
  at: Temporal.Instant,
  about: { readonly vesselIds: readonly string[]; readonly lotId?: string },
): Promise<BookOfLot> {
  const { lotId } = about
  const ofLot = lotId === undefined ? [] : await listVesselsOf(db, cellarId, [lotId])
  const read = new Set([...about.vesselIds, ...ofLot])
  const levels = await levelsAt(db, cellarId, at, { vesselIds: [...read] })
  const received = lotId !== undefined && (await hasReceipt(db, cellarId, lotId))
  const holds = (id: string) => {
    if (!read.has(id)) throw new Error(`${id} is asked about before it was read`)
    return holdsOf(levels.get(id)?.afterMl ?? 0, levels.get(id)?.afterLotId)
  }
  return {
    holds,
    hasReceived: (id) => {
      if (id !== lotId) throw new Error(`${id} is asked about before it was read`)
      return received
    },
    own: lotId === undefined ? [] : ofLot.filter((id) => holds(id).lotId === lotId),
  }
}

const holdsOf = (ml: number, lotId: string | undefined): Holds => ({
  ml,
  ...(lotId === undefined || ml === 0 ? {} : { lotId }),
})

/**
 * Books whole records of moves into an empty ledger, in order of time, and works the pages out. Call inside a
 * transaction. What could not have happened is left out and comes up in the ledger's check.
 */
export async function storeTransfers(
  db: Db,
  cellarId: string,
  transfers: readonly Transfer[],
  lots: readonly Lot[],
  writtenAt: Temporal.Instant,
): Promise<void> {
  if (transfers.length === 0) return
  const held = new Map<string, Holds>()
  const received = new Set<string>()
  const book: Book = { holds: (id) => held.get(id) ?? { ml: 0 }, hasReceived: (id) => received.has(id) }
  const groups = grouped(transfers)
  const drafts = groups.flatMap((group, i) => {
    const [first] = group
    const lot = lots.find((l) => l.id === first?.lotId)
    if (!first || !lot) return []
    const step = first.taskKey?.split('/')[1] ?? ''
    const from = [...new Set(group.flatMap((t) => t.fromVesselId ?? []))]
    const isLast = !groups
      .slice(i + 1)
      .some(
        (g) =>
          g[0]?.lotId === lot.id &&
          (g[0].taskKey?.split('/')[1] ?? '') === step &&
          g.some((t) => t.fromVesselId !== undefined && from.includes(t.fromVesselId)),
      )
    const { drafts: made } = booked(
      {
        at: first.movedAt,
        lot,
        step,
        from,
        to: group.flatMap((t) =>
          t.toVesselId === undefined ? [] : [{ vesselId: t.toVesselId, volumeMl: millilitres(t.volumeL), id: t.id }],
        ),
        lossMl: Math.max(0, millilitres(group.reduce((sum, t) => sum + t.lossL, 0))),
        empties: EMPTYING.has(step) && isLast,
        people: group.flatMap((t) => t.personId ?? []).slice(0, 1),
        ...(first.taskKey === undefined ? {} : { taskKey: first.taskKey }),
      },
      book,
    )
    for (const d of made) apply(held, received, d)
    return made.map((d) => ({ d, opId: `told:${first.id}` }))
  })
  const entry = (await lastEntry(db, cellarId)) + 1
  await addReceipts(
    db,
    cellarId,
    drafts.flatMap(({ d }) => d.receipt ?? []),
  )
  await addMovements(
    db,
    cellarId,
    drafts.map(({ d, opId }, i) =>
      rowOf(d, { id: d.id ?? newId(writtenAt.epochMilliseconds), entry: entry + i, opId, writtenAt }),
    ),
  )
  await rebuildLedger(db, cellarId)
}

/** Told with one task at one moment; else each for itself. In order of time. */
function grouped(transfers: readonly Transfer[]): readonly (readonly Transfer[])[] {
  const groups = new Map<string, Transfer[]>()
  for (const t of [...transfers].sort(byTime)) {
    const sign = t.taskKey === undefined ? t.id : `${t.taskKey} ${t.movedAt}`
    groups.set(sign, [...(groups.get(sign) ?? []), t])
  }
  return [...groups.values()]
}

const byTime = (a: Transfer, b: Transfer): number => Temporal.Instant.compare(a.movedAt, b.movedAt)

function apply(held: Map<string, Holds>, received: Set<string>, d: Draft): void {
  if ('vesselId' in d.from) {
    const there = held.get(d.from.vesselId)
    held.set(d.from.vesselId, holdsOf((there?.ml ?? 0) - d.volumeMl, there?.lotId))
  }
  if ('vesselId' in d.to) {
    const there = held.get(d.to.vesselId)
    held.set(d.to.vesselId, holdsOf((there?.ml ?? 0) + d.volumeMl, d.to.lotId))
  }
  if (d.receipt) received.add(d.receipt.lotId)
}
