import { z } from '@hono/zod-openapi'
import type { Context } from 'hono'
import { findCellar } from '../../db/queries/cellars.ts'
import { addLots, listLots } from '../../db/queries/lots.ts'
import { addPeople, listPeople } from '../../db/queries/people.ts'
import { appendEntries } from '../../db/queries/record.ts'
import { addVessels, listVessels } from '../../db/queries/vessels.ts'
import type { Db } from '../../db/types.ts'
import { newId } from '../ids.ts'
import { type RowRead, readRows, readTable, SHAPES, TABLES, type TableName, tableErrors } from '../import.ts'
import { farDayWords } from '../moments.ts'
import { problem } from '../problem.ts'
import { defaultsFor } from '../protocol/defaults.ts'
import { lotEntry } from '../record/lot.ts'
import { personEntry } from '../record/person.ts'
import { bookingsFromWire, personFromWire } from '../shapes/cellar.ts'
import { Temporal } from '../time.ts'
import { anewShape, planAnew } from './anew.ts'
import { csvOf } from './csv-body.ts'
import { type AppEnv, answers, describe, routes } from './route.ts'
import { siteWords } from './sites.ts'

const imported = z
  .object({
    table: z.enum(TABLES),
    written: z.boolean(),
    good: z.number().int(),
    bad: z.number().int(),
    /** About the table as a whole. */
    errors: z.array(z.string()),
    rows: z.array(
      z.object({
        row: z.number().int().openapi({ description: 'Row of the file; the header is row 1' }),
        value: z.record(z.string(), z.unknown()).optional(),
        errors: z.array(z.object({ column: z.string(), detail: z.string() })),
        filled: z.array(z.string()).openapi({ description: 'Columns left empty, and what was taken instead' }),
      }),
    ),
    columns: z.array(z.string()),
    ...anewShape,
  })
  .openapi('Imported')

export const imports = routes().openapi(
  describe({
    method: 'post',
    path: '/api/import/{table}',
    operationId: 'importTable',
    tags: ['Import and export'],
    summary: 'A CSV table of lots, vessels or people: looked at with preview, else written as a whole or not at all',
    request: {
      params: z.object({ table: z.enum(TABLES) }),
      query: z.object({ preview: z.enum(['true', 'false']).default('true') }),
      body: {
        required: true,
        content: { 'text/csv': { schema: z.string().openapi({ example: 'code,kind,volumeL\r\nT40,tank,5000\r\n' }) } },
      },
    },
    responses: { 200: answers(imported, 'Each row, with its errors; `written` says whether they are stored') },
  }),
  async (c) => {
    const name = c.req.valid('param').table
    const isPreview = c.req.valid('query').preview === 'true'
    const read = await look(c, name, await csvOf(c))
    const answer = {
      table: name,
      good: read.rows.filter((r) => r.errors.length === 0).length,
      bad: read.rows.filter((r) => r.errors.length > 0).length,
      errors: read.errors,
      rows: read.rows.map((r) => ({
        row: r.row,
        ...(r.value === undefined ? {} : { value: { ...(r.value as Record<string, unknown>) } }),
        errors: [...r.errors],
        filled: [...r.filled],
      })),
      columns: [...SHAPES[name].columns],
    }
    if (isPreview) return c.json({ ...answer, written: false, changed: [], revision: 0 }, 200)
    if (answer.bad > 0 || answer.errors.length > 0) {
      throw problem(422, 'table-not-valid', 'Nothing was written: the table has errors', {
        errors: [
          ...answer.errors.map((detail) => ({ pointer: '#', detail })),
          ...answer.rows.flatMap((r) => r.errors.map((e) => ({ pointer: `#/${r.row}/${e.column}`, detail: e.detail }))),
        ].slice(0, 500),
      })
    }
    await write(c, read)
    const anew = await planAnew(c)
    return c.json({ ...answer, written: true, ...anew }, 200)
  },
)

type Read = Awaited<ReturnType<typeof look>>

