import { inOrder, type LedgerAddition, type Movement, outsideOf, type Receipt, vesselOf } from './movement.ts'
import { draw, EMPTY, mix, type Parcel, put, received, swell } from './parcel.ts'

export interface Content {
  readonly lotId: string
  readonly parcel: Parcel
  /** Since when this lot has been in the vessel without a break. */
  readonly sinceMs: number
}

export interface LedgerState {
  /** By vessel id; empty vessels are absent. */
  readonly contents: ReadonlyMap<string, Content>
  readonly receipts: ReadonlyMap<string, Receipt>
  /** Everything that left or came, by kind of outside, millilitres. */
  readonly outsideMl: ReadonlyMap<string, number>
}

export type LedgerFault =
  | 'not-whole-millilitres'
  | 'nothing-moved'
  | 'same-place'
  | 'no-vessel'
  | 'not-so-much-there'
  | 'another-lot-there'
  | 'above-the-limit'
  | 'no-receipt'
  | 'no-reason'
  | 'reverses-unknown'
  | 'reversed-twice'
  | 'no-product-or-person'

export interface Fault {
  readonly entryId: string
  readonly why: LedgerFault
  readonly vesselId?: string
  /** What was there against what was asked, millilitres. */
  readonly hadMl?: number
  readonly askedMl?: number
}

export interface Replay {
  readonly state: LedgerState
  /** Entries that could not have happened; they are left out of the state. Empty in a sound ledger. */
  readonly faults: readonly Fault[]
}

export const START: LedgerState = { contents: new Map(), receipts: new Map(), outsideMl: new Map() }

const INWARD: ReadonlySet<string> = new Set(['fruit', 'bought', 'gain'])

interface Bench {
  readonly contents: Map<string, Content>
  readonly receipts: Map<string, Receipt>
  readonly outsideMl: Map<string, number>
}

/** Volume limit of a vessel, millilitres; absent: not checked. */
export type LimitMl = (vesselId: string) => number | undefined

/** What is wrong with an entry by itself, whatever the vessels hold. */
export function formOf(m: Movement): LedgerFault | null {
  const from = vesselOf(m.from)
  const to = vesselOf(m.to)
  if (!Number.isInteger(m.volumeMl)) return 'not-whole-millilitres'
  if (m.volumeMl <= 0) return 'nothing-moved'
  if (from === undefined && to === undefined) return 'no-vessel'
  if (from !== undefined && from === to && !isRenaming(m)) return 'same-place'
  if (m.reverses !== undefined && !m.reason) return 'no-reason'
  const source = outsideOf(m.from)
  if ((source === 'fruit' || source === 'bought') && m.reverses === undefined && !m.receipt) return 'no-receipt'
  return null
}

/** Wine that becomes another lot where it lies: nothing is moved. */
export const isRenaming = (m: Movement): boolean => m.fromLotId !== undefined && m.fromLotId !== m.lotId

/**
 * What a movement brings. Taking back an exit brings back what left: the wine is what the vessel still holds, or,
 * where the vessel was emptied, what left it, which the reversed entry remembers.
 */
function arriving(bench: Bench, m: Movement, gone: ReadonlyMap<string, Parcel>): Parcel {
  if (m.receipt) return received(m.volumeMl, m.receipt)
  const remembered = m.reverses === undefined ? undefined : gone.get(m.reverses)
  if (remembered && remembered.volumeMl > 0) return draw(remembered, Math.min(m.volumeMl, remembered.volumeMl)).taken
  const to = vesselOf(m.to)
  const there = to === undefined ? undefined : bench.contents.get(to)
  if (!there) return { volumeMl: m.volumeMl, sourcesMl: new Map([['unknown', m.volumeMl]]), additionsG: new Map() }
  const more = swell(there.parcel, m.volumeMl)
  const share = m.volumeMl / more.volumeMl
  return {
    volumeMl: m.volumeMl,
    sourcesMl: new Map([...more.sourcesMl].map(([k, v]) => [k, v * share])),
    additionsG: new Map(),
  }
}

