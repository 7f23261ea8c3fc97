import { and, asc, desc, eq, sql } from 'drizzle-orm'
import { type Choices, choices as choicesSchema } from '../../api/protocol/choices.ts'
import type { Lot } from '../../api/protocol/facts.ts'
import type { Result } from '../../api/result.ts'
import { Temporal } from '../../api/time.ts'
import { choiceVersion, lot } from '../schema.ts'
import type { Db } from '../types.ts'
import { appendEntries } from './record.ts'
import { overVersion } from './version.ts'

export type StoredLot = Lot & { readonly version: number }

export interface ChoicesSaved {
  readonly version: number
  readonly choices: Choices
  readonly signed: Lot['signed']
  readonly personId: string | null
  readonly at: Temporal.Instant
}

const signedFrom = (json: (typeof choiceVersion.$inferSelect)['signed']): Lot['signed'] =>
  json.map((s) => ({ ...s, at: Temporal.Instant.from(s.at) }))

const signedJson = (signed: Lot['signed']) => signed.map((s) => ({ ...s, at: s.at.toString() }))

const fromRow = (row: typeof lot.$inferSelect, chosen: typeof choiceVersion.$inferSelect): StoredLot => ({
  id: row.id,
  code: row.code,
  name: row.name,
  variety: row.variety,
  block: row.block,
  place: row.place,
  vintage: row.vintage,
  pickOn: row.pickOn,
  fruit: row.fruit,
  // Parsed again, so that answers stored before a choice existed take its default.
  choices: choicesSchema.parse(chosen.choices),
  choicesVersion: row.choicesVersion,
  signed: signedFrom(chosen.signed),
  parents: row.parents,
  ...(row.endedAt ? { endedAt: row.endedAt } : {}),
  ...(row.unplanned ? { unplanned: true } : {}),
  vesselPins: row.vesselPins,
  version: row.version,
})

const toRow = (l: Lot) => ({
  code: l.code,
  name: l.name,
  variety: l.variety,
  block: l.block,
  place: l.place,
  vintage: l.vintage,
  pickOn: l.pickOn,
  fruit: l.fruit,
  vesselPins: Object.fromEntries(Object.entries(l.vesselPins).map(([k, v]) => [k, [...v]])),
  parents: l.parents.map((p) => ({ ...p })),
  endedAt: l.endedAt ?? null,
  unplanned: l.unplanned ?? false,
})

const withChoices = and(
  eq(choiceVersion.cellarId, lot.cellarId),
  eq(choiceVersion.lotId, lot.id),
  eq(choiceVersion.version, lot.choicesVersion),
)

export async function listLots(db: Db, cellarId: string): Promise<StoredLot[]> {
  const rows = await db
    .select()
    .from(lot)
    .innerJoin(choiceVersion, withChoices)
    .where(eq(lot.cellarId, cellarId))
    .orderBy(asc(lot.code))
  return rows.map((r) => fromRow(r.lot, r.choice_version))
}

export async function findLot(db: Db, cellarId: string, id: string): Promise<StoredLot | undefined> {
  const [row] = await db
    .select()
    .from(lot)
    .innerJoin(choiceVersion, withChoices)
    .where(and(eq(lot.cellarId, cellarId), eq(lot.id, id)))
  return row && fromRow(row.lot, row.choice_version)
}

/** Adds lots with the first version of their answers. */
export async function addLots(
  db: Db,
  cellarId: string,
  lots: readonly Lot[],
  by: { personId: string | null; at: Temporal.Instant },
): Promise<void> {
  if (lots.length === 0) return
  await db.insert(lot).values(lots.map((l) => ({ cellarId, id: l.id, choicesVersion: l.choicesVersion, ...toRow(l) })))
  await db.insert(choiceVersion).values(
    lots.map((l) => ({
      cellarId,
      lotId: l.id,
      version: l.choicesVersion,
      choices: l.choices,
      signed: signedJson(l.signed),
      personId: by.personId,
      at: by.at,
    })),
  )
  await appendEntries(
    db,
    cellarId,
    lots.map((l) => choicesEntry(l.id, { ...l, version: l.choicesVersion, ...by })),
  )
}

const choicesEntry = (lotId: string, { version, choices, signed, personId, at }: ChoicesSaved) => ({
  kind: 'choices',
  subjectId: `${lotId}/${version}`,
  lotId,
  personId,
  at,
  writtenAt: at,
  fact: { lotId, version, choices, signed: signedJson(signed), personId, at },
})

/** Saves everything but the answers, over the version that was read. */
export async function saveLot(
  db: Db,
  cellarId: string,
  l: Lot,
  version: number,
): Promise<Result<number, 'stale' | 'unknown'>> {
  const key = and(eq(lot.cellarId, cellarId), eq(lot.id, l.id))
  return overVersion(
    db
      .update(lot)
      .set({ ...toRow(l), version: version + 1 })
      .where(and(key, eq(lot.version, version)))
      .returning({ version: lot.version }),
    () => db.select({ id: lot.id }).from(lot).where(key),
  )
}

/** A new version of a lot's answers; the old ones stay. `choicesVersion` is the one that was read. */
export async function saveChoices(
  db: Db,
  cellarId: string,
  lotId: string,
  saved: Omit<ChoicesSaved, 'version'>,
  choicesVersion: number,
): Promise<Result<number, 'stale' | 'unknown'>> {
  const key = and(eq(lot.cellarId, cellarId), eq(lot.id, lotId))
  // Both rows or none: a lot never points at answers that are not there.
  return db.transaction(async (tx) => {
    const next = await overVersion(
      tx
        .update(lot)
        .set({ choicesVersion: choicesVersion + 1, version: sql`${lot.version} + 1` })
        .where(and(key, eq(lot.choicesVersion, choicesVersion)))
        .returning({ version: lot.choicesVersion }),
      () => tx.select({ id: lot.id }).from(lot).where(key),
    )
    if (!next.ok) return next
    await tx.insert(choiceVersion).values({
      cellarId,
      lotId,
      version: next.value,
      choices: saved.choices,
      signed: signedJson(saved.signed),
      personId: saved.personId,
      at: saved.at,
    })
    await appendEntries(tx, cellarId, [choicesEntry(lotId, { ...saved, version: next.value })])
    return next
  })
}

/** Newest first. */
export async function listChoices(db: Db, cellarId: string, lotId: string): Promise<ChoicesSaved[]> {
  const rows = await db
    .select()
    .from(choiceVersion)
    .where(and(eq(choiceVersion.cellarId, cellarId), eq(choiceVersion.lotId, lotId)))
    .orderBy(desc(choiceVersion.version))
  return rows.map((r) => ({
    version: r.version,
    choices: r.choices,
    signed: signedFrom(r.signed),
    personId: r.personId,
    at: r.at,
  }))
}
