import { z } from '@hono/zod-openapi'
import type { Context } from 'hono'
import { exportAll } from '../../db/queries/export.ts'
import { loadAllFacts } from '../../db/queries/facts.ts'
import { listTasks } from '../../db/queries/tasks.ts'
import { writeTable } from '../csv.ts'
import { SHAPES } from '../import.ts'
import { problem } from '../problem.ts'
import type { Facts } from '../protocol/facts.ts'
import { dayOf, Temporal } from '../time.ts'
import { tasksToWire } from './read.ts'
import { type AppEnv, describe, routes } from './route.ts'

const TABLES = ['lots', 'vessels', 'people', 'machines', 'readings', 'additions', 'transfers', 'tasks', 'log'] as const
type ExportTable = (typeof TABLES)[number]

/** What the shape of the whole export is called; raised when a reader of it would have to change. */
const FORMAT = 1

const whole = z
  .looseObject({ format: z.literal(FORMAT), exportedAt: z.iso.datetime() })
  .openapi('Export', { description: 'Every record of the cellar: facts as they were told, and the plan' })

export const exports = routes()
  .openapi(
    describe({
      method: 'get',
      path: '/api/export.json',
      operationId: 'exportAll',
      tags: ['Import and export'],
      summary: 'Everything of the cellar in one file. Secrets are not in it',
      responses: { 200: { description: 'The file', content: { 'application/json': { schema: whole } } } },
    }),
    async (c) => {
      const { db, who } = c.var
      const tables = await exportAll(db, who.cellarId)
      const name = String(tables.cellar[0]?.name ?? 'cellar')
      c.header('content-disposition', `attachment; filename="${fileName(name)}.json"`)
      const all: z.infer<typeof whole> = { format: FORMAT, exportedAt: c.var.now().toString(), ...tables }
      return c.json(all, 200)
    },
  )
  .openapi(
    describe({
      method: 'get',
      path: '/api/export/{file}',
      operationId: 'exportTable',
      tags: ['Import and export'],
      summary: `One table as CSV: ${TABLES.map((t) => `${t}.csv`).join(', ')}`,
      request: { params: z.object({ file: z.string().max(40).openapi({ example: 'lots.csv' }) }) },
      responses: { 200: { description: 'The table', content: { 'text/csv': { schema: z.string() } } } },
    }),
    async (c) => {
      const table = TABLES.find((t) => `${t}.csv` === c.req.valid('param').file)
      if (!table) {
        throw problem(404, 'unknown-table', 'There is no such table', {
          detail: `There are: ${TABLES.map((t) => `${t}.csv`).join(', ')}.`,
        })
      }
      const facts = await factsOf(c)
      return c.body(await tableOf(c, table, facts), 200, {
        'content-type': 'text/csv; charset=utf-8; header=present',
        'content-disposition': `attachment; filename="${fileName(facts.cellar.name)}-${table}.csv"`,
      })
    },
  )

async function factsOf(c: Context<AppEnv>): Promise<Facts> {
  const facts = await loadAllFacts(c.var.db, c.var.who.cellarId)
  if (!facts) throw problem(404, 'not-found', 'There is no such cellar')
  return facts
}

const fileName = (name: string) =>
  name
    .normalize('NFKD')
    .replaceAll(/[^A-Za-z0-9]+/g, '-')
    .toLowerCase() || 'cellar'

