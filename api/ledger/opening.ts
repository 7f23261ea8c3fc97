/** Stock that was there before the ledger: a table looked at first, then written as a whole or not at all. */

import type { LotNamed } from '../../db/queries/ledger-names.ts'
import { levelsAt } from '../../db/queries/levels.ts'
import { addLots } from '../../db/queries/lots.ts'
import type { Db } from '../../db/types.ts'
import { millilitres } from '../cellar/ledger/movement.ts'
import { readTable } from '../csv.ts'
import { newId } from '../ids.ts'
import type { OpeningWire } from '../ledger-wire.ts'
import { problem } from '../problem.ts'
import { defaultsFor } from '../protocol/defaults.ts'
import type { Lot } from '../protocol/facts.ts'
import { dayOf, Temporal } from '../time.ts'
import type { Draft } from './draft.ts'
import type { Who } from './entry.ts'
import { type Look, readNames, refusedIn } from './look.ts'
import { post } from './post.ts'
import { inL } from './shapes.ts'

export const OPENING_COLUMNS = ['vessel', 'lot', 'volumeL', 'variety', 'vintage', 'block', 'origin', 'name'] as const
const NEEDED = ['vessel', 'lot', 'volumel'] as const

type OpeningRow = OpeningWire['rows'][number]

interface Read {
  readonly errors: readonly string[]
  readonly rows: readonly OpeningRow[]
  readonly lots: readonly Lot[]
  readonly drafts: readonly Draft[]
}

const CODE = /^[A-Za-z0-9][A-Za-z0-9._-]{0,15}$/

/** Every error of every row with its column, and what it would write. */
async function read(db: Db, look: Look, csv: string, who: Who): Promise<Read> {
  const table = readTable(csv)
  const known = new Set<string>(OPENING_COLUMNS.map((c) => c.toLowerCase()))
  const errors = [
    ...NEEDED.filter((c) => !table.columns.includes(c)).map(
      (c) => `The column ${c === 'volumel' ? 'volumeL' : c} is missing.`,
    ),
    ...table.columns.filter((c) => !known.has(c)).map((c) => `The column ${c} is not known.`),
    ...table.errors.map((e) => `Row ${e.row}: ${e.detail}`),
    ...(table.rows.length === 0 ? ['The table has no rows.'] : []),
    ...(table.rows.length > 20_000 ? ['The table has more than 20,000 rows.'] : []),
  ]
  const levels = await levelsAt(db, look.cellarId, who.nowAt)
  const held = new Map([...levels].filter(([, l]) => l.afterMl > 0).map(([id, l]) => [id, l.afterLotId]))
  const lots = new Map<string, LotNamed>(look.lots.all().map((l) => [l.code, l]))
  const there = new Set(lots.keys())
  const vessels = new Map(look.vessels.all().map((v) => [v.code, v]))
  const made: Lot[] = []
  const drafts: Draft[] = []
  const rows = (errors.length > 0 ? [] : table.rows).map((cells, i): OpeningRow => {
    const wrong: { column: string; detail: string }[] = []
    const cell = (name: string) => cells[name]?.trim() ?? ''
    const vessel = vessels.get(cell('vessel'))
    if (!vessel)
      wrong.push({ column: 'vessel', detail: cell('vessel') ? `there is no vessel ${cell('vessel')}` : 'is missing' })
    const litres = Number(/^-?\d+,\d+$/.test(cell('volumel')) ? cell('volumel').replace(',', '.') : cell('volumel'))
    if (!cell('volumel')) wrong.push({ column: 'volumeL', detail: 'is missing' })
    else if (!(litres > 0 && litres <= 1_000_000)) wrong.push({ column: 'volumeL', detail: 'must be litres above 0' })
    else if (vessel && litres > vessel.volumeL)
      wrong.push({ column: 'volumeL', detail: `is more than ${vessel.code} takes: ${vessel.volumeL} L` })
    const code = cell('lot')
    if (!CODE.test(code)) wrong.push({ column: 'lot', detail: 'must be 1 to 16 letters, digits, dots or dashes' })
    const vintage = cell('vintage')
    if (vintage && !/^(19|20)\d\d$/.test(vintage)) wrong.push({ column: 'vintage', detail: 'must be a year' })
    for (const column of ['variety', 'block', 'origin', 'name'])
      if (cell(column).length > 80) wrong.push({ column, detail: 'must be at most 80 signs' })
    const stored = lots.get(code)
    const isNew = CODE.test(code) && !there.has(code)
    if (isNew && !stored && !cell('variety')) wrong.push({ column: 'variety', detail: 'is missing: the lot is new' })
    if (vessel && held.has(vessel.id))
      wrong.push({ column: 'vessel', detail: `${vessel.code} is not empty by the ledger, or stands here twice` })
    if (wrong.length === 0 && vessel) {
      const fresh = stored ? undefined : newLot(code, cell, look, who)
      if (fresh) {
        lots.set(code, { ...fresh, endedAt: null })
        made.push(fresh)
      }
      const lot = lots.get(code)
      if (!lot) throw new Error(`the lot ${code} was just made`)
      held.set(vessel.id, lot.id)
      drafts.push({
        at: who.nowAt.round({ smallestUnit: 'millisecond', roundingMode: 'trunc' }),
        people: [who.personId],
        from: { outside: 'bought' },
        to: { vesselId: vessel.id, lotId: lot.id },
        volumeMl: millilitres(litres),
        cause: 'opening stock',
        receipt: {
          id: newId(who.nowAt.epochMilliseconds),
          kind: 'opening',
          lotId: lot.id,
          variety: cell('variety') || lot.variety,
          vintage: vintage || String(lot.vintage),
          block: cell('block') || lot.block,
          origin: cell('origin') || lot.place,
        },
      })
    }
    return {
      row: i + 2,
      ...(cell('vessel') ? { vessel: cell('vessel') } : {}),
      ...(code ? { lot: code } : {}),
      newLot: isNew,
      ...(Number.isFinite(litres) && cell('volumel') ? { volumeL: litres } : {}),
      errors: wrong,
    }
  })
  return { errors, rows, lots: made, drafts }
}

