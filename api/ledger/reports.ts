/** Losses by cause and month, litres a tonne by block and lot. */
import { sumLosses, sumOutside, sumYields } from '../../db/queries/ledger-sums.ts'
import { stockMlAt } from '../../db/queries/levels.ts'
import { listReceipts, type ReceiptRow } from '../../db/queries/movements.ts'
import type { Db } from '../../db/types.ts'
import type { LossesWire, YieldsWire } from '../ledger-wire.ts'
import { Temporal, wallTimeAt } from '../time.ts'
import { type Look, lotRef, readNames } from './look.ts'
import { inL } from './shapes.ts'

export async function lossesOf(
  db: Db,
  look: Look,
  fromOn: Temporal.PlainDate,
  toOn: Temporal.PlainDate,
): Promise<LossesWire> {
  const spans = monthsOf(fromOn, toOn, look.zone)
  const months = spans.map((s) => s.name)
  const fromAt = wallTimeAt(fromOn, 0, look.zone)
  const toAt = wallTimeAt(toOn.add({ days: 1 }), 0, look.zone)
  const openingMl = await stockMlAt(db, look.cellarId, fromAt.subtract({ milliseconds: 1 }))
  const inMl = (await sumOutside(db, look.cellarId, { fromAt, toAt })).reduce(
    (ml, s) => ml + (s.isIn ? s.volumeMl : 0),
    0,
  )
  const causes = new Map<string, number[]>()
  for (const l of await sumLosses(db, look.cellarId, spans)) {
    const line = causes.get(l.cause) ?? months.map(() => 0)
    line[months.indexOf(l.span)] = l.volumeMl
    causes.set(l.cause, line)
  }
  const total = [...causes.values()].flat().reduce((a, b) => a + b, 0)
  return {
    months,
    causes: [...causes]
      .map(([cause, ml]) => ({ cause, byMonthL: ml.map(inL), totalL: inL(ml.reduce((a, b) => a + b, 0)) }))
      .sort((a, b) => b.totalL - a.totalL || (a.cause < b.cause ? -1 : 1)),
    totalL: inL(total),
    share: openingMl + inMl > 0 ? total / (openingMl + inMl) : 0,
  }
}

/** Calendar months of the cellar from one day to another, the first and last cut to it. */
function monthsOf(fromOn: Temporal.PlainDate, toOn: Temporal.PlainDate, zone: string) {
  const out: { name: string; fromAt: Temporal.Instant; toAt: Temporal.Instant }[] = []
  for (let on = fromOn; Temporal.PlainDate.compare(on, toOn) <= 0; on = on.with({ day: 1 }).add({ months: 1 })) {
    const next = on.with({ day: 1 }).add({ months: 1 })
    const last = toOn.add({ days: 1 })
    const until = Temporal.PlainDate.compare(next, last) < 0 ? next : last
    out.push({
      name: on.toString().slice(0, 7),
      fromAt: wallTimeAt(on, 0, zone),
      toAt: wallTimeAt(until, 0, zone),
    })
  }
  return out
}

/** Litres of own fruit over tonnes, block by block and vintage by vintage, and lot by lot in each. */
export async function yieldsOf(db: Db, look: Look): Promise<YieldsWire> {
  const litres = await sumYields(db, look.cellarId)
  const fruit = (await listReceipts(db, look.cellarId)).filter((r) => r.kind === 'fruit')
  await readNames(db, look, { lots: fruit.map((r) => r.lotId) })
  const groups = new Map<string, ReceiptRow[]>()
  for (const r of fruit) {
    const key = [r.block, r.vintage, r.variety].join('\n')
    groups.set(key, [...(groups.get(key) ?? []), r])
  }
  const of = (receipts: readonly ReceiptRow[]) =>
    yieldOf(
      receipts.reduce((t, r) => t + (litres.get(r.id)?.tonnes ?? 0), 0),
      receipts.reduce((ml, r) => ml + (litres.get(r.id)?.pressedMl ?? 0), 0),
      receipts.reduce((ml, r) => ml + (litres.get(r.id)?.clearMl ?? 0), 0),
    )
  return {
    rows: [...groups.values()]
      .map((g) => ({
        block: g[0]?.block ?? '',
        vintage: g[0]?.vintage ?? '',
        variety: g[0]?.variety ?? '',
        lots: g.map((r) => ({ ...lotRef(look, r.lotId), ...of([r]) })).sort((a, b) => (a.code < b.code ? -1 : 1)),
        ...of(g),
      }))
      .filter((r) => r.pressedL > 0)
      .sort((a, b) => (a.vintage === b.vintage ? (a.block < b.block ? -1 : 1) : a.vintage < b.vintage ? 1 : -1)),
  }
}

function yieldOf(exactTonnes: number, pressedMl: number, clearMl: number) {
  const tonnes = Number(exactTonnes.toFixed(3))
  const perT = (ml: number) => (tonnes > 0 ? Number((inL(ml) / tonnes).toFixed(1)) : 0)
  return {
    tonnes,
    pressedL: inL(pressedMl),
    pressedLPerT: perT(pressedMl),
    clearL: clearMl > 0 ? inL(clearMl) : null,
    clearLPerT: clearMl > 0 ? perT(clearMl) : null,
  }
}
