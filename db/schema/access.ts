import { boolean, index, integer, jsonb, pgTable, primaryKey, text, uniqueIndex } from 'drizzle-orm/pg-core'
import type { Family } from '../../api/protocol/types.ts'
import { cellarId, instant } from '../columns.ts'
import { cellar, personOf } from './cellar.ts'

export const feed = pgTable(
  'feed',
  {
    cellarId: cellarId().references(() => cellar.id),
    id: text('id').notNull(),
    /** SHA-256 of the token; the token itself is shown once and stored nowhere. */
    tokenHash: text('token_hash').notNull(),
    kind: text('kind').$type<'cellar' | 'person' | 'lot' | 'vessels' | 'family'>().notNull(),
    subject: text('subject').notNull(),
    name: text('name').notNull(),
    personId: text('person_id').notNull(),
    language: text('language').notNull(),
    showDoses: boolean('show_doses').notNull().default(false),
    alarmMin: jsonb('alarm_min').$type<Partial<Record<Family, number>>>().notNull(),
    version: integer('version').notNull().default(1),
    createdAt: instant('created_at').notNull(),
    revokedAt: instant('revoked_at'),
    lastFetchAt: instant('last_fetch_at'),
    lastClient: text('last_client'),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.id] }),
    uniqueIndex('feed_token').on(t.tokenHash),
    personOf('feed_person_fk', t.cellarId, t.personId),
  ],
)

export const credential = pgTable(
  'credential',
  {
    cellarId: cellarId(),
    personId: text('person_id').notNull(),
    passwordHash: text('password_hash').notNull(),
    changedAt: instant('changed_at').notNull(),
  },
  (t) => [primaryKey({ columns: [t.cellarId, t.personId] }), personOf('credential_person_fk', t.cellarId, t.personId)],
)

export const session = pgTable(
  'session',
  {
    tokenHash: text('token_hash').primaryKey(),
    cellarId: cellarId(),
    personId: text('person_id').notNull(),
    createdAt: instant('created_at').notNull(),
    seenAt: instant('seen_at').notNull(),
    expiresAt: instant('expires_at').notNull(),
    client: text('client').notNull(),
  },
  (t) => [index('session_person').on(t.cellarId, t.personId), personOf('session_person_fk', t.cellarId, t.personId)],
)

export const loginLink = pgTable('login_link', {
  tokenHash: text('token_hash').primaryKey(),
  cellarId: cellarId(),
  /** Absent: the link of an empty installation, for making the first cellar. */
  personId: text('person_id'),
  createdAt: instant('created_at').notNull(),
  expiresAt: instant('expires_at').notNull(),
  usedAt: instant('used_at'),
})