function move(bench: Bench, m: Movement, limitMl: LimitMl, gone: Map<string, Parcel>): Fault | null {
  const wrong = formOf(m)
  if (wrong) return { entryId: m.id, why: wrong }
  const from = vesselOf(m.from)
  const to = vesselOf(m.to)
  const there = from === undefined ? undefined : bench.contents.get(from)
  if (from !== undefined && (there?.parcel.volumeMl ?? 0) < m.volumeMl)
    return {
      entryId: m.id,
      why: 'not-so-much-there',
      vesselId: from,
      hadMl: there?.parcel.volumeMl ?? 0,
      askedMl: m.volumeMl,
    }
  if (from !== undefined && from === to && there) {
    if (there.parcel.volumeMl !== m.volumeMl)
      return {
        entryId: m.id,
        why: 'another-lot-there',
        vesselId: from,
        hadMl: there.parcel.volumeMl,
        askedMl: m.volumeMl,
      }
    bench.contents.set(from, { ...there, lotId: m.lotId })
    return null
  }
  const limit = to === undefined ? undefined : limitMl(to)
  const atTarget = to === undefined ? 0 : (bench.contents.get(to)?.parcel.volumeMl ?? 0)
  if (to !== undefined && limit !== undefined && atTarget + m.volumeMl > limit)
    return { entryId: m.id, why: 'above-the-limit', vesselId: to, hadMl: atTarget, askedMl: m.volumeMl }

  const { taken, rest } = there ? draw(there.parcel, m.volumeMl) : { taken: arriving(bench, m, gone), rest: EMPTY }
  if (from !== undefined && there) {
    if (rest.volumeMl === 0) bench.contents.delete(from)
    else bench.contents.set(from, { ...there, parcel: rest })
  }
  if (to !== undefined) {
    const held = bench.contents.get(to)
    const sinceMs = held && held.lotId === m.lotId ? held.sinceMs : m.atMs
    bench.contents.set(to, { lotId: m.lotId, parcel: mix(held?.parcel ?? EMPTY, taken), sinceMs })
  } else gone.set(m.id, taken)
  if (m.receipt) bench.receipts.set(m.receipt.id, m.receipt)
  const out = outsideOf(m.from) ?? outsideOf(m.to)
  if (out !== undefined) {
    // Into the cellar counts up for an inward kind and down for an outward one, so a reversal cancels exactly.
    const sign = (to !== undefined) === INWARD.has(out) ? 1 : -1
    bench.outsideMl.set(out, (bench.outsideMl.get(out) ?? 0) + sign * m.volumeMl)
  }
  return null
}

function add(bench: Bench, a: LedgerAddition): Fault | null {
  if (!a.product || !a.personId || !(a.amountG > 0)) return { entryId: a.id, why: 'no-product-or-person' }
  if (a.reverses !== undefined && !a.reason) return { entryId: a.id, why: 'no-reason' }
  const there = bench.contents.get(a.vesselId)
  if (!there) return { entryId: a.id, why: 'not-so-much-there', vesselId: a.vesselId, hadMl: 0 }
  bench.contents.set(a.vesselId, {
    ...there,
    parcel: put(there.parcel, a.product, a.reverses === undefined ? a.amountG : -a.amountG),
  })
  return null
}

/**
 * The cellar as the ledger tells it at a moment. Pure: the same entries in any order give the same state.
 *
 * @param untilMs  entries later than this are not yet known; absent: all
 * @param start    a state to go on from (a kept picture); entries must then all be later than it
 */
export function replay(
  movements: readonly Movement[],
  additions: readonly LedgerAddition[] = [],
  {
    untilMs = Number.POSITIVE_INFINITY,
    limitMl = () => undefined,
    start = START,
  }: { untilMs?: number; limitMl?: LimitMl; start?: LedgerState } = {},
): Replay {
  const bench: Bench = {
    contents: new Map(start.contents),
    receipts: new Map(start.receipts),
    outsideMl: new Map(start.outsideMl),
  }
  const gone = new Map<string, Parcel>()
  const seen = new Set<string>()
  const reversed = new Set<string>()
  const faults: Fault[] = []
  const entries = inOrder<Movement | LedgerAddition>([...movements, ...additions]).filter((e) => e.atMs <= untilMs)
  for (const entry of entries) {
    const target = entry.reverses
    if (target !== undefined && !seen.has(target)) {
      faults.push({ entryId: entry.id, why: 'reverses-unknown' })
      continue
    }
    if (target !== undefined && reversed.has(target)) {
      faults.push({ entryId: entry.id, why: 'reversed-twice' })
      continue
    }
    const fault = 'product' in entry ? add(bench, entry) : move(bench, entry, limitMl, gone)
    if (fault) faults.push(fault)
    else {
      seen.add(entry.id)
      if (target !== undefined) reversed.add(target)
    }
  }
  return { state: bench, faults }
}
