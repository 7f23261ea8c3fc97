/** The books of a period, as rows of a table: the same for screen, paper and file. */
import { listAllAdditions } from '../../db/queries/dosed.ts'
import { type BookEnd, listBookEnds } from '../../db/queries/ledger-book.ts'
import { sumOutside } from '../../db/queries/ledger-sums.ts'
import { levelsAt, stockMlAt } from '../../db/queries/levels.ts'
import type { Db } from '../../db/types.ts'
import type { RegisterName } from '../ledger-bodies.ts'
import type { RegisterWire } from '../ledger-wire.ts'
import { isoOf, Temporal, wallTimeAt } from '../time.ts'
import { followAt, receiptsFor } from './answers.ts'
import { followed } from './closure.ts'
import { type Look, readNames } from './look.ts'
import { compositionToWire, inL, roundL } from './shapes.ts'

/** 231 cubic inches (definition) of 2.54 cm (definition): 231 x 2.54^3 / 1000 = 3.785411784 L, exactly. */
export const L_PER_US_GALLON = 3.785411784

export interface Period {
  readonly fromOn: Temporal.PlainDate
  /** The last day. */
  readonly toOn: Temporal.PlainDate
  readonly unit: 'L' | 'gal'
  readonly vesselId?: string
  readonly lotId?: string
}

type Row = Record<string, string | number | null>
type Column = RegisterWire['columns'][number]

interface Table {
  readonly title: string
  readonly columns: readonly Column[]
  readonly rows: readonly Row[]
  readonly totals?: Record<string, number>
  readonly closes?: boolean
}

const text = (key: string, title: string): Column => ({ key, title, kind: 'text' })
const volume = (key: string, title: string): Column => ({ key, title, kind: 'volume' })
const moment = (key: string, title: string): Column => ({ key, title, kind: 'moment' })

/** Rows shown at most; a longer register is asked for by shorter periods. */
const MOST_ROWS = 50_000

export async function registerOf(db: Db, look: Look, name: RegisterName, p: Period): Promise<RegisterWire> {
  const span = {
    fromAt: wallTimeAt(p.fromOn, 0, look.zone),
    toAt: wallTimeAt(p.toOn.add({ days: 1 }), 0, look.zone),
  }
  const table = await TABLES[name](db, look, p, span)
  const volumes = new Set(table.columns.filter((c) => c.kind === 'volume').map((c) => c.key))
  const turned = (row: Row): Row =>
    p.unit === 'L'
      ? row
      : Object.fromEntries(
          Object.entries(row).map(([k, v]) => [k, volumes.has(k) && typeof v === 'number' ? gallons(v) : v]),
        )
  return {
    name,
    title: table.title,
    fromOn: p.fromOn.toString(),
    toOn: p.toOn.toString(),
    unit: p.unit,
    unitNote:
      p.unit === 'L'
        ? 'Litres, to the millilitre'
        : `US wine gallons of 231 cubic inches, ${L_PER_US_GALLON} L each (exact), rounded to 0.001; kept in litres`,
    columns: [...table.columns],
    rows: table.rows.slice(0, MOST_ROWS).map(turned),
    totals: turned(table.totals ?? {}) as Record<string, number>,
    ...(table.closes === undefined ? {} : { closes: table.closes }),
    leftOff: Math.max(0, table.rows.length - MOST_ROWS),
  }
}

const gallons = (litres: number): number => Number((litres / L_PER_US_GALLON).toFixed(3))

interface Span {
  readonly fromAt: Temporal.Instant
  readonly toAt: Temporal.Instant
}

type Make = (db: Db, look: Look, p: Period, span: Span) => Promise<Table>

