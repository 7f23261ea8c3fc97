/** A movement as it is typed, before it is sent: what it lacks, and what the server is told. */
import type { ContentWire, StockWire } from '../../api/wire.ts'

export const MOVE_KINDS = ['move', 'top', 'blend'] as const
export const LEAVE_KINDS = ['loss', 'lees', 'sample', 'sale', 'bottled', 'distillation'] as const
export const COME_KINDS = ['receive', 'gain'] as const
export type EntryKind = (typeof MOVE_KINDS)[number] | (typeof LEAVE_KINDS)[number] | (typeof COME_KINDS)[number]

export const KIND_WORDS: Readonly<Record<EntryKind, string>> = {
  move: 'Move',
  top: 'Top up',
  blend: 'Blend in',
  loss: 'Loss',
  lees: 'Lees out',
  sample: 'Sample',
  sale: 'Sale',
  bottled: 'Bottling',
  distillation: 'Distillation',
  receive: 'Receive',
  gain: 'Gauged gain',
}

export interface Entry {
  readonly kind: EntryKind
  readonly from: string
  readonly to: string
  readonly lot: string
  /** What arrived, L. Absent: all that is there. */
  readonly volumeL: number | undefined
  readonly lossL: number | undefined
  readonly lossCause: string
  /** Why it moved; moves only. */
  readonly cause: string
  readonly gainCause: string
  readonly plannedL: number | undefined
  readonly beforeL: number | undefined
  readonly afterL: number | undefined
  /** Cellar time; empty: now. */
  readonly wall: string
  /** Empty: whoever sends it. */
  readonly people: readonly string[]
  readonly reason: string
  readonly bought: boolean
  readonly variety: string
  readonly vintage: string
  readonly block: string
  readonly origin: string
}

export const BLANK_ENTRY: Entry = {
  kind: 'move',
  from: '',
  to: '',
  lot: '',
  volumeL: undefined,
  lossL: undefined,
  lossCause: 'lees',
  cause: 'rack',
  gainCause: 'gauge',
  plannedL: undefined,
  beforeL: undefined,
  afterL: undefined,
  wall: '',
  people: [],
  reason: '',
  bought: false,
  variety: '',
  vintage: '',
  block: '',
  origin: '',
}

export const isMove = (kind: EntryKind): boolean => (MOVE_KINDS as readonly string[]).includes(kind)
export const isLeaving = (kind: EntryKind): boolean => (LEAVE_KINDS as readonly string[]).includes(kind)
export const hasSource = (kind: EntryKind): boolean => isMove(kind) || isLeaving(kind)
export const hasTarget = (kind: EntryKind): boolean => !isLeaving(kind)

export const contentOf = (stock: StockWire | undefined, vessel: string): ContentWire | undefined =>
  stock?.contents.find((content) => content.vessel.code === vessel || content.vessel.id === vessel)

/** Litres that arrive: as typed, or all that is there less what is lost on the way. */
export function arrivingL(entry: Entry, stock: StockWire | undefined): number | undefined {
  if (entry.volumeL !== undefined) return entry.volumeL
  const there = contentOf(stock, entry.from)?.volumeL
  return there === undefined ? undefined : Math.max(0, there - (isMove(entry.kind) ? (entry.lossL ?? 0) : 0))
}

type Wrong = Readonly<Partial<Record<'from' | 'to' | 'lot' | 'volumeL' | 'reason' | 'variety' | 'vintage', string>>>

/**
 * What can be told before anything is sent, by field. The server judges again.
 *
 * @param say how litres are written
 */
