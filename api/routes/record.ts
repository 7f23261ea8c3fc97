import { z } from '@hono/zod-openapi'
import type { Context } from 'hono'
import { findCellar } from '../../db/queries/cellars.ts'
import { listLots } from '../../db/queries/lots.ts'
import { listPeople } from '../../db/queries/people.ts'
import { listEntries } from '../../db/queries/record.ts'
import { listTasks } from '../../db/queries/tasks.ts'
import { listVessels } from '../../db/queries/vessels.ts'
import { writeTable } from '../csv.ts'
import { day, id } from '../fields.ts'
import { problem } from '../problem.ts'
import { checkRecord } from '../record/check.ts'
import { LOG_COLUMNS, type LogLine, lineOf } from '../record/log.ts'
import { Temporal } from '../time.ts'
import { moment } from '../wire.ts'
import { type AppEnv, answers, describe, routes } from './route.ts'

const asked = z.object({
  from: day.optional().openapi({ description: 'First day, on the cellar clock. Absent: 30 days back' }),
  to: day.optional().openapi({ description: 'Last day, included. Absent: today' }),
  lot: id.optional().openapi({ description: 'Lot id or code' }),
  vessel: id.optional().openapi({ description: 'Vessel id or code' }),
})

const lineWire = z
  .object({
    entry: z.number().int(),
    at: moment.openapi({ description: 'When it happened, as told' }),
    writtenAt: moment.openapi({ description: 'When the server wrote it' }),
    kind: z.string(),
    words: z.string(),
    person: z.string().optional(),
    lot: z.string().optional(),
    vessel: z.string().optional(),
    task: z.string().optional(),
    taskKey: z.string().optional(),
    opId: z.string().optional(),
    correctsId: z.string().optional(),
    subjectId: z.string(),
    hash: z.string(),
  })
  .openapi('LogLine')

const logWire = z
  .object({ from: day, to: day, lines: z.array(lineWire), more: z.boolean() })
  .openapi('WorkLog', { description: 'more: the span holds more than is told; ask for less' })

export type WorkLogWire = z.infer<typeof logWire>

const checkWire = z
  .object({
    entries: z.number().int(),
    head: z.string().openapi({ description: 'Hash of the last entry: written down elsewhere it proves all before it' }),
    faults: z.array(
      z.object({ entry: z.number().int(), rule: z.enum(['chain', 'payload', 'row']), words: z.string() }),
    ),
    checkedAt: moment,
  })
  .openapi('RecordCheck')

export type RecordCheckWire = z.infer<typeof checkWire>

const DAYS_BACK = 30
const LINES_MAX = 20_000

export const record = routes()
  .openapi(
    describe({
      method: 'get',
      path: '/api/record',
      operationId: 'getWorkLog',
      tags: ['Record'],
      summary: 'The work log of a span: who did what and when, of all, of a lot or of a vessel',
      request: { query: asked },
      responses: { 200: answers(logWire, 'By when it happened') },
    }),
    async (c) => c.json(await logOf(c, c.req.valid('query')), 200),
  )
  .openapi(
    describe({
      method: 'get',
      path: '/api/record/csv',
      operationId: 'getWorkLogTable',
      tags: ['Record'],
      summary: 'The same as a table',
      request: { query: asked },
      responses: { 200: { description: 'The table', content: { 'text/csv': { schema: z.string() } } } },
    }),
    async (c) => {
      const { lines, from, to } = await logOf(c, c.req.valid('query'))
      return c.body(writeTable(LOG_COLUMNS, lines as unknown as Record<string, unknown>[]), 200, {
        'content-type': 'text/csv; charset=utf-8; header=present',
        'content-disposition': `attachment; filename="work-log-${from}-${to}.csv"`,
      })
    },
  )
  .openapi(
    describe({
      method: 'get',
      path: '/api/record/check',
      operationId: 'checkRecord',
      tags: ['Record'],
      summary: 'Reads the whole record through: does each entry fit the one before, and the row it tells of?',
      responses: { 200: answers(checkWire, 'What does not fit; nothing where all does') },
    }),
    async (c) => {
      const { db, who } = c.var
      const { faults, ...check } = await checkRecord(db, who.cellarId)
      return c.json({ ...check, faults: [...faults], checkedAt: c.var.now().toString() }, 200)
    },
  )

async function logOf(c: Context<AppEnv>, query: z.infer<typeof asked>) {
  const { db, who } = c.var
  const zone = (await findCellar(db, who.cellarId))?.zone ?? 'UTC'
  const today = c.var.now().toZonedDateTimeISO(zone).toPlainDate()
  const to = query.to ? Temporal.PlainDate.from(query.to) : today
  const from = query.from ? Temporal.PlainDate.from(query.from) : to.subtract({ days: DAYS_BACK })
  if (Temporal.PlainDate.compare(from, to) > 0) throw problem(422, 'empty-range', 'The range ends before it starts')
  const lots = await listLots(db, who.cellarId)
  const vessels = await listVessels(db, who.cellarId)
  const lot = query.lot === undefined ? undefined : lots.find((l) => l.id === query.lot || l.code === query.lot)
  if (query.lot && !lot) throw problem(404, 'unknown-lot', `There is no lot ${query.lot}`)
  const vessel =
    query.vessel === undefined ? undefined : vessels.find((v) => v.id === query.vessel || v.code === query.vessel)
  if (query.vessel && !vessel) throw problem(404, 'unknown-vessel', `There is no vessel ${query.vessel}`)
  const entries = await listEntries(db, who.cellarId, {
    fromAt: from.toZonedDateTime(zone).toInstant(),
    toAt: to.add({ days: 1 }).toZonedDateTime(zone).toInstant(),
    lotId: lot?.id,
    lotCode: lot?.code,
    vesselId: vessel?.id,
    limit: LINES_MAX + 1,
  })
  const names = {
    people: new Map((await listPeople(db, who.cellarId)).map((p) => [p.id, p.name])),
    lots: new Map(lots.map((l) => [l.id, l.code])),
    vessels: new Map(vessels.map((v) => [v.id, v.code])),
    tasks: new Map((await listTasks(db, who.cellarId, lot ? { lotId: lot.id } : {})).map((t) => [t.key, t.name])),
  }
  const lines: LogLine[] = entries.slice(0, LINES_MAX).map((e) => lineOf(e, names))
  return { from: from.toString(), to: to.toString(), lines, more: entries.length > LINES_MAX }
}