async function tableOf(c: Context<AppEnv>, table: ExportTable, facts: Facts): Promise<string> {
  const lotCodes = new Map(facts.lots.map((l) => [l.id, l.code]))
  const vesselCodes = new Map(facts.vessels.map((v) => [v.id, v.code]))
  const names = new Map(facts.people.map((p) => [p.id, p.name]))
  const who = (id: string | undefined) => (id === undefined ? '' : (names.get(id) ?? id))
  const where = (id: string | undefined) => (id === undefined ? '' : (vesselCodes.get(id) ?? id))
  switch (table) {
    case 'lots':
      return writeTable(
        SHAPES.lots.columns,
        facts.lots.map((l) => ({ ...l, ...l.fruit, style: l.choices.style })),
      )
    case 'vessels':
      return writeTable(SHAPES.vessels.columns, facts.vessels.map(yesNo))
    case 'people':
      return writeTable(SHAPES.people.columns, facts.people.map(personRow))
    case 'machines':
      return writeTable(
        ['code', 'kind', 'name', 'capacity', 'site'],
        facts.machines.map((m) => ({ ...m })),
      )
    case 'readings':
      return writeTable(
        ['id', 'lot', 'vessel', 'kind', 'value', 'takenAt', 'person', 'taskKey', 'correctsId', 'note'],
        facts.readings.map((r) => ({
          ...r,
          lot: lotCodes.get(r.lotId),
          vessel: where(r.vesselId),
          person: who(r.personId),
        })),
      )
    case 'additions':
      return writeTable(
        ['id', 'lot', 'vessel', 'product', 'amount', 'unit', 'batchNo', 'treatedL', 'addedAt', 'person', 'taskKey'],
        facts.additions.map((a) => ({
          ...a,
          lot: lotCodes.get(a.lotId),
          vessel: where(a.vesselId),
          person: who(a.personId),
        })),
      )
    case 'transfers':
      return writeTable(
        ['id', 'lot', 'from', 'to', 'volumeL', 'lossL', 'movedAt', 'person', 'taskKey'],
        facts.transfers.map((t) => ({
          ...t,
          lot: lotCodes.get(t.lotId),
          from: where(t.fromVesselId),
          to: where(t.toVesselId),
          person: who(t.personId),
        })),
      )
    case 'log':
      return writeTable(
        ['id', 'taskKey', 'kind', 'at', 'person', 'startAt', 'people', 'vessels', 'reason', 'undoesId'],
        facts.taskFacts.map((f) => ({
          ...f,
          person: who(f.personId),
          people: f.people?.map(who).join(' '),
          vessels: f.vessels?.map(where).join(' '),
        })),
      )
    case 'tasks': {
      const stored = await listTasks(c.var.db, c.var.who.cellarId)
      const tasks = await tasksToWire(c.var.db, c.var.who.cellarId, stored, c.var.now())
      return writeTable(
        [
          'key',
          'lotCode',
          'step',
          'name',
          'startAt',
          'endAt',
          'grain',
          'state',
          'people',
          'from',
          'to',
          'machines',
          'doses',
          'why',
        ],
        tasks.map((t) => ({
          ...t,
          // Of work by the day the hours would say what nobody means.
          ...(t.grain === 'day' ? daysOf(t, facts.cellar.zone) : {}),
          people: t.people.map(who).join(' '),
          from: t.fromVessels.join(' '),
          to: t.toVessels.join(' '),
          machines: t.machines.join(' '),
          doses: t.doses.map((d) => `${d.product} ${d.amount} ${d.unit}`).join('; '),
        })),
      )
    }
  }
}

const daysOf = (t: { readonly startAt: string; readonly endAt: string }, zone: string) => ({
  startAt: dayOf(Temporal.Instant.from(t.startAt), zone).toString(),
  endAt: dayOf(Temporal.Instant.from(t.endAt), zone).toString(),
})

const yesNo = (row: object) =>
  Object.fromEntries(Object.entries(row).map(([k, v]) => [k, v === true ? 'yes' : v === false ? 'no' : v]))

const WEEKDAYS = ['', 'mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun']
const clock = (min: number) => `${String(Math.floor(min / 60)).padStart(2, '0')}:${String(min % 60).padStart(2, '0')}`

/** The shift that counts for most: a table has room for one; the JSON export holds them all. */
function personRow(p: Facts['people'][number]) {
  const shift = p.shifts[0]
  return {
    ...p,
    skills: p.skills.join(' '),
    weekdays: shift?.weekdays.map((d) => WEEKDAYS[d]).join(' '),
    from: shift ? clock(shift.startMin) : '',
    to: shift ? clock(shift.endMin) : '',
  }
}