async function look(c: Context<AppEnv>, name: TableName, text: string) {
  const { db, who } = c.var
  const table = readTable(text)
  const errors = tableErrors(name, table)
  if (name === 'lots') {
    const rows = readRows('lots', table).map((r) => {
      const far = r.value && farDayWords(r.value.pickOn, c.var.now())
      return far ? { ...r, errors: [...r.errors, { column: 'pickOn', detail: far }] } : r
    })
    const taken = new Set((await listLots(db, who.cellarId)).map((l) => l.code.toLowerCase()))
    return { name, errors, rows: withTaken(rows, 'code', (v) => v.code, taken) }
  }
  if (name === 'vessels') {
    const sites = (await findCellar(db, who.cellarId))?.sites
    const rows = readRows('vessels', table).map((r) => {
      const unknown = r.value && siteWords(sites, r.value.site)
      return unknown ? { ...r, errors: [...r.errors, { column: 'site', detail: unknown }] } : r
    })
    const taken = new Set((await listVessels(db, who.cellarId)).map((v) => v.code.toLowerCase()))
    return { name, errors, rows: withTaken(rows, 'code', (v) => v.code, taken) }
  }
  const rows = readRows('people', table).map((r) =>
    r.value?.role === 'owner' && who.role !== 'owner'
      ? { ...r, errors: [...r.errors, { column: 'role', detail: 'only an owner may make an owner' }] }
      : r,
  )
  const taken = new Set((await listPeople(db, who.cellarId)).map((p) => p.name.toLowerCase()))
  return { name, errors, rows: withTaken(rows, 'name', (v) => v.name, taken) }
}

/** Names that are in the cellar already, or twice in the table. */
function withTaken<T>(
  rows: readonly RowRead<T>[],
  column: string,
  nameOf: (value: T) => string,
  taken: ReadonlySet<string>,
): RowRead<T>[] {
  const seen = new Map<string, number>()
  return rows.map((r) => {
    if (r.value === undefined) return r
    const name = nameOf(r.value).toLowerCase()
    const before = seen.get(name)
    if (before === undefined) seen.set(name, r.row)
    const detail = taken.has(name) ? 'is in the cellar already' : before ? `stands in row ${before} already` : undefined
    return detail === undefined ? r : { ...r, errors: [...r.errors, { column, detail }] }
  })
}

async function write(c: Context<AppEnv>, read: Read): Promise<void> {
  const { db, who } = c.var
  const nowAt = c.var.now()
  await db.transaction((tx) => writeRows(tx, read, who, nowAt))
}

async function writeRows(
  tx: Db,
  read: Read,
  who: { readonly cellarId: string; readonly personId: string },
  nowAt: Temporal.Instant,
): Promise<void> {
  const id = () => newId(nowAt.epochMilliseconds)
  const values = <T>(rows: readonly RowRead<T>[]) => rows.flatMap((r) => (r.value === undefined ? [] : [r.value]))
  if (read.name === 'lots') {
    const lots = values(read.rows).map(({ style, pickOn, ...v }) => ({
      ...v,
      id: id(),
      vintage: Temporal.PlainDate.from(pickOn).year,
      pickOn: Temporal.PlainDate.from(pickOn),
      choices: defaultsFor(style),
      choicesVersion: 1,
      signed: [],
      parents: [],
      vesselPins: {},
    }))
    await addLots(tx, who.cellarId, lots, { personId: who.personId, at: nowAt })
    const told = lots.map((l) => lotEntry(l, who.personId, nowAt, 'from a table'))
    return appendEntries(tx, who.cellarId, told)
  }
  if (read.name === 'vessels') {
    const vessels = values(read.rows).map(({ opId: _, bookings, ...v }) => ({
      ...v,
      id: id(),
      bookings: bookingsFromWire(bookings),
    }))
    return addVessels(tx, who.cellarId, vessels, { personId: who.personId, at: nowAt, words: 'from a table' })
  }
  const people = values(read.rows).map(({ opId: _, ...v }) => personFromWire(v, id(), []))
  await addPeople(tx, who.cellarId, people)
  const told = people.map((p) => personEntry(p, who.personId, nowAt, { words: 'from a table' }))
  return appendEntries(tx, who.cellarId, told)
}
