import { and, desc, eq } from 'drizzle-orm'
import type { Temporal } from '../../api/time.ts'
import type { ProposedMoveJson } from '../json.ts'
import { proposal } from '../schema.ts'
import type { Db } from '../types.ts'

export type StoredProposal = typeof proposal.$inferSelect

const MOST_LISTED = 50

/** Newest first. */
export const listProposals = (db: Db, cellarId: string): Promise<StoredProposal[]> =>
  db
    .select()
    .from(proposal)
    .where(eq(proposal.cellarId, cellarId))
    .orderBy(desc(proposal.madeAt), desc(proposal.id))
    .limit(MOST_LISTED)

export async function findOpenProposal(db: Db, cellarId: string): Promise<StoredProposal | undefined> {
  const [row] = await db
    .select()
    .from(proposal)
    .where(and(eq(proposal.cellarId, cellarId), eq(proposal.state, 'open')))
  return row
}

/** Stores one. Call under the cellar's lock: one is open at a time. */
export async function addProposal(
  db: Db,
  cellarId: string,
  row: {
    readonly id: string
    readonly madeAt: Temporal.Instant
    readonly because: string
    readonly moves: readonly ProposedMoveJson[]
    readonly state: StoredProposal['state']
  },
): Promise<void> {
  await db.insert(proposal).values({ cellarId, ...row, moves: [...row.moves], refused: [] })
}

export async function changeProposal(
  db: Db,
  cellarId: string,
  id: string,
  change: {
    readonly state?: StoredProposal['state']
    readonly because?: string
    readonly moves?: readonly ProposedMoveJson[]
    readonly decidedAt?: Temporal.Instant
    readonly decidedBy?: string
    readonly refused?: readonly string[]
  },
): Promise<void> {
  const { moves, refused, ...rest } = change
  await db
    .update(proposal)
    .set({ ...rest, ...(moves ? { moves: [...moves] } : {}), ...(refused ? { refused: [...refused] } : {}) })
    .where(and(eq(proposal.cellarId, cellarId), eq(proposal.id, id)))
}