export function wrongOf(entry: Entry, stock: StockWire | undefined, say: (volumeL: number) => string): Wrong {
  const wrong: Record<string, string> = {}
  const from = contentOf(stock, entry.from)
  const to = contentOf(stock, entry.to)
  if (hasSource(entry.kind) && entry.from === '') wrong.from = 'say which vessel it left'
  if (hasTarget(entry.kind) && entry.to === '') wrong.to = 'say which vessel it went into'
  if (entry.kind === 'receive' && entry.lot === '') wrong.lot = 'say which lot it is'
  if (entry.kind === 'receive' && entry.bought && entry.variety.trim() === '') wrong.variety = 'say the variety'
  if (entry.kind === 'receive' && entry.bought && entry.vintage.trim() === '') wrong.vintage = 'say the vintage'
  if (hasSource(entry.kind) && entry.from !== '' && entry.from === entry.to) wrong.to = 'is where it comes from'
  if (!hasSource(entry.kind) && entry.volumeL === undefined) wrong.volumeL = 'say how many'
  if (entry.volumeL !== undefined && entry.volumeL <= 0) wrong.volumeL = 'must be more than nothing'
  const leavesL = (entry.volumeL ?? 0) + (isMove(entry.kind) ? (entry.lossL ?? 0) : 0)
  if (hasSource(entry.kind) && from && leavesL > from.volumeL + 1e-9)
    wrong.volumeL = `${from.vessel.code} holds ${say(from.volumeL)} by the book`
  if (hasSource(entry.kind) && from && from.volumeL === 0) wrong.from = 'is empty by the book'
  const arrives = arrivingL(entry, stock)
  if (hasTarget(entry.kind) && to && arrives !== undefined && to.volumeL + arrives > to.vessel.capacityL + 1e-9)
    wrong.to = `has room for ${say(to.vessel.capacityL - to.volumeL)}; overfilling is refused`
  return wrong
}

/** The body of the request. */
export function bodyOf(entry: Entry, intoOther = false): Record<string, unknown> {
  const told = {
    ...(entry.wall ? { atLocal: entry.wall } : {}),
    ...(entry.people.length > 0 ? { people: entry.people } : {}),
    ...(entry.reason.trim() ? { reason: entry.reason.trim() } : {}),
  }
  const volume = entry.volumeL === undefined ? {} : { volumeL: entry.volumeL }
  if (entry.kind === 'receive')
    return {
      kind: 'receive',
      ...told,
      to: entry.to,
      lot: entry.lot,
      ...volume,
      bought: entry.bought,
      ...(entry.bought
        ? filled({ variety: entry.variety, vintage: entry.vintage, block: entry.block, origin: entry.origin })
        : {}),
    }
  if (entry.kind === 'gain') return { kind: 'gain', ...told, to: entry.to, ...volume, cause: entry.gainCause }
  if (isLeaving(entry.kind))
    return {
      kind: 'leave',
      ...told,
      from: entry.from,
      to: entry.kind,
      ...volume,
      ...(entry.kind === 'loss' ? { cause: entry.lossCause } : {}),
    }
  return {
    kind: 'move',
    ...told,
    from: entry.from,
    to: entry.to,
    ...volume,
    ...(entry.lossL ? { lossL: entry.lossL, lossCause: entry.lossCause } : {}),
    cause: entry.kind === 'move' ? entry.cause : entry.kind,
    ...(entry.beforeL === undefined ? {} : { measuredBeforeL: entry.beforeL }),
    ...(entry.afterL === undefined ? {} : { measuredAfterL: entry.afterL }),
    ...(intoOther ? { intoOther: true } : {}),
  }
}

const filled = (fields: Readonly<Record<string, string>>) =>
  Object.fromEntries(Object.entries(fields).flatMap(([name, text]) => (text.trim() ? [[name, text.trim()]] : [])))

/** A row of barrels is topped one after the other: the next vessel, by its code, that holds the same lot. */
export function nextTarget(stock: StockWire, vessel: string, from: string): string {
  const lot = contentOf(stock, vessel)?.lot?.id
  const same = stock.contents
    .filter((content) => content.lot !== null && content.lot.id === lot && content.vessel.code !== from)
    .map((content) => content.vessel.code)
    .sort((a, b) => a.localeCompare(b, 'en', { numeric: true }))
  return same[same.indexOf(vessel) + 1] ?? ''
}
