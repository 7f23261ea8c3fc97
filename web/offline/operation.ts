/** An operation: what somebody told on this phone, as it is kept here and as it travels. Nothing here touches a screen. */
import type { TaskWire } from '../../api/wire.ts'

/** The shape that this page writes. The server takes this one and the one before. */
export const SCHEMA = 1

export type Kind =
  | 'start'
  | 'done'
  | 'skip'
  | 'note'
  | 'caution'
  | 'acknowledge'
  | 'undo'
  | 'pin'
  | 'unpin'
  | 'assign'
  | 'readings'
  | 'trouble'
  | 'photo'
  | 'handover'
  | 'settle'

/** As it travels. */
export interface Operation {
  readonly opId: string
  readonly schema: number
  readonly author: string
  readonly cellar: string
  readonly kind: Kind
  readonly taskKey?: string
  readonly value: Readonly<Record<string, unknown>>
  /** What was on the screen when it was told. */
  readonly base?: {
    readonly told?: string
    readonly doses?: readonly { readonly product: string; readonly amount: number; readonly unit: string }[]
  }
  /** By this phone's clock. */
  readonly occurredAt: string
  /** How far that clock was ahead of the server's when they last spoke. */
  readonly clockOffsetMs: number
}

export interface Answer {
  readonly opId: string
  readonly state: 'stored' | 'check' | 'refused' | 'later'
  readonly words: string
  readonly reason?: string
  readonly errors?: readonly { readonly pointer: string; readonly detail: string }[]
  readonly theirs?: { readonly words: string; readonly personId?: string; readonly at?: string }
}

/** What a person made of a refused operation. */
export type Choice = 'redo' | 'note' | 'show'

/** As it is kept here. */
export interface Row {
  /** Order of telling; the store gives it. */
  readonly seq: number
  readonly opId: string
  readonly op: Operation
  readonly label: string
  readonly state: 'phone' | 'stored' | 'check' | 'refused'
  readonly answer?: Answer
  readonly answeredMs?: number
  readonly choice?: Choice
}

export type NewRow = Omit<Row, 'seq'>

/** What screens show of one. */
export interface Kept {
  readonly opId: string
  readonly kind: Kind
  readonly taskKey?: string
  readonly label: string
  readonly occurredAt: string
  readonly state: 'phone' | 'sending' | 'stored' | 'check' | 'refused'
  readonly words?: string
  readonly reason?: string
  readonly theirs?: Answer['theirs']
  readonly value: Readonly<Record<string, unknown>>
  readonly answeredMs?: number
}

/** `later` leaves it where it is: nothing was taken, nothing is lost. */
export function answered(row: Row, answer: Answer, nowMs: number): Row {
  return answer.state === 'later' ? row : { ...row, state: answer.state, answer, answeredMs: nowMs }
}

/** What stays so long that a server restored from an old copy can be told again. */
export const KEEP_MS = 30 * 24 * 3_600_000

/** Never one that waits, nor one that was refused and about which nobody has decided. */
export const mayForget = (row: Row, nowMs: number): boolean =>
  row.answeredMs !== undefined &&
  nowMs - row.answeredMs > KEEP_MS &&
  (row.state === 'stored' || row.state === 'check' || row.choice !== undefined)

/** Shown until a minute after it was stored; what was refused, until somebody decides. */
const SHOWN_MS = 60_000

export function isShown(row: NewRow, nowMs: number): boolean {
  if (row.op.kind === 'settle') return row.state === 'phone'
  if (row.state === 'phone') return true
  if (row.choice !== undefined) return false
  if (row.state === 'refused') return true
  return (
    row.answeredMs !== undefined && nowMs - row.answeredMs < (row.state === 'check' ? 24 * 60 * SHOWN_MS : SHOWN_MS)
  )
}

/** What the person who acts now has seen of a task: what was told of it last, here or on the server, and its doses. */
export function baseOf(task: TaskWire, rows: readonly Row[]): Operation['base'] {
  const own = rows.findLast((r) => r.op.taskKey === task.key && r.state === 'phone' && DECIDING.has(r.op.kind))
  const told = own ? own.opId : task.told
  return {
    ...(told === undefined ? {} : { told }),
    doses: task.doses.map((d) => ({ product: d.product, amount: d.amount, unit: d.unit })),
  }
}

const DECIDING: ReadonlySet<Kind> = new Set(['start', 'done', 'skip', 'pin', 'unpin', 'assign'])

/** The entry that taking back takes back: of a chain made on this phone, the newest that still stands. */
export function undone(task: TaskWire, rows: readonly Row[]): string | undefined {
  const mine = rows.filter((r) => r.op.taskKey === task.key && r.state !== 'refused')
  const back = new Set(mine.filter((r) => r.op.kind === 'undo').map((r) => r.op.base?.told))
  const own = mine.findLast((r) => DECIDING.has(r.op.kind) && !back.has(r.opId))
  // What the server told since this phone's last answer is newer than what was stored here.
  if (own && (own.state === 'phone' || task.told === own.opId || task.told === undefined)) return own.opId
  return task.told
}

/**
 * A task as it will stand once what waits here is stored.
 *
 * @param readMs when the task was read, by this phone's clock: what was stored since is not in it yet
 */
export function withOperations(task: TaskWire, kept: readonly Kept[], readMs: number): TaskWire {
  const isNew = (k: Kept) =>
    k.state === 'phone' || k.state === 'sending' || (k.state !== 'refused' && (k.answeredMs ?? 0) > readMs)
  return kept
    .filter((k) => k.taskKey === task.key && isNew(k))
    .toSorted((a, b) => (a.occurredAt < b.occurredAt ? -1 : 1))
    .reduce(standsAs, task)
}

function standsAs(task: TaskWire, kept: Kept): TaskWire {
  switch (kept.kind) {
    case 'start':
      return task.state === 'done' ? task : { ...task, state: 'underway' }
    case 'done':
      return { ...task, state: 'done', doneAt: kept.occurredAt }
    case 'skip':
      return { ...task, state: 'skipped', skipReason: String(kept.value.reason ?? '') }
    case 'undo':
      return { ...task, state: 'due', doneAt: undefined, skipReason: undefined }
    case 'acknowledge':
      return { ...task, doseWas: undefined }
    default:
      return task
  }
}
