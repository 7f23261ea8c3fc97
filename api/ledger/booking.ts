/** What somebody told of a move, as entries of the ledger: whole millilitres, differences as entries of their own. */
import type { ReceiptRow } from '../../db/queries/movements.ts'
import type { Outside } from '../cellar/ledger/movement.ts'
import type { Temporal } from '../time.ts'
import type { Draft, DraftEnd } from './draft.ts'

/** What a vessel holds by the ledger. */
export interface Holds {
  readonly ml: number
  readonly lotId?: string
}

/** The ledger as far as booking looks at it. */
export interface Book {
  readonly holds: (vesselId: string) => Holds
  /** Whether fruit or wine of this lot has come in before. */
  readonly hasReceived: (lotId: string) => boolean
}

export interface LotOf {
  readonly id: string
  readonly variety: string
  readonly vintage: number
  readonly block: string
  readonly place: string
}

export interface ToldMove {
  readonly at: Temporal.Instant
  readonly lot: LotOf
  readonly step: string
  /** Where it came from, best guess first. */
  readonly from: readonly string[]
  readonly to: readonly { readonly vesselId: string; readonly volumeMl: number; readonly id?: string }[]
  /** Told to have stayed behind. */
  readonly lossMl: number
  /** Nothing stays in the source: what did not arrive is lost. */
  readonly empties: boolean
  readonly people: readonly string[]
  readonly plannedMl?: number
  readonly taskKey?: string
}

export interface Booked {
  readonly drafts: readonly Draft[]
  readonly warnings: readonly string[]
  /** Another lot lies there: nothing can be booked. */
  readonly blocked?: { readonly vesselId: string; readonly lotId: string }
}

/** What must have come in before, since it went out: no move that anybody told of. */
export const RECEIVED = 'received'

/** Work that makes juice or wine of fruit. */
const FROM_FRUIT: ReadonlySet<string> = new Set(['press', 'press-skins', 'drain', 'cut-fractions'])
/** Work that leaves nothing behind but what is lost. */
export const EMPTYING: ReadonlySet<string> = new Set([
  'rack-juice',
  'fill-barrels',
  'rack-gross',
  'rack-out',
  'rack-fining',
  'stop-so2',
  'blend',
])
export const TOPPING: ReadonlySet<string> = new Set(['top-tank', 'top-barrels', 'level-barrels'])

const CAUSES: Readonly<Record<string, string>> = {
  press: 'press',
  'press-skins': 'press',
  drain: 'press',
  'cut-fractions': 'press',
  'fill-barrels': 'fill',
  blend: 'blend',
  'top-tank': 'top',
  'top-barrels': 'top',
  'level-barrels': 'level',
}
export const causeOf = (step: string): string => CAUSES[step] ?? 'rack'

/** What does not arrive: lees behind a rack, else what stays in pump, hose and filter. */
const lossOf = (step: string): { readonly outside: Outside; readonly cause: string } =>
  step.startsWith('filter')
    ? { outside: 'loss', cause: 'filter' }
    : step === 'blend' || step === 'fill-barrels' || TOPPING.has(step)
      ? { outside: 'loss', cause: 'pump and hose' }
      : { outside: 'lees', cause: 'lees' }

export const fruitReceipt = (lot: LotOf): ReceiptRow => ({
  id: lot.id,
  kind: 'fruit',
  lotId: lot.id,
  variety: lot.variety,
  vintage: String(lot.vintage),
  block: lot.block,
  origin: lot.place,
})

