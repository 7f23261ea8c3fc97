import { sql } from 'drizzle-orm'
import { check, index, integer, jsonb, pgTable, primaryKey, text, uniqueIndex } from 'drizzle-orm/pg-core'
import type { TrialChange, TrialState } from '../../api/protocol/trial/change.ts'
import { cellarId, instant } from '../columns.ts'
import type { ProposedMoveJson, TrialUndoJson } from '../json.ts'
import { cellar, personOf } from './cellar.ts'

/** What if: changes tried out on a copy. The plan they give is computed when somebody looks, never stored. */
export const trial = pgTable(
  'trial',
  {
    cellarId: cellarId().references(() => cellar.id),
    id: text('id').notNull(),
    name: text('name').notNull(),
    changes: jsonb('changes').$type<TrialChange[]>().notNull(),
    state: text('state').$type<TrialState>().notNull(),
    createdAt: instant('created_at').notNull(),
    createdBy: text('created_by').notNull(),
    decidedAt: instant('decided_at'),
    decidedBy: text('decided_by'),
    /** What adopting it changed, so that all of it can be taken back at once. */
    undo: jsonb('undo').$type<TrialUndoJson[]>(),
    version: integer('version').notNull().default(1),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.id] }),
    index('trial_created').on(t.cellarId, t.createdAt),
    personOf('trial_created_fk', t.cellarId, t.createdBy),
    personOf('trial_decided_fk', t.cellarId, t.decidedBy),
    check('trial_state', sql`${t.state} in ('open', 'adopted', 'dropped', 'undone')`),
    check('trial_decided', sql`(${t.state} = 'open') = (${t.decidedAt} is null)`),
  ],
)

/** Moves of announced work that a re-plan wants and nobody has agreed to yet. One is open at a time; those decided stay. */
export const proposal = pgTable(
  'proposal',
  {
    cellarId: cellarId().references(() => cellar.id),
    id: text('id').notNull(),
    madeAt: instant('made_at').notNull(),
    /** What set it off. */
    because: text('because').notNull(),
    moves: jsonb('moves').$type<ProposedMoveJson[]>().notNull(),
    state: text('state').$type<'open' | 'accepted' | 'partly' | 'refused' | 'passed'>().notNull(),
    decidedAt: instant('decided_at'),
    decidedBy: text('decided_by'),
    /** Task keys that stay where they were. */
    refused: jsonb('refused').$type<string[]>().notNull(),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.id] }),
    index('proposal_made').on(t.cellarId, t.madeAt),
    uniqueIndex('proposal_open').on(t.cellarId).where(sql`${t.state} = 'open'`),
    personOf('proposal_decided_fk', t.cellarId, t.decidedBy),
    check('proposal_state', sql`${t.state} in ('open', 'accepted', 'partly', 'refused', 'passed')`),
  ],
)
