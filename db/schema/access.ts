import { sql } from 'drizzle-orm'
import { bigint, boolean, index, integer, jsonb, pgTable, primaryKey, text, uniqueIndex } from 'drizzle-orm/pg-core'
import type { Family } from '../../api/protocol/types.ts'
import { cellarId, instant } from '../columns.ts'
import { account, cellar, personOf } from './cellar.ts'

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

/** A passkey of an account; the private half never leaves its owner's device. */
export const passkey = pgTable(
  'passkey',
  {
    /** The credential id, base64url. */
    id: text('id').primaryKey(),
    accountId: text('account_id')
      .notNull()
      .references(() => account.id),
    /** COSE key, base64url. */
    publicKey: text('public_key').notNull(),
    /** Signatures so far, where the device counts them: unsigned, 32 bits. */
    counter: bigint('counter', { mode: 'number' }).notNull(),
    transports: jsonb('transports').$type<string[]>().notNull(),
    name: text('name').notNull(),
    createdAt: instant('created_at').notNull(),
    usedAt: instant('used_at'),
  },
  (t) => [index('passkey_account').on(t.accountId)],
)

/** A code on paper that stands for a passkey once. Of 120 random bits, so a plain digest keeps it. */
export const recoveryCode = pgTable(
  'recovery_code',
  {
    accountId: text('account_id')
      .notNull()
      .references(() => account.id),
    codeHash: text('code_hash').notNull(),
    createdAt: instant('created_at').notNull(),
    usedAt: instant('used_at'),
  },
  (t) => [primaryKey({ columns: [t.accountId, t.codeHash] })],
)

/** A question put to a passkey, and for whom: the first step of signing in is done, or a key is being added. */
export const challenge = pgTable(
  'challenge',
  {
    tokenHash: text('token_hash').primaryKey(),
    cellarId: cellarId(),
    personId: text('person_id').notNull(),
    purpose: text('purpose').$type<'second' | 'register'>().notNull(),
    proof: text('proof').$type<Proof>().notNull(),
    question: text('question').notNull(),
    tries: integer('tries').notNull().default(0),
    expiresAt: instant('expires_at').notNull(),
  },
  (t) => [personOf('challenge_person_fk', t.cellarId, t.personId)],
)

/** What a session stands on. A link is good for its own cellar only. */
export type Proof = 'link' | 'password' | 'passkey'

const handle = () => text('id').notNull().default(sql`gen_random_uuid()::text`)

export const session = pgTable(
  'session',
  {
    tokenHash: text('token_hash').primaryKey(),
    /** By which it is listed and ended; tells nothing of the secret. */
    id: handle(),
    cellarId: cellarId(),
    personId: text('person_id').notNull(),
    proof: text('proof').$type<Proof>().notNull().default('link'),
    createdAt: instant('created_at').notNull(),
    seenAt: instant('seen_at').notNull(),
    expiresAt: instant('expires_at').notNull(),
    client: text('client').notNull(),
    /** A phone that several people share: they lie behind one device, each behind a number of their own. */
    deviceHash: text('device_hash'),
    pinHash: text('pin_hash'),
    pinTries: integer('pin_tries').notNull().default(0),
    lockedAt: instant('locked_at'),
  },
  (t) => [
    index('session_person').on(t.cellarId, t.personId),
    index('session_device').on(t.deviceHash),
    personOf('session_person_fk', t.cellarId, t.personId),
  ],
)

export const loginLink = pgTable('login_link', {
  tokenHash: text('token_hash').primaryKey(),
  id: handle(),
  cellarId: cellarId(),
  /** Absent: the link of an empty installation, for making the first cellar. */
  personId: text('person_id'),
  /** Absent: the server printed it at its start. */
  madeBy: text('made_by'),
  createdAt: instant('created_at').notNull(),
  expiresAt: instant('expires_at').notNull(),
  usedAt: instant('used_at'),
})
