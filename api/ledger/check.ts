/** The nightly check: the ledger's own rules, over everything that was ever written. */

import type { LedgerFaultJson } from '../../db/json.ts'
import { listContents, saveLedgerCheck } from '../../db/queries/contents.ts'
import { listCounting } from '../../db/queries/dosed.ts'
import { listLevels } from '../../db/queries/levels.ts'
import { listMovements, listReceipts, receiptOf } from '../../db/queries/movements.ts'
import { listVessels } from '../../db/queries/vessels.ts'
import type { Db } from '../../db/types.ts'
import type { Level } from '../cellar/ledger/page.ts'
import { standing } from '../cellar/ledger/standing.ts'
import type { Temporal } from '../time.ts'
import { entryOf, wholeOf } from './rebuild.ts'
import { litres } from './refused.ts'

const MOST_FAULTS = 200

export interface Checked {
  readonly at: Temporal.Instant
  readonly ok: boolean
  readonly movements: number
  readonly tookMs: number
  readonly faults: readonly LedgerFaultJson[]
}

/** Reads and judges; stores what it found. Call it outside a transaction: it reads one moment by itself. */
export async function checkLedger(db: Db, cellarId: string, now: () => Temporal.Instant): Promise<Checked> {
  const at = now()
  const { movements, faults } = await db.transaction((tx) => judged(tx, cellarId), {
    isolationLevel: 'repeatable read',
    accessMode: 'read only',
  })
  const tookMs = Math.max(0, now().epochMilliseconds - at.epochMilliseconds)
  const checked = { at, ok: faults.length === 0, movements, tookMs, faults: faults.slice(0, MOST_FAULTS) }
  await saveLedgerCheck(db, cellarId, checked)
  return checked
}

async function judged(db: Db, cellarId: string) {
  const rows = await listMovements(db, cellarId)
  const receipts = new Map((await listReceipts(db, cellarId)).map((r) => [r.id, receiptOf(r)]))
  const vessels = await listVessels(db, cellarId)
  const limits = new Map(vessels.map((v) => [v.id, Math.round(v.volumeL * 1000)]))
  const additions = await listCounting(db, cellarId)
  const whole = wholeOf(rows, receipts, additions, (id) => limits.get(id))
  const code = (id: string) => vessels.find((v) => v.id === id)?.code ?? id
  const faults: LedgerFaultJson[] = whole.faults.map((f) => {
    const vesselId = f.vesselId
    const rule = f.why === 'not-so-much-there' ? 'below-zero' : f.why === 'above-the-limit' ? 'above-limit' : 'entry'
    const where = vesselId === undefined ? '' : ` in ${code(vesselId)}, which held ${litres(f.hadMl ?? 0)}`
    return {
      rule,
      words: `An entry could not have happened (${f.why})${where}.`,
      movementId: entryOf(f),
      ...(vesselId === undefined ? {} : { vesselId }),
    }
  })
  faults.push(...additionFaults(additions))
  for (const m of rows)
    if (m.taskKey === null && m.reversesId === null && m.cause.trim() === '')
      faults.push({ rule: 'cause', words: 'A movement has neither task nor cause.', movementId: m.id })
  faults.push(...balanceFaults(rows, whole))
  faults.push(...(await storedFaults(db, cellarId, whole, code)))
  return { movements: rows.length, faults }
}

const additionFaults = (additions: Awaited<ReturnType<typeof listCounting>>): LedgerFaultJson[] =>
  additions
    .filter((a) => !a.product.trim() || !(a.amount >= 0) || !a.personId)
    .map((a) => ({ rule: 'addition', words: `The addition ${a.id} lacks its product, amount or person.` }))

type Whole = ReturnType<typeof wholeOf>

