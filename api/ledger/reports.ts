/** Losses by cause and month, litres a tonne by block. */
import { levelsAt } from '../../db/queries/levels.ts'
import { listMovements, listReceipts, type MovementRow } from '../../db/queries/movements.ts'
import type { Db } from '../../db/types.ts'
import type { LossesWire, YieldsWire } from '../ledger-wire.ts'
import { Temporal, wallTimeAt } from '../time.ts'
import { type Look, lotRef } from './look.ts'
import { inL } from './shapes.ts'

const standingOf = (rows: readonly MovementRow[]): readonly MovementRow[] => {
  const back = new Set(rows.flatMap((r) => r.reversesId ?? []))
  return rows.filter((r) => r.reversesId === null && !back.has(r.id))
}

export async function lossesOf(
  db: Db,
  look: Look,
  fromOn: Temporal.PlainDate,
  toOn: Temporal.PlainDate,
): Promise<LossesWire> {
  const fromAt = wallTimeAt(fromOn, 0, look.zone)
  const toAt = wallTimeAt(toOn.add({ days: 1 }), 0, look.zone)
  const rows = standingOf(await listMovements(db, look.cellarId, { fromAt, toAt }))
  const opening = await levelsAt(db, look.cellarId, fromAt, { isBefore: true })
  const openingMl = [...opening.values()].reduce((ml, l) => ml + l.afterMl, 0)
  const months: string[] = []
  for (let on = fromOn.with({ day: 1 }); Temporal.PlainDate.compare(on, toOn) <= 0; on = on.add({ months: 1 }))
    months.push(on.toString().slice(0, 7))
  const causes = new Map<string, number[]>()
  let inMl = 0
  for (const m of rows) {
    if (m.fromKind !== 'vessel') inMl += m.volumeMl
    if (m.toKind !== 'loss' && m.toKind !== 'lees') continue
    const month = m.at.toZonedDateTimeISO(look.zone).toPlainDate().toString().slice(0, 7)
    const line = causes.get(m.cause) ?? months.map(() => 0)
    const i = months.indexOf(month)
    if (i >= 0) line[i] = (line[i] ?? 0) + m.volumeMl
    causes.set(m.cause, line)
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

/** Litres of own fruit over tonnes, block by block and vintage by vintage. */
export async function yieldsOf(db: Db, look: Look): Promise<YieldsWire> {
  const fruit = (await listReceipts(db, look.cellarId)).filter((r) => r.kind === 'fruit')
  const groups = new Map<string, { block: string; vintage: string; variety: string; lotIds: string[] }>()
  for (const r of fruit) {
    const key = [r.block, r.vintage, r.variety].join('\n')
    const group = groups.get(key) ?? { block: r.block, vintage: r.vintage, variety: r.variety, lotIds: [] }
    groups.set(key, { ...group, lotIds: [...group.lotIds, r.lotId] })
  }
  const litres = new Map<string, { pressedMl: number; clearMl: number }>()
  for (const r of fruit) {
    const rows = standingOf(await listMovements(db, look.cellarId, { lotId: r.lotId }))
    const pressedMl = rows.reduce((ml, m) => ml + (m.receiptId === r.id ? m.volumeMl : 0), 0)
    const clearMl = rows.reduce(
      (ml, m) =>
        ml +
        (m.taskKey?.split('/')[1] === 'rack-juice' && m.toLotId === r.lotId && m.fromKind === 'vessel'
          ? m.volumeMl
          : 0),
      0,
    )
    litres.set(r.lotId, { pressedMl, clearMl })
  }
  return {
    rows: [...groups.values()]
      .map((g) => {
        const sum = (of: (lotId: string) => number) => g.lotIds.reduce((all, id) => all + of(id), 0)
        const tonnes = Number(sum((id) => look.lots.get(id)?.tonnes ?? 0).toFixed(3))
        const pressedL = inL(sum((id) => litres.get(id)?.pressedMl ?? 0))
        const clearL = inL(sum((id) => litres.get(id)?.clearMl ?? 0))
        const perT = (l: number) => (tonnes > 0 ? Number((l / tonnes).toFixed(1)) : 0)
        return {
          block: g.block,
          vintage: g.vintage,
          variety: g.variety,
          lots: g.lotIds.map((id) => lotRef(look, id)),
          tonnes,
          pressedL,
          pressedLPerT: perT(pressedL),
          clearL: clearL > 0 ? clearL : null,
          clearLPerT: clearL > 0 ? perT(clearL) : null,
        }
      })
      .filter((r) => r.pressedL > 0)
      .sort((a, b) => (a.vintage === b.vintage ? (a.block < b.block ? -1 : 1) : a.vintage < b.vintage ? 1 : -1)),
  }
}
