/** The nightly check: the ledger's own rules, over everything that was ever written. */

import type { LedgerFaultJson } from '../../db/json.ts'
import { type ContentRow, listContents, saveLedgerCheck } from '../../db/queries/contents.ts'
import { listDifferences, listDipped } from '../../db/queries/dips.ts'
import { countLevels, listLevelsOf } from '../../db/queries/levels.ts'
import { countMovements } from '../../db/queries/movements.ts'
import { listVessels } from '../../db/queries/vessels.ts'
import type { Db } from '../../db/types.ts'
import type { Level } from '../cellar/ledger/page.ts'
import type { LedgerState } from '../cellar/ledger/replay.ts'
import { toleranceShare } from '../cellar/ledger/tolerance.ts'
import type { Temporal } from '../time.ts'
import { dipFaults } from './dips.ts'
import { entryOf } from './rebuild.ts'
import { litres } from './refused.ts'
import { type Stretch, walkLedger } from './walk.ts'

/** Faults listed of one kind: a thousand of one must not hide the one of another. */
const MOST_OF_KIND = 40

export interface Checked {
  readonly at: Temporal.Instant
  readonly ok: boolean
  readonly movements: number
  readonly tookMs: number
  /** What is wrong, and, marked so, what would be had nobody accepted it with a reason. */
  readonly faults: readonly LedgerFaultJson[]
}

/** Whether nothing is wrong but what was accepted. */
const holds = (faults: readonly LedgerFaultJson[]): boolean => faults.every((f) => f.accepted !== undefined)

/** Reads and judges; stores what it found. Call it outside a transaction: it reads one moment by itself. */
export async function checkLedger(db: Db, cellarId: string, now: () => Temporal.Instant): Promise<Checked> {
  const at = now()
  const { movements, faults } = await db.transaction((tx) => judged(tx, cellarId), {
    isolationLevel: 'repeatable read',
    accessMode: 'read only',
  })
  const tookMs = Math.max(0, now().epochMilliseconds - at.epochMilliseconds)
  const checked = { at, ok: holds(faults), movements, tookMs, faults }
  await saveLedgerCheck(db, cellarId, checked)
  return checked
}

async function judged(db: Db, cellarId: string) {
  const vessels = new Map((await listVessels(db, cellarId)).map((v) => [v.id, v]))
  const code = (id: string) => vessels.get(id)?.code ?? id
  const limitMl = (id: string) => {
    const v = vessels.get(id)
    return v && Math.round(v.volumeL * 1000)
  }
  const { count, causeless } = await countMovements(db, cellarId, MOST_OF_KIND + 1)
  const found = collected()
  /** Levels that each vessel should have. */
  const due = new Map<string, number>()
  const otherwise = new Set<string>()
  let [inMl, outMl] = [0, 0]
  const state = await walkLedger(db, cellarId, limitMl, async (s) => {
    inMl += s.inMl
    outMl += s.outMl
    found.add(s.faults.map((f) => entryFault(f, code)))
    found.add(additionFaults(s.additions))
    for (const l of s.levels) due.set(l.vesselId, (due.get(l.vesselId) ?? 0) + 1)
    for (const id of await unlike(db, cellarId, s.levels)) otherwise.add(id)
  })
  for (const [id, n] of await countLevels(db, cellarId)) if (due.get(id) !== n) otherwise.add(id)
  found.add(
    causeless.map((movementId) => ({
      rule: 'cause' as const,
      words: 'A movement has neither task nor cause.',
      movementId,
    })),
  )
  found.add(balanceFaults(state, inMl, outMl))
  found.add(storedFaults(await listContents(db, cellarId), state, code))
  found.add(
    [...otherwise].map((vesselId) => ({
      rule: 'levels' as const,
      words: `The page of ${code(vesselId)} is not what its movements say.`,
      vesselId,
    })),
  )
  const dipped = await listDipped(db, cellarId, toleranceShare([]))
  const differences = await listDifferences(db, cellarId, [...new Set(dipped.map((d) => d.vesselId))])
  found.add(dipFaults(dipped, differences, (id) => vessels.get(id)?.kind, code))
  return { movements: count, faults: found.listed() }
}

