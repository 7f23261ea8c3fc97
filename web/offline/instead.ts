/** What takes the place of something told that is not taken, or that nobody will send any more. */
import type { TaskWire } from '../../api/wire.ts'
import { inWords } from './in-words.ts'
import type { Choice, NewRow, Row } from './operation.ts'
import type { Told } from './outbox.ts'
import type { Others } from './shown.ts'

/** The server takes 2,000 signs of words. */
const WORDS_MAX = 1_900

/** What takes the place of a refused operation: the same on the plan as it is now, a note in words, or nothing but the showing. */
export async function insteadOf(
  row: Row,
  choice: Choice,
  rowOf: (told: Told) => NewRow,
  taskNow: ((key: string) => Promise<TaskWire | undefined>) | undefined,
): Promise<NewRow | undefined> {
  if (choice === 'show') return undefined
  const task = row.op.taskKey ? await taskNow?.(row.op.taskKey) : undefined
  if (choice === 'redo') {
    return rowOf({ kind: row.op.kind, body: row.op.value, label: row.label, ...(task ? { task } : {}) })
  }
  const told = inWords(row.op.value)
  const words = `Not accepted from the floor: ${row.label}. ${row.answer?.words ?? ''} ${told && `Told: ${told}`}`
    .trim()
    .slice(0, WORDS_MAX)
  return task
    ? rowOf({ kind: 'note', task, body: { note: words }, label: `Note: ${row.label}` })
    : rowOf({ kind: 'handover', body: { words }, label: `Note: ${row.label}` })
}

/** A handover of all the lines, on as many pages as they need; pictures go on as pictures. */
export function toldInWords(
  left: readonly Others[],
  owed: readonly Row[],
  head: string,
  line: (op: Others) => string,
): readonly Told[] {
  const still = new Set(owed.map((row) => row.opId))
  const lines = left
    .filter((op) => still.has(op.opId))
    .map((op) => [line(op), inWords(op.value)].filter(Boolean).join('. '))
  return [
    ...pagesOf(lines, WORDS_MAX - head.length - 1).map((page): Told => {
      const words = [head, ...page].join('\n')
      return { kind: 'handover', body: { words }, label: head }
    }),
    ...owed
      .filter((row) => row.op.kind === 'photo')
      .map((row): Told => ({ kind: 'photo', body: row.op.value, label: row.label })),
  ]
}

/** Lines laid together as long as they fit; one that is too long by itself goes on on the next page. */
function pagesOf(lines: readonly string[], most: number): readonly (readonly string[])[] {
  const pages: string[][] = []
  let used = most
  for (const line of lines.flatMap((one) => partsOf(one, most - 1))) {
    if (used + line.length + 1 > most) {
      pages.push([])
      used = 0
    }
    pages.at(-1)?.push(line)
    used += line.length + 1
  }
  return pages
}

/** Decided about: it is not sent as it was, should its person come back. */
export const keptInWords = (row: Row, head: string, nowMs: number): Row => ({
  ...row,
  state: 'refused',
  answer: { opId: row.opId, state: 'refused', reason: 'not-sent', words: head },
  answeredMs: nowMs,
  choice: 'note',
})

const partsOf = (line: string, most: number): readonly string[] =>
  Array.from({ length: Math.ceil(line.length / most) }, (_, i) => line.slice(i * most, (i + 1) * most))