const TABLES: Readonly<Record<RegisterName, Make>> = {
  vessels: async (db, look, p, span) => {
    const place = (kind: string, id: string | null) => (id === null ? kind : look.vessel(id))
    const ends = await listBookEnds(db, look.cellarId, span, 'vessel', p.vesselId)
    await readNames(db, look, {
      vessels: ends.flatMap((e) => [e.vesselId, e.otherVesselId]),
      lots: ends.map((e) => e.lotId),
    })
    const table = ends.map(
      (e): Row => ({
        vessel: look.vessel(e.vesselId ?? ''),
        ...told(look, e),
        lot: e.lotId === null ? '' : look.lot(e.lotId),
        other: e.isIn ? `from ${place(e.otherKind, e.otherVesselId)}` : `to ${place(e.otherKind, e.otherVesselId)}`,
        beforeL: e.beforeMl === null ? null : inL(e.beforeMl),
        inL: e.isIn ? inL(e.volumeMl) : 0,
        outL: e.isIn ? 0 : inL(e.volumeMl),
        afterL: e.afterMl === null ? null : inL(e.afterMl),
      }),
    )
    return {
      title: 'Movements by vessel',
      columns: [
        text('vessel', 'Vessel'),
        moment('at', 'When'),
        text('cause', 'Cause'),
        text('lot', 'Lot'),
        text('other', 'From or to'),
        volume('beforeL', 'Before'),
        volume('inL', 'In'),
        volume('outL', 'Out'),
        volume('afterL', 'After'),
        ...TAIL,
      ],
      rows: byName(table, 'vessel'),
      totals: { inL: sum(table, 'inL'), outL: sum(table, 'outL') },
    }
  },

  lots: async (db, look, p, span) => {
    const ends = await listBookEnds(db, look.cellarId, span, 'lot', p.lotId)
    await readNames(db, look, { lots: ends.flatMap((e) => [e.lotId, e.otherLotId]) })
    const table = ends.map(
      (e): Row => ({
        lot: look.lot(e.lotId ?? ''),
        ...told(look, e),
        other: e.otherLotId === null ? e.otherKind : look.lot(e.otherLotId),
        inL: e.isIn ? inL(e.volumeMl) : 0,
        outL: e.isIn ? 0 : inL(e.volumeMl),
      }),
    )
    return {
      title: 'Movements by lot',
      columns: [
        text('lot', 'Lot'),
        moment('at', 'When'),
        text('cause', 'Cause'),
        text('other', 'From or to'),
        volume('inL', 'In'),
        volume('outL', 'Out'),
        ...TAIL,
      ],
      rows: byName(table, 'lot'),
      totals: { inL: sum(table, 'inL'), outL: sum(table, 'outL') },
    }
  },

  additions: async (db, look, p, span) => {
    const rows = await listAllAdditions(db, look.cellarId, {
      ...span,
      ...(p.lotId === undefined ? {} : { lotIds: [p.lotId] }),
    })
    await readNames(db, look, { vessels: rows.map((a) => a.vesselId), lots: rows.map((a) => a.lotId) })
    return {
      title: 'Additions',
      columns: [
        moment('at', 'When'),
        text('lot', 'Lot'),
        text('vessel', 'Vessel'),
        text('product', 'Product'),
        text('batchNo', 'Batch number'),
        { key: 'amount', title: 'Amount', kind: 'number' },
        text('unit', 'Unit'),
        volume('treatedL', 'Treated'),
        { key: 'dose', title: 'Dose', kind: 'number' },
        text('doseUnit', 'Dose in'),
        text('person', 'Person'),
        text('task', 'Task'),
        text('note', 'Note'),
      ],
      rows: rows
        .filter((a) => p.vesselId === undefined || a.vesselId === p.vesselId)
        .map((a): Row => {
          const inMl = a.unit === 'mL' || a.unit === 'L'
          const amount = a.unit === 'kg' || a.unit === 'L' ? a.amount * 1000 : a.amount
          return {
            at: a.addedAt.toString(),
            lot: look.lot(a.lotId),
            vessel: a.vesselId === null ? '' : look.vessel(a.vesselId),
            product: a.product,
            batchNo: a.batchNo ?? '',
            amount: a.reversesId === null ? a.amount : -a.amount,
            unit: a.unit,
            treatedL: a.treatedL,
            dose: Number(((amount * 100) / a.treatedL).toFixed(3)),
            doseUnit: inMl ? 'mL/hL' : 'g/hL',
            person: look.person(a.personId),
            task: a.taskKey ?? '',
            note: a.reversesId !== null ? `takes back: ${a.reason}` : a.stands ? '' : 'taken back',
          }
        }),
    }
  },

  balance: async (db, look, _p, span) => {
    const before = Temporal.Instant.fromEpochMilliseconds(span.fromAt.epochMilliseconds - 1)
    const last = Temporal.Instant.fromEpochMilliseconds(span.toAt.epochMilliseconds - 1)
    const openingMl = await stockMlAt(db, look.cellarId, before)
    const closingMl = await stockMlAt(db, look.cellarId, last)
    const inMl = new Map<string, number>()
    const outMl = new Map<string, number>()
    for (const m of await sumOutside(db, look.cellarId, span)) {
      const sums = m.isIn ? inMl : outMl
      const kind = !m.isIn && m.kind === 'loss' ? `loss: ${m.cause}` : m.kind
      sums.set(kind, (sums.get(kind) ?? 0) + m.volumeMl)
    }
    const total = (sums: Map<string, number>) => [...sums.values()].reduce((a, b) => a + b, 0)
    const lines = (side: string, sums: Map<string, number>): Row[] =>
      [...sums].sort().map(([kind, ml]) => ({ side, kind, volumeL: inL(ml) }))
    const gapMl = openingMl + total(inMl) - total(outMl) - closingMl
    return {
      title: 'Volume balance',
      columns: [text('side', 'Side'), text('kind', 'Kind'), volume('volumeL', 'Volume')],
      rows: [
        { side: 'opening', kind: 'stock', volumeL: inL(openingMl) },
        ...lines('in', inMl),
        ...lines('out', outMl),
        { side: 'closing', kind: 'stock', volumeL: inL(closingMl) },
      ],
      totals: {
        openingL: inL(openingMl),
        inL: inL(total(inMl)),
        outL: inL(total(outMl)),
        closingL: inL(closingMl),
        gapL: inL(gapMl),
      },
      closes: gapMl === 0,
    }
  },

  composition: async (db, look, p, span) => {
    const at = Temporal.Instant.fromEpochMilliseconds(span.toAt.epochMilliseconds - 1)
    const levels = [...(await levelsAt(db, look.cellarId, at)).values()].filter(
      (l) =>
        l.afterMl > 0 &&
        (p.lotId === undefined || l.afterLotId === p.lotId) &&
        (p.vesselId === undefined || l.vesselId === p.vesselId),
    )
    const f = await followAt(db, look.cellarId, levels, at)
    const lots = [...new Set(levels.map((l) => l.afterLotId ?? ''))]
    await readNames(db, look, { lots })
    const rows: Row[] = []
    for (const lotId of lots.sort((a, b) => (look.lot(a) < look.lot(b) ? -1 : 1))) {
      const own = levels.filter((l) => l.afterLotId === lotId)
      const back = followed(
        f.closure,
        own.map((l) => ({ vesselId: l.vesselId, lotId, volumeMl: l.afterMl })),
      )
      const made = compositionToWire(back.sourcesMl, await receiptsFor(db, look.cellarId, back.sourcesMl.keys()))
      const volumeL = inL(own.reduce((ml, l) => ml + l.afterMl, 0))
      for (const attribute of ['variety', 'vintage', 'block', 'origin'] as const)
        for (const part of made[attribute])
          rows.push({
            lot: look.lot(lotId),
            volumeL,
            attribute,
            value: part.value,
            share: part.share,
            partL: part.volumeL,
          })
    }
    return {
      title: 'Composition of every lot at the end of the period',
      columns: [
        text('lot', 'Lot'),
        volume('volumeL', 'Volume'),
        text('attribute', 'By'),
        text('value', 'What'),
        { key: 'share', title: 'Share', kind: 'share' },
        volume('partL', 'Part'),
      ],
      rows,
    }
  },

  stock: async (db, look, p, span) => {
    const at = Temporal.Instant.fromEpochMilliseconds(span.toAt.epochMilliseconds - 1)
    const levels = [...(await levelsAt(db, look.cellarId, at)).values()].filter(
      (l) => l.afterMl > 0 && (p.lotId === undefined || l.afterLotId === p.lotId),
    )
    await readNames(db, look, { vessels: levels.map((l) => l.vesselId), lots: levels.map((l) => l.afterLotId ?? '') })
    const rows = levels
      .map(
        (l): Row => ({
          vessel: look.vessel(l.vesselId),
          kind: look.vessels.get(l.vesselId)?.kind ?? '',
          lot: look.lot(l.afterLotId ?? ''),
          name: look.lots.get(l.afterLotId ?? '')?.name ?? '',
          volumeL: inL(l.afterMl),
          capacityL: look.vessels.get(l.vesselId)?.volumeL ?? 0,
          sinceAt: isoOf(l.sinceMs),
        }),
      )
      .sort((a, b) => (String(a.vessel) < String(b.vessel) ? -1 : 1))
    return {
      title: 'Contents of every vessel at the end of the period',
      columns: [
        text('vessel', 'Vessel'),
        text('kind', 'Kind'),
        text('lot', 'Lot'),
        text('name', 'Name'),
        volume('volumeL', 'Volume'),
        volume('capacityL', 'Capacity'),
        moment('sinceAt', 'Not empty since'),
      ],
      rows,
      totals: { volumeL: roundL(sum(rows, 'volumeL') * 1000) },
    }
  },
}

const TAIL: readonly Column[] = [
  text('people', 'People'),
  text('task', 'Task'),
  moment('writtenAt', 'Written'),
  text('note', 'Note'),
]

const told = (look: Look, m: BookEnd): Row => ({
  at: m.at,
  cause: m.cause,
  people: m.people.map(look.person).join(', '),
  task: m.taskKey ?? '',
  writtenAt: m.writtenAt,
  note: m.isBack ? `takes an entry back: ${m.reason}` : (m.reason ?? ''),
})

/** Rows of one name together, each in the order of time they came in. */
const byName = (rows: Row[], key: string): Row[] =>
  rows.sort((a, b) => (String(a[key]) < String(b[key]) ? -1 : String(a[key]) > String(b[key]) ? 1 : 0))

/** Sums in whole millilitres: floating litres do not add up. */
const sum = (rows: readonly Row[], key: string): number =>
  rows.reduce((ml, r) => ml + Math.round(Number(r[key] ?? 0) * 1000), 0) / 1000