/** A wine that was there already: it lives, but nothing is known of what it is still owed, so nothing is planned. */
function newLot(code: string, cell: (name: string) => string, look: Look, who: Who): Lot {
  const today = dayOf(who.nowAt, look.zone)
  const vintage = Number(cell('vintage')) || today.year
  return {
    id: newId(who.nowAt.epochMilliseconds),
    code,
    name: cell('name') || code,
    variety: cell('variety'),
    block: cell('block'),
    place: cell('origin'),
    vintage,
    pickOn:
      Temporal.PlainDate.compare(today.with({ year: vintage }), today) > 0 ? today : today.with({ year: vintage }),
    // Usual juice: it has no part in any plan.
    fruit: {
      tonnes: 1,
      brix: 21,
      pH: 3.3,
      acidGPerLTartaric: 7,
      malicGPerL: 3,
      yanMgPerL: 180,
      fruitTempC: 15,
      rotPct: 0,
      yieldLPerT: 650,
    },
    choices: defaultsFor('neutral'),
    choicesVersion: 1,
    signed: [],
    parents: [],
    unplanned: true,
    vesselPins: {},
  }
}

/** @throws a problem that names each cell in the way, unless it is a preview. Call inside a transaction. */
export async function openStock(db: Db, look: Look, csv: string, who: Who, isPreview: boolean): Promise<OpeningWire> {
  await readNames(db, look, { vessels: 'all', lots: 'all' })
  const found = await read(db, look, csv, who)
  const bad = found.rows.filter((r) => r.errors.length > 0).length
  const answer = {
    good: found.rows.length - bad,
    bad,
    errors: [...found.errors],
    columns: [...OPENING_COLUMNS],
    rows: [...found.rows],
    totalL: inL(found.drafts.reduce((ml, d) => ml + d.volumeMl, 0)),
  }
  if (isPreview) return { ...answer, written: false }
  if (bad > 0 || found.errors.length > 0)
    throw problem(422, 'table-not-valid', 'Nothing was written: the table has errors', {
      errors: [
        ...found.errors.map((detail) => ({ pointer: '#', detail })),
        ...found.rows.flatMap((r) => r.errors.map((e) => ({ pointer: `#/${r.row}/${e.column}`, detail: e.detail }))),
      ].slice(0, 500),
    })
  await addLots(db, look.cellarId, found.lots, { personId: who.personId, at: who.nowAt })
  const done = await post(db, look.cellarId, found.drafts, {
    opId: newId(who.nowAt.epochMilliseconds),
    writtenAt: who.nowAt,
  })
  if (!done.ok) throw await refusedIn(db, look, done.why)
  return { ...answer, written: true }
}
