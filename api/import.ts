/** Rows of a table as lots, vessels or people: every error of every row, with its column, before anything is written. */
import { z } from '@hono/zod-openapi'
import { newPersonBody, newVesselBody } from './bodies.ts'
import { plainName, readTable, type Table } from './csv.ts'
import { code, day, line, prose } from './fields.ts'
import { fieldErrors } from './problem.ts'
import { STYLES, type Style } from './protocol/choices.ts'
import { fruitWire } from './wire.ts'

export const TABLES = ['lots', 'vessels', 'people'] as const
export type TableName = (typeof TABLES)[number]

export interface RowRead<T> {
  /** Row of the file; the header is row 1. */
  readonly row: number
  readonly value?: T
  readonly errors: readonly { readonly column: string; readonly detail: string }[]
  /** Columns left empty and what was taken instead. */
  readonly filled: readonly string[]
}

/** Rows at most: far beyond any cellar, small enough to answer at once. */
export const ROWS_MAX = 20_000

interface Shape<T> {
  readonly schema: z.ZodType<T>
  readonly columns: readonly string[]
  /** Text of the row as the schema wants it. */
  readonly of: (cell: (name: string) => string | undefined) => Record<string, unknown>
  readonly usual: Readonly<Record<string, string>>
}

const number = (text: string | undefined) => {
  if (text === undefined) return undefined
  // A comma is a decimal comma where no point stands beside it; 1,234.5 and 1.234,5 are not guessed at.
  const plain = /^-?\d+,\d+$/.test(text) ? text.replace(',', '.') : text
  const value = Number(plain)
  return Number.isFinite(value) ? value : text
}

const yes = (text: string | undefined) => {
  if (text === undefined) return undefined
  if (/^(yes|true|1|y|x)$/i.test(text)) return true
  return /^(no|false|0|n)$/i.test(text) ? false : text
}

export const lotRow = z.strictObject({
  code,
  name: line(80),
  variety: line(80),
  block: prose(80),
  place: prose(80),
  pickOn: day,
  style: z.enum(STYLES),
  fruit: fruitWire.strict(),
})
export type LotRow = z.output<typeof lotRow> & { readonly style: Style }

const FRUIT = [
  'tonnes',
  'brix',
  'pH',
  'acidGPerLTartaric',
  'malicGPerL',
  'yanMgPerL',
  'fruitTempC',
  'rotPct',
  'yieldLPerT',
]

const LOT: Shape<z.output<typeof lotRow>> = {
  schema: lotRow,
  columns: ['code', 'name', 'variety', 'block', 'place', 'pickOn', 'style', ...FRUIT],
  // Usual figures of ripe white fruit, common practice: a measurement replaces them later.
  usual: {
    block: '',
    place: '',
    style: 'crisp',
    acidGPerLTartaric: '7',
    malicGPerL: '3',
    yanMgPerL: '180',
    fruitTempC: '18',
    rotPct: '0',
    yieldLPerT: '680',
  },
  of: (cell) => ({
    code: cell('code'),
    name: cell('name'),
    variety: cell('variety'),
    block: cell('block') ?? '',
    place: cell('place') ?? '',
    pickOn: cell('pickOn'),
    style: cell('style'),
    fruit: Object.fromEntries(FRUIT.map((name) => [name, number(cell(name))])),
  }),
}

const VESSEL: Shape<z.output<typeof newVesselBody>> = {
  schema: newVesselBody,
  columns: ['code', 'kind', 'volumeL', 'jacket', 'insulated', 'minC', 'pressureBar', 'row', 'fills', 'site', 'state'],
  usual: { jacket: 'no', insulated: 'no', pressureBar: '0', state: 'clean' },
  of: (cell) => ({
    code: cell('code'),
    kind: cell('kind'),
    volumeL: number(cell('volumeL')),
    jacket: yes(cell('jacket')),
    insulated: yes(cell('insulated')),
    ...present('minC', number(cell('minC'))),
    pressureBar: number(cell('pressureBar')),
    ...present('row', cell('row')),
    ...present('fills', number(cell('fills'))),
    ...present('site', cell('site')),
    state: cell('state'),
  }),
}

