import { and, eq, type SQL, sql } from 'drizzle-orm'
import { no, ok, type Result } from '../../api/result.ts'
import { isoOf, Temporal } from '../../api/time.ts'
import { addition } from '../schema.ts'
import type { Db } from '../types.ts'
import { ask, ms } from './ask.ts'
import { appendEntries } from './record.ts'

export type AdditionRow = Omit<typeof addition.$inferSelect, 'cellarId'>

/**
 * Additions that count: neither taken back, nor told with a tick that was. A tick told again at the same moment stands
 * again.
 */
const counts = sql`not exists (
    select 1 from ${addition} back where back.cellar_id = ${addition.cellarId} and back.reverses_id = ${addition.id}
  ) and (${addition.taskKey} is null or not exists (
    select 1 from task_fact d join task_fact u on u.cellar_id = d.cellar_id and u.undoes_id = d.id
    where d.cellar_id = ${addition.cellarId} and d.task_key = ${addition.taskKey} and d.kind = 'done'
      and d.at = ${addition.addedAt}
  ) or exists (
    select 1 from task_fact d where d.cellar_id = ${addition.cellarId} and d.task_key = ${addition.taskKey}
      and d.kind = 'done' and d.at = ${addition.addedAt} and not exists (
        select 1 from task_fact u where u.cellar_id = d.cellar_id and u.undoes_id = d.id)
  ))`

export async function listCounting(
  db: Db,
  cellarId: string,
  wish: {
    readonly lotIds?: readonly string[]
    readonly fromAt?: Temporal.Instant
    readonly untilAt?: Temporal.Instant
  } = {},
): Promise<AdditionRow[]> {
  if (wish.lotIds?.length === 0) return []
  const rows = await ask<AdditionRaw>(
    db,
    sql`select ${additionColumns} from addition
        where addition.cellar_id = ${cellarId} and addition.reverses_id is null ${ofLots(wish.lotIds)}
          ${wish.fromAt ? sql`and addition.added_at >= ${wish.fromAt.toString()}::timestamptz` : sql``}
          ${wish.untilAt ? sql`and addition.added_at <= ${wish.untilAt.toString()}::timestamptz` : sql``}
          and (${counts})
        order by addition.added_at, addition.id`,
  )
  return rows.map(fromRaw)
}

type AdditionRaw = Omit<AdditionRow, 'addedAt' | 'writtenAt'> & { readonly addedAt: number; readonly writtenAt: number }

const additionColumns = sql`addition.id, addition.lot_id as "lotId", addition.vessel_id as "vesselId", addition.product,
  addition.amount, addition.unit, addition.batch_no as "batchNo", addition.treated_l as "treatedL",
  ${ms(sql`addition.added_at`)} as "addedAt", ${ms(sql`addition.written_at`)} as "writtenAt",
  addition.person_id as "personId", addition.task_key as "taskKey", addition.reverses_id as "reversesId",
  addition.reason`

const fromRaw = <T extends AdditionRaw>(r: T) => ({
  ...r,
  addedAt: Temporal.Instant.fromEpochMilliseconds(r.addedAt),
  writtenAt: Temporal.Instant.fromEpochMilliseconds(r.writtenAt),
})

const ofLots = (lotIds: readonly string[] | undefined): SQL =>
  lotIds
    ? sql`and addition.lot_id = any(array(select jsonb_array_elements_text(${JSON.stringify(lotIds)}::jsonb)))`
    : sql``

/** Every addition told in [fromAt, toAt), those taken back and those that do so among them. */
export async function listAllAdditions(
  db: Db,
  cellarId: string,
  wish: {
    readonly fromAt?: Temporal.Instant
    readonly toAt?: Temporal.Instant
    readonly lotIds?: readonly string[]
  } = {},
): Promise<(AdditionRow & { readonly stands: boolean })[]> {
  if (wish.lotIds?.length === 0) return []
  const rows = await ask<AdditionRaw & { readonly stands: boolean }>(
    db,
    sql`select ${additionColumns}, addition.reverses_id is null and (${counts}) as stands from addition
        where addition.cellar_id = ${cellarId} ${ofLots(wish.lotIds)}
          ${wish.fromAt ? sql`and addition.added_at >= ${wish.fromAt.toString()}::timestamptz` : sql``}
          ${wish.toAt ? sql`and addition.added_at < ${wish.toAt.toString()}::timestamptz` : sql``}
        order by addition.added_at, addition.id`,
  )
  return rows.map(fromRaw)
}