/** Litres in = litres out + stock, to the millilitre; shares of every vessel add up to 1. */
function balanceFaults(rows: Awaited<ReturnType<typeof listMovements>>, whole: Whole): LedgerFaultJson[] {
  const out = new Set(whole.faults.map(entryOf))
  const moved = standing(rows.map((r) => ({ ...r, reverses: r.reversesId ?? undefined }))).filter((r) => !out.has(r.id))
  const inMl = moved.reduce((ml, r) => ml + (r.fromKind === 'vessel' ? 0 : r.volumeMl), 0)
  const outMl = moved.reduce((ml, r) => ml + (r.toKind === 'vessel' ? 0 : r.volumeMl), 0)
  const stockMl = [...whole.state.contents.values()].reduce((ml, c) => ml + c.parcel.volumeMl, 0)
  const faults: LedgerFaultJson[] = []
  if (inMl !== outMl + stockMl)
    faults.push({
      rule: 'balance',
      words: `${litres(inMl)} came in, ${litres(outMl)} went and ${litres(stockMl)} are there: they differ by ${litres(inMl - outMl - stockMl)}.`,
    })
  for (const [vesselId, c] of whole.state.contents) {
    const sum = [...c.parcel.sourcesMl.values()].reduce((a, b) => a + b, 0)
    if (Math.abs(sum / c.parcel.volumeMl - 1) > 1e-9)
      faults.push({ rule: 'shares', words: `Shares add up to ${sum / c.parcel.volumeMl}.`, vesselId })
  }
  return faults
}

/** What is stored beside the movements is what the movements say. */
async function storedFaults(
  db: Db,
  cellarId: string,
  whole: Whole,
  code: (id: string) => string,
): Promise<LedgerFaultJson[]> {
  const faults: LedgerFaultJson[] = []
  const stored = new Map((await listContents(db, cellarId)).map((c) => [c.vesselId, c]))
  for (const vesselId of new Set([...stored.keys(), ...whole.state.contents.keys()])) {
    const [a, b] = [stored.get(vesselId), whole.state.contents.get(vesselId)]
    const isSame =
      a &&
      b &&
      a.volumeMl === b.parcel.volumeMl &&
      a.lotId === b.lotId &&
      sameShares(a.sourcesMl, b.parcel.sourcesMl, a.volumeMl) &&
      sameAmounts(a.added, b.parcel.additionsG)
    if (!isSame)
      faults.push({
        rule: 'stored-state',
        words: `${code(vesselId)} is kept with ${litres(a?.volumeMl ?? 0)}, the movements say ${litres(b?.parcel.volumeMl ?? 0)}, or they differ in lot, shares or additions.`,
        vesselId,
      })
  }
  const pages = new Map<string, Level[]>()
  for (const l of await listLevels(db, cellarId)) {
    const page = pages.get(l.vesselId)
    if (page) page.push(l)
    else pages.set(l.vesselId, [l])
  }
  for (const vesselId of new Set([...pages.keys(), ...whole.pages.keys()])) {
    const [a, b] = [pages.get(vesselId) ?? [], whole.pages.get(vesselId) ?? []]
    const isSame = a.length === b.length && a.every((l, i) => sameLevel(l, b[i]))
    if (!isSame)
      faults.push({ rule: 'levels', words: `The page of ${code(vesselId)} is not what its movements say.`, vesselId })
  }
  return faults
}

const sameLevel = (a: Level, b: Level | undefined): boolean =>
  b !== undefined &&
  a.movementId === b.movementId &&
  a.beforeMl === b.beforeMl &&
  a.afterMl === b.afterMl &&
  a.afterLotId === b.afterLotId &&
  a.sinceMs === b.sinceMs

const sameShares = (a: Readonly<Record<string, number>>, b: ReadonlyMap<string, number>, volumeMl: number): boolean =>
  [...new Set([...Object.keys(a), ...b.keys()])].every(
    (k) => Math.abs((a[k] ?? 0) - (b.get(k) ?? 0)) <= 1e-9 * volumeMl + 1e-6,
  )

const sameAmounts = (a: Readonly<Record<string, number>>, b: ReadonlyMap<string, number>): boolean =>
  [...new Set([...Object.keys(a), ...b.keys()])].every((k) => {
    const [x, y] = [a[k] ?? 0, b.get(k) ?? 0]
    return Math.abs(x - y) <= 1e-6 * Math.max(1, Math.abs(x), Math.abs(y))
  })
