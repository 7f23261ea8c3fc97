/** What is said of the rows that this phone keeps. */
import { isShown, type Kept, type NewRow } from './operation.ts'
import { type Author, isMine } from './send.ts'

export interface Shown {
  readonly kept: readonly Kept[]
  /** By the task: all that was not refused, also what is no longer shown; a read from before it does not hold it yet. */
  readonly told: ReadonlyMap<string, readonly Kept[]>
  /** Of other people: what waits, and what was refused and not decided about. Of everybody while nobody is signed in. */
  readonly others: readonly Others[]
  readonly contactMs?: number
}

/** What this phone owes somebody else. */
export type Others = Kept & { readonly author: string; readonly cellar: string }

export interface Rows {
  readonly rows: readonly NewRow[]
  /** Nobody, while nobody is signed in. */
  readonly author: Author | undefined
  /** Those on their way just now. */
  readonly under: ReadonlySet<string>
  readonly nowMs: number
  readonly contactMs: number | undefined
}

export function shownOf({ rows, author, under, nowMs, contactMs }: Rows): Shown {
  const mine = author ? rows.filter((r) => isMine(r, author)) : []
  return {
    kept: mine
      .filter((r) => isShown(r, nowMs))
      .map((r) => keptOf(r, under))
      .toSorted((a, b) => RANK[a.state] - RANK[b.state]),
    told: byTask(mine.filter((r) => r.state !== 'refused').map((r) => keptOf(r, under))),
    others: rows
      .filter((r) => isOwed(r) && !mine.includes(r))
      .map((r) => ({ ...keptOf(r, under), author: r.op.author, cellar: r.op.cellar })),
    ...(contactMs === undefined ? {} : { contactMs }),
  }
}

/** Waits, or was refused and not decided about. */
export const isOwed = (row: NewRow): boolean =>
  row.state === 'phone' || (row.state === 'refused' && row.choice === undefined)

const RANK: Readonly<Record<Kept['state'], number>> = { refused: 0, check: 1, phone: 2, sending: 2, stored: 3 }

function byTask(all: readonly Kept[]): ReadonlyMap<string, readonly Kept[]> {
  const found = new Map<string, Kept[]>()
  for (const one of all) {
    if (one.taskKey === undefined) continue
    const list = found.get(one.taskKey)
    if (list) list.push(one)
    else found.set(one.taskKey, [one])
  }
  return found
}

function keptOf(row: NewRow, under: ReadonlySet<string>): Kept {
  const { op, answer } = row
  return {
    opId: row.opId,
    kind: op.kind,
    ...(op.taskKey ? { taskKey: op.taskKey } : {}),
    label: row.label,
    occurredAt: new Date(Date.parse(op.occurredAt) - op.clockOffsetMs).toISOString(),
    state: row.state === 'phone' && under.has(row.opId) ? 'sending' : row.state,
    ...(answer?.words ? { words: answer.words } : {}),
    ...(answer?.reason ? { reason: answer.reason } : {}),
    ...(answer?.theirs ? { theirs: answer.theirs } : {}),
    ...(row.answeredMs === undefined ? {} : { answeredMs: row.answeredMs }),
    value: op.value,
  }
}