/** Takes an addition back by an entry of its own, and writes what truly went in at its moment. */
export async function recordAdditionCorrection(
  db: Db,
  cellarId: string,
  id: string,
  by: {
    readonly reason: string
    readonly ids: readonly [back: string, instead: string]
    readonly writtenAt: Temporal.Instant
    readonly personId: string
    readonly instead?: Pick<AdditionRow, 'product' | 'amount' | 'unit' | 'treatedL'> & {
      readonly batchNo?: string | undefined
      readonly vesselId?: string | undefined
    }
  },
): Promise<Result<AdditionRow[], 'unknown' | 'corrected'>> {
  const [found] = await db
    .select()
    .from(addition)
    .where(and(eq(addition.cellarId, cellarId), eq(addition.id, id)))
  if (!found) return no('unknown')
  const [back] = await db
    .select({ id: addition.id })
    .from(addition)
    .where(and(eq(addition.cellarId, cellarId), eq(addition.reversesId, id)))
  if (back || found.reversesId !== null) return no('corrected')
  const { cellarId: _, ...was } = found
  const rows: AdditionRow[] = [
    { ...was, id: by.ids[0], writtenAt: by.writtenAt, personId: by.personId, reversesId: id, reason: by.reason },
  ]
  if (by.instead)
    rows.push({
      ...was,
      ...by.instead,
      id: by.ids[1],
      batchNo: by.instead.batchNo ?? was.batchNo,
      vesselId: by.instead.vesselId ?? was.vesselId,
      writtenAt: by.writtenAt,
      personId: by.personId,
      reversesId: null,
      reason: by.reason,
    })
  await db.insert(addition).values(rows.map((r) => ({ cellarId, ...r })))
  await appendEntries(
    db,
    cellarId,
    rows.map((r) => ({
      kind: 'addition',
      subjectId: r.id,
      taskKey: r.taskKey,
      lotId: r.lotId,
      vesselId: r.vesselId,
      personId: r.personId,
      at: r.addedAt,
      writtenAt: r.writtenAt,
      correctsId: r.reversesId,
      fact: { ...r },
    })),
  )
  return ok(rows)
}

export interface LevelThen {
  readonly vesselId: string
  readonly atMs: number
  /** After all movements of that moment, and before them. */
  readonly afterMl: number
  readonly afterLotId: string | null
  readonly beforeMl: number
  readonly beforeLotId: string | null
}

/** What vessels held at several moments. */
export async function listLevelsThen(
  db: Db,
  cellarId: string,
  moments: readonly { readonly vesselId: string; readonly atMs: number }[],
): Promise<LevelThen[]> {
  if (moments.length === 0) return []
  const wanted = JSON.stringify(moments.map((m) => ({ v: m.vesselId, t: isoOf(m.atMs) })))
  const rows = await ask<{
    v: string
    at_ms: number
    after_ml: number | null
    after_lot: string | null
    before_ml: number | null
    before_lot: string | null
  }>(
    db,
    sql`select w.v, ${ms(sql`w.t`)} as at_ms, a.after_ml::float8 as after_ml,
               a.after_lot_id as after_lot, b.after_ml::float8 as before_ml, b.after_lot_id as before_lot
        from jsonb_to_recordset(${wanted}::jsonb) as w(v text, t timestamptz)
        left join lateral (select l.after_ml, l.after_lot_id from level l where l.cellar_id = ${cellarId}
          and l.vessel_id = w.v and l.at <= w.t order by l.at desc, l.entry desc limit 1) a on true
        left join lateral (select l.after_ml, l.after_lot_id from level l where l.cellar_id = ${cellarId}
          and l.vessel_id = w.v and l.at < w.t order by l.at desc, l.entry desc limit 1) b on true`,
  )
  return rows.map((r) => ({
    vesselId: r.v,
    atMs: r.at_ms,
    afterMl: r.after_ml ?? 0,
    afterLotId: r.after_lot,
    beforeMl: r.before_ml ?? 0,
    beforeLotId: r.before_lot,
  }))
}