/** Keeps so many faults of each kind, and says of how many more it knows. What was accepted takes the place of none. */
function collected() {
  const listed: LedgerFaultJson[] = []
  const accepted: LedgerFaultJson[] = []
  const counts = new Map<LedgerFaultJson['rule'], number>()
  return {
    add: (faults: readonly LedgerFaultJson[]) => {
      for (const fault of faults) {
        if (fault.accepted) {
          if (accepted.length < MOST_OF_KIND) accepted.push(fault)
          continue
        }
        const n = (counts.get(fault.rule) ?? 0) + 1
        counts.set(fault.rule, n)
        if (n <= MOST_OF_KIND) listed.push(fault)
      }
    },
    listed: (): LedgerFaultJson[] => [
      ...listed,
      ...[...counts].flatMap(([rule, n]) =>
        n > MOST_OF_KIND ? [{ rule, words: `More of this kind than the ${MOST_OF_KIND} listed.` }] : [],
      ),
      ...accepted,
    ],
  }
}

function entryFault(f: Stretch['faults'][number], code: (id: string) => string): LedgerFaultJson {
  const { vesselId } = f
  const rule = f.why === 'not-so-much-there' ? 'below-zero' : f.why === 'above-the-limit' ? 'above-limit' : 'entry'
  const where = vesselId === undefined ? '' : ` in ${code(vesselId)}, which held ${litres(f.hadMl ?? 0)}`
  return {
    rule,
    words: `An entry could not have happened (${f.why})${where}.`,
    movementId: entryOf(f),
    ...(vesselId === undefined ? {} : { vesselId }),
  }
}

const additionFaults = (additions: Stretch['additions']): LedgerFaultJson[] =>
  additions
    .filter((a) => !a.product.trim() || !(a.amount >= 0) || !a.personId)
    .map((a) => ({ rule: 'addition', words: `The addition ${a.id} lacks its product, amount or person.` }))

/** Litres in = litres out + stock, to the millilitre; shares of every vessel add up to 1. */
export function balanceFaults(state: LedgerState, inMl: number, outMl: number): LedgerFaultJson[] {
  const stockMl = [...state.contents.values()].reduce((ml, c) => ml + c.parcel.volumeMl, 0)
  const faults: LedgerFaultJson[] = []
  if (inMl !== outMl + stockMl)
    faults.push({
      rule: 'balance',
      words: `${litres(inMl)} came in, ${litres(outMl)} went and ${litres(stockMl)} are there: they differ by ${litres(inMl - outMl - stockMl)}.`,
    })
  for (const [vesselId, c] of state.contents) {
    const sum = [...c.parcel.sourcesMl.values()].reduce((a, b) => a + b, 0)
    if (Math.abs(sum / c.parcel.volumeMl - 1) > 1e-9)
      faults.push({ rule: 'shares', words: `Shares add up to ${sum / c.parcel.volumeMl}.`, vesselId })
  }
  return faults
}

/** What is kept of every vessel is what the movements say. */
function storedFaults(
  kept: readonly ContentRow[],
  state: LedgerState,
  code: (id: string) => string,
): LedgerFaultJson[] {
  const faults: LedgerFaultJson[] = []
  const stored = new Map(kept.map((c) => [c.vesselId, c]))
  for (const vesselId of new Set([...stored.keys(), ...state.contents.keys()])) {
    const [a, b] = [stored.get(vesselId), state.contents.get(vesselId)]
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
  return faults
}

/** Vessels whose kept page has other levels than these, or lacks one. */
async function unlike(db: Db, cellarId: string, levels: readonly Level[]): Promise<readonly string[]> {
  const kept = await listLevelsOf(db, cellarId, levels)
  const byPlace = new Map(kept.map((l) => [`${l.vesselId} ${l.atMs} ${l.entry}`, l]))
  return levels.filter((l) => !sameLevel(l, byPlace.get(`${l.vesselId} ${l.atMs} ${l.entry}`))).map((l) => l.vesselId)
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