/** Pure: the same words over the same book make the same entries. */
export function booked(told: ToldMove, book: Book): Booked {
  const drafts: Draft[] = []
  const warnings: string[] = []
  const levels = new Map<string, { ml: number; lotId: string | undefined }>()
  const at = (id: string) => {
    const known = levels.get(id) ?? { ml: book.holds(id).ml, lotId: book.holds(id).lotId }
    levels.set(id, known)
    return known
  }
  const { lot, step } = told
  const targets = told.to.filter((t) => t.volumeMl > 0)
  const totalMl = targets.reduce((sum, t) => sum + t.volumeMl, 0)
  const tops = TOPPING.has(step)
  const barred = targets.find((t) => at(t.vesselId).ml > 0 && at(t.vesselId).lotId !== lot.id)
  if (barred)
    return { drafts, warnings, blocked: { vesselId: barred.vesselId, lotId: at(barred.vesselId).lotId ?? '' } }

  const common = {
    at: told.at,
    people: told.people,
    ...(told.taskKey === undefined ? {} : { taskKey: told.taskKey }),
  }
  const move = (from: DraftEnd, to: DraftEnd, volumeMl: number, cause: string, more: Partial<Draft> = {}) => {
    if (volumeMl <= 0) return
    drafts.push({ ...common, from, to, volumeMl, cause, ...more })
    if ('vesselId' in from) at(from.vesselId).ml -= volumeMl
    if ('vesselId' in to) {
      at(to.vesselId).ml += volumeMl
      at(to.vesselId).lotId = to.lotId
    }
  }
  const inLot = (vesselId: string): DraftEnd => ({ vesselId, lotId: lot.id })
  const sources = [...new Set(told.from)].filter((id) => !targets.some((t) => t.vesselId === id))
  const held = sources.filter((id) => at(id).ml > 0)
  const foreign = held.find((id) => at(id).lotId !== lot.id)
  if (foreign && !tops) return { drafts, warnings, blocked: { vesselId: foreign, lotId: at(foreign).lotId ?? '' } }

  const planned = (part: number) =>
    told.plannedMl === undefined ? {} : { plannedMl: Math.round((told.plannedMl * part) / Math.max(1, totalMl)) }
  if (held.length === 0 && (FROM_FRUIT.has(step) || sources.length === 0)) {
    if (!FROM_FRUIT.has(step)) warnings.push('Where it came from is not known: these litres count as received now.')
    for (const t of targets)
      move({ outside: 'fruit' }, inLot(t.vesselId), t.volumeMl, causeOf(step), {
        ...(t.id === undefined ? {} : { id: t.id }),
        receipt: fruitReceipt(lot),
        ...planned(t.volumeMl),
      })
    return { drafts, warnings }
  }

  const from = held.length > 0 ? held : sources.slice(0, 1)
  const thereMl = from.reduce((sum, id) => sum + at(id).ml, 0)
  const shortMl = totalMl + told.lossMl - thereMl
  if (shortMl > 0) {
    // More came out than the book had in: the difference is an entry, never slack.
    const first = from[0] ?? ''
    const into = { vesselId: first, lotId: at(first).lotId ?? lot.id }
    if (thereMl === 0 && !book.hasReceived(lot.id))
      move({ outside: 'fruit' }, into, shortMl, RECEIVED, { receipt: fruitReceipt(lot) })
    else move({ outside: 'gain' }, into, shortMl, thereMl > 0 ? 'gauge' : 'not written down')
    if (thereMl === 0)
      warnings.push('By the ledger its source was empty: what came out of it counts as received there.')
  }
  let k = 0
  for (const t of targets) {
    let leftMl = t.volumeMl
    let isFirst = true
    while (leftMl > 0) {
      const source = from[k] ?? ''
      const takes = Math.min(leftMl, at(source).ml)
      if (takes > 0)
        move({ vesselId: source, lotId: at(source).lotId ?? lot.id }, inLot(t.vesselId), takes, causeOf(step), {
          ...(t.id === undefined || !isFirst ? {} : { id: t.id }),
          ...planned(takes),
        })
      isFirst &&= takes === 0
      leftMl -= takes
      if (leftMl > 0) k++
      if (k >= from.length) break
    }
  }
  let toldLossMl = told.lossMl
  const loss = lossOf(step)
  for (const id of from) {
    const restMl = at(id).ml
    const lotId = at(id).lotId ?? lot.id
    const lostMl = told.empties ? restMl : Math.min(restMl, toldLossMl)
    const saidMl = told.lossMl > 0 ? Math.min(lostMl, toldLossMl) : lostMl
    move({ vesselId: id, lotId }, { outside: loss.outside }, saidMl, loss.cause)
    toldLossMl -= saidMl
    // Told of less than was missing: the rest is what the gauge shows.
    move({ vesselId: id, lotId }, { outside: 'loss' }, lostMl - saidMl, 'gauge')
  }
  return { drafts, warnings }
}

/** Litres over vessels by their size, none above what it still takes; whole millilitres that add up. */
export function spread(
  totalMl: number,
  vessels: readonly { readonly vesselId: string; readonly weight: number; readonly roomMl: number }[],
): { readonly vesselId: string; readonly volumeMl: number }[] {
  const out = vessels.map((v) => ({ vesselId: v.vesselId, volumeMl: 0 }))
  let leftMl = totalMl
  let open = vessels.map((v, i) => ({ ...v, i }))
  while (leftMl > 0 && open.length > 0) {
    const weights = open.reduce((sum, v) => sum + v.weight, 0)
    const wish = leftMl
    for (const v of open) {
      const slot = out[v.i]
      if (!slot) continue
      const part = Math.min(Math.round((wish * v.weight) / weights), v.roomMl - slot.volumeMl, leftMl)
      slot.volumeMl += Math.max(0, part)
      leftMl -= Math.max(0, part)
    }
    const next = open.filter((v) => (out[v.i]?.volumeMl ?? 0) < v.roomMl)
    if (next.length === open.length && leftMl > 0 && leftMl < open.length + 1) {
      const slot = out[next[0]?.i ?? 0]
      if (slot) slot.volumeMl += leftMl
      leftMl = 0
    }
    open = next
  }
  // What fits nowhere is still told of: the first takes it, and the ledger refuses an overfill by name.
  const first = out[0]
  if (first && leftMl > 0) first.volumeMl += leftMl
  return out
}
