/** What was told on this phone: kept strictly, sent in order, never lost, never doubled, never thrown away. */
import type { TaskWire } from '../../api/wire.ts'
import { insteadOf, keptInWords, toldInWords } from './instead.ts'
import {
  baseOf,
  type Choice,
  type Kind,
  mayForget,
  type NewRow,
  type Operation,
  type Row,
  SCHEMA,
  undone,
} from './operation.ts'
import { type Author, type Sent, sendWaiting } from './send.ts'
import type { Store } from './shelf.ts'
import { isOwed, type Others, type Shown, shownOf } from './shown.ts'

export interface Told {
  readonly kind: Kind
  readonly task?: TaskWire
  readonly body?: Readonly<Record<string, unknown>>
  readonly label: string
}

export interface Around {
  readonly store: Store
  readonly fetch: (path: string, init: RequestInit) => Promise<Response>
  readonly nowMs: () => number
  readonly newId: () => string
  /** One sender at a time over all tabs. */
  readonly alone: <T>(work: () => Promise<T>) => Promise<T>
  readonly author: () => Author | undefined
  /** Called once something told is on the disk, with what is shown then. */
  readonly noted?: (shown: Shown) => void
  /** Called after whatever changed what is shown. */
  readonly changed: () => void
  /** What the plan says of a task now, for doing a refused thing anew. */
  readonly taskNow?: (key: string) => Promise<TaskWire | undefined>
}

export interface Outbox {
  /** @throws where the phone cannot keep it: then nothing may be shown as noted */
  readonly record: (told: Told) => Promise<{ readonly opId: string }>
  readonly send: () => Promise<Sent>
  readonly shown: () => Promise<Shown>
  readonly resolve: (opId: string, choice: Choice) => Promise<void>
  /**
   * What somebody told who will not come back is told in words by whoever is signed in; its pictures go on as pictures.
   *
   * @param head what stands over the words
   * @param line one of them, in a line
   */
  readonly keepInWords: (left: readonly Others[], head: string, line: (op: Others) => string) => Promise<void>
  /** Everything that waits, as a file to be taken in elsewhere. */
  readonly handOver: () => Promise<string>
  /** @returns how many were new here */
  readonly takeIn: (text: string) => Promise<number>
  readonly forget: () => Promise<void>
}

export function createOutbox(around: Around): Outbox {
  const { store } = around
  let under: ReadonlySet<string> = new Set()

  const clockOffsetMs = async () => (await store.meta<number>('clockOffsetMs')) ?? 0

  const contactOf = () => store.meta<number>('contactMs')
  const shownNow = (rows: readonly NewRow[], contactMs: number | undefined) =>
    shownOf({ rows, author: around.author(), under, nowMs: around.nowMs(), contactMs })

  const rowOf = (told: Told, rows: readonly Row[], offsetMs: number): NewRow => {
    const author = around.author()
    if (!author) throw new Error('Nobody is signed in on this phone')
    const base = told.task && (told.kind === 'undo' ? backTo(undone(told.task, rows)) : baseOf(told.task, rows))
    const op: Operation = {
      opId: around.newId(),
      schema: SCHEMA,
      author: author.personId,
      cellar: author.cellarId,
      kind: told.kind,
      ...(told.task ? { taskKey: told.task.key } : {}),
      value: plain(told.body ?? {}),
      ...(base ? { base } : {}),
      occurredAt: new Date(around.nowMs()).toISOString(),
      clockOffsetMs: offsetMs,
    }
    return { opId: op.opId, op, label: told.label, state: 'phone' }
  }

  const settleRow = (of: Row, choice: Choice, by: NewRow | undefined, like: NewRow): NewRow => ({
    opId: like.opId,
    label: of.label,
    state: 'phone',
    op: { ...like.op, value: { of: of.opId, how: choice, ...(by ? { by: by.opId } : {}) } },
  })

  return {
    record: async (told) => {
      const [rows, offsetMs, contactMs] = await Promise.all([store.list(), clockOffsetMs(), contactOf()])
      const row = rowOf(told, rows, offsetMs)
      await store.add([row])
      // It is on the disk: that is said before anything is read again.
      around.noted?.(shownNow([...rows, row], contactMs))
      around.changed()
      return { opId: row.opId }
    },

    send: () =>
      around.alone(async () => {
        const author = around.author()
        if (!author) return { end: 'signed-out' }
        return sendWaiting({
          store,
          fetch: around.fetch,
          nowMs: around.nowMs,
          deviceId: await deviceOf(around),
          author,
          under: (opIds) => {
            under = new Set(opIds)
            around.changed()
          },
        })
      }),

    shown: async () => shownNow(...(await Promise.all([store.list(), contactOf()]))),

    resolve: async (opId, choice) => {
      const rows = await store.list()
      const row = rows.find((r) => r.opId === opId)
      if (row?.state !== 'refused' || row.choice !== undefined) return
      const offsetMs = await clockOffsetMs()
      const next = await insteadOf(row, choice, (told) => rowOf(told, rows, offsetMs), around.taskNow)
      const like = rowOf({ kind: 'settle', label: row.label }, rows, offsetMs)
      // All of it or nothing: what was refused never leaves the list without what came of it.
      await store.add([...(next ? [next] : []), settleRow(row, choice, next, like)], [{ ...row, choice }])
      around.changed()
    },

    keepInWords: async (left, head, line) => {
      const rows = await store.list()
      const ids = new Set(left.map((op) => op.opId))
      const owed = rows.filter((r) => ids.has(r.opId) && isOwed(r))
      const offsetMs = await clockOffsetMs()
      const next = toldInWords(left, owed, head, line).map((one) => rowOf(one, rows, offsetMs))
      // All of it or nothing: nothing is taken off the list before it stands in words.
      await store.add(
        next,
        owed.map((row) => keptInWords(row, head, around.nowMs())),
      )
      around.changed()
    },

    handOver: async () => {
      const rows = await store.list()
      return JSON.stringify({ from: 'leesway-phone', rows: rows.filter((r) => r.state === 'phone') }, null, 1)
    },

    takeIn: async (text) => {
      const file: unknown = JSON.parse(text)
      const rows = isHandedOver(file) ? file.rows : undefined
      if (!rows) throw new Error('This file was not handed over by a phone')
      const known = new Set((await store.list()).map((r) => r.opId))
      const fresh = rows.filter((r) => !known.has(r.opId)).map(({ seq: _s, ...row }) => row)
      await store.add(fresh)
      around.changed()
      return fresh.length
    },

    forget: async () => {
      const old = (await store.list()).filter((r) => mayForget(r, around.nowMs()))
      if (old.length > 0)
        await store.put(
          [],
          old.map((r) => r.seq),
        )
    },
  }
}

const backTo = (told: string | undefined) => (told === undefined ? {} : { told })

/** What a store can hold and JSON can carry; nothing reactive, nothing undefined. */
const plain = (body: Readonly<Record<string, unknown>>): Record<string, unknown> => JSON.parse(JSON.stringify(body))

const isHandedOver = (file: unknown): file is { readonly rows: readonly Row[] } =>
  typeof file === 'object' && file !== null && 'from' in file && file.from === 'leesway-phone' && 'rows' in file

async function deviceOf(around: Around): Promise<string> {
  const known = await around.store.meta<string>('deviceId')
  if (known) return known
  const made = around.newId()
  await around.store.setMeta('deviceId', made)
  return made
}