const WEEKDAYS = ['mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun']

const PERSON: Shape<z.output<typeof newPersonBody>> = {
  schema: newPersonBody,
  columns: ['name', 'role', 'post', 'skills', 'language', 'weekdays', 'from', 'to'],
  usual: { post: '', skills: '', language: 'en', weekdays: 'mon tue wed thu fri', from: '07:00', to: '16:00' },
  of: (cell) => ({
    name: cell('name'),
    role: cell('role'),
    post: cell('post') ?? '',
    skills: words(cell('skills')),
    language: cell('language'),
    shifts: [
      {
        weekdays: words(cell('weekdays')).map((w) => {
          const nr = WEEKDAYS.indexOf(w.toLowerCase().slice(0, 3)) + 1
          return nr > 0 ? nr : number(w)
        }),
        startMin: clock(cell('from')),
        endMin: clock(cell('to')),
      },
    ],
  }),
}

const words = (text: string | undefined) => (text ?? '').split(/[\s;,]+/).filter(Boolean)

const clock = (text: string | undefined) => {
  const [, hours, minutes] = /^(\d{1,2}):(\d{2})$/.exec(text ?? '') ?? []
  return hours === undefined ? text : Number(hours) * 60 + Number(minutes)
}

const present = (name: string, value: unknown) => (value === undefined ? {} : { [name]: value })

export const SHAPES = { lots: LOT, vessels: VESSEL, people: PERSON } as const

/** What is wrong with the table as a whole, before its rows are looked at. */
export function tableErrors(name: TableName, table: Table): string[] {
  const shape = SHAPES[name]
  const known = new Set(shape.columns.map(plainName))
  const missing = shape.columns.filter(
    (c) => !(c in shape.usual) && !optional(c) && !table.columns.includes(plainName(c)),
  )
  return [
    ...(table.rows.length === 0 ? ['The table has no rows below its header.'] : []),
    ...(table.rows.length > ROWS_MAX ? [`The table has ${table.rows.length} rows; at most ${ROWS_MAX} are read.`] : []),
    ...missing.map((c) => `The column ${c} is missing.`),
    ...table.columns
      .filter((c) => !known.has(c))
      .map((c) => `The column ${c || '(no name)'} is not known. Known are: ${shape.columns.join(', ')}.`),
  ]
}

const optional = (column: string) => ['minC', 'row', 'fills', 'site'].includes(column)

export function readRows<N extends TableName>(
  name: N,
  table: Table,
): RowRead<z.output<(typeof SHAPES)[N]['schema']>>[] {
  const shape: Shape<unknown> = SHAPES[name]
  const unread = new Map(table.errors.map((e) => [e.row, e.detail]))
  return table.rows.map((cells, i) => {
    const filled: string[] = []
    const cell = (column: string) => {
      const text = cells[plainName(column)]
      if (text !== undefined && text !== '') return text
      const usual = shape.usual[column]
      if (usual !== undefined && usual !== '') filled.push(`${column} ${usual}`)
      return usual
    }
    const row = i + 2
    const broken = unread.get(row)
    if (broken !== undefined) return { row, errors: [{ column: '', detail: broken }], filled: [] }
    const parsed = shape.schema.safeParse(shape.of(cell))
    if (parsed.success) return { row, value: parsed.data as z.output<(typeof SHAPES)[N]['schema']>, errors: [], filled }
    return {
      row,
      errors: fieldErrors(parsed.error).map((e) => ({ column: columnOf(e.pointer), detail: e.detail })),
      filled,
    }
  })
}

/** `#/fruit/brix` is the column brix; a shift's fields are from, to and weekdays. */
function columnOf(pointer: string): string {
  const parts = pointer
    .split('/')
    .slice(1)
    .filter((p) => p !== 'fruit' && p !== 'shifts' && !/^\d+$/.test(p))
  const last = parts.at(0) ?? ''
  return { startMin: 'from', endMin: 'to' }[last] ?? last
}

export { readTable }
