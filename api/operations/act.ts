/**
 * An act on a task, told by a phone that may have been without signal for hours. What has happened is kept, whatever
 * the plan says by now: a second tick stands beside the first as agreeing, a dose is never turned away. What would
 * decide something (a pin, taking a tick back) is refused where somebody else decided meanwhile.
 */
import { listTaskFacts, recordTaskFacts, type StoredTaskFact } from '../../db/queries/records.ts'
import type { StoredTask } from '../../db/queries/tasks.ts'
import { ACTS, type Act, type ActBody, actBody, type Ground, type Told, told } from '../acts.ts'
import { newId } from '../ids.ts'
import { takeBackTick } from '../ledger/tick.ts'
import { fieldErrors, problem } from '../problem.ts'
import { refuseSkip, storeTold, taskFor } from '../routes/acts.ts'
import type { Scene } from '../routes/route.ts'
import { so2LockOf } from '../routes/so2-lock.ts'
import { closedBy, standing } from '../shapes/task.ts'
import type { Applied } from './applied.ts'
import type { OperationBody } from './body.ts'
import { type BatchScene, groundOf } from './ground.ts'
import type { Told as When } from './when.ts'

export const isAct = (kind: string): kind is Act => (ACTS as readonly string[]).includes(kind)

/** What is a fact: it happened, nobody can turn it away. */
const HAPPENED: ReadonlySet<Act> = new Set(['start', 'done', 'skip', 'note', 'caution', 'acknowledge'])

export async function applyAct(c: BatchScene, op: OperationBody, when: When): Promise<Applied> {
  const name = op.kind as Act
  const task = await taskFor(c, op.taskKey ?? '')
  const facts = standing(await listTaskFacts(c.var.db, c.var.who.cellarId, task.key))
  const body = bodyOf(op, when)
  const measures = (body.readings?.length ?? 0) > 0 || (body.additions?.length ?? 0) > 0
  const ground = await groundOf(c, task, measures)
  if (!HAPPENED.has(name)) return decide(c, op, name, task, facts, body, ground)
  const meanwhile = name === 'note' || name === 'caution' ? undefined : meanwhileOf(name, task, facts, ground)
  if (meanwhile?.refused) throw meanwhile.refused
  if (name === 'skip' && !meanwhile) refuseSkip(task, body)
  const entry = meanwhile ? beside(body, meanwhile.words, ground) : told(name, body, ground)
  const flags = [...(meanwhile?.look ? [meanwhile.words] : []), ...entry.warnings]
  const locked = await lockedWords(c, task, ground, entry)
  if (locked) flags.push(locked)
  const dosed = entry.additions.length > 0
  const stale = dosed ? staleDose(op, task) : undefined
  if (stale) flags.push(stale)
  flags.push(...(await storeTold(c.var.db, c.var.who.cellarId, entry, c.var.now())))
  const second = meanwhile !== undefined && dosed
  const words = flags.join(' ') || meanwhile?.words || ''
  const moves = name !== 'note' && name !== 'caution' && name !== 'acknowledge' ? true : hasRecords(entry)
  return {
    state: flags.length > 0 || second ? 'check' : 'stored',
    words: second ? `${words} This is a second dose of the task: both are kept. Look at the wine.`.trim() : words,
    ...reasonOf(second, stale, meanwhile?.reason, entry.warnings.length > 0 || locked !== undefined),
    ...(meanwhile?.theirs ? { theirs: meanwhile.theirs } : {}),
    ...(moves
      ? { because: { lotId: task.lotId, words: `${task.lotCode} ${task.name.toLowerCase()} was told of` } }
      : {}),
  }
}

const hasRecords = (e: Told) => e.readings.length + e.additions.length + e.transfers.length > 0

const reasonOf = (second: boolean, stale: string | undefined, meanwhile: string | undefined, doubtful: boolean) => {
  const reason = second ? 'second-dose' : stale ? 'old-plan' : (meanwhile ?? (doubtful ? 'measure-again' : undefined))
  return reason === undefined ? {} : { reason }
}

/** A reading that is hard to believe was measured hours ago: it is kept and flagged, not asked for again. */
function bodyOf(op: OperationBody, when: When): ActBody {
  const parsed = actBody.safeParse({ ...op.value, opId: op.opId })
  if (!parsed.success) {
    throw problem(422, 'not-valid', 'Something in it does not fit', { errors: fieldErrors(parsed.error, '#/value') })
  }
  const { readings, ...rest } = parsed.data
  return {
    ...rest,
    ...(rest.at === undefined && rest.atLocal === undefined ? { at: when.at.toString() } : {}),
    ...(readings
      ? { readings: readings.map(({ confirmed, ...r }) => ({ ...r, ...(confirmed ? { confirmed } : {}) })) }
      : {}),
  }
}

interface Meanwhile {
  readonly reason: string
  readonly words: string
  /** Somebody should look. */
  readonly look: boolean
  readonly theirs?: Applied['theirs']
  readonly refused?: Error
}

/** What somebody else, or a new plan, made of the task before this arrived. */
function meanwhileOf(name: Act, task: StoredTask, facts: readonly StoredTaskFact[], g: Ground): Meanwhile | undefined {
  const closed = closedBy(task, facts)
  if (closed === undefined || name === 'acknowledge') return undefined
  if (closed === 'cancelled') {
    const words = `This task was withdrawn meanwhile${task.cancelReason ? `: ${task.cancelReason}` : ''}. What you did is kept as a note.`
    return { reason: 'withdrawn-task', words, look: true }
  }
  const first = facts.findLast((f) => f.kind === (closed === 'done' ? 'done' : 'skip'))
  const theirs = first && theirsOf(first, g)
  const who = theirs?.words ?? 'Somebody'
  if (closed === 'done' && name === 'skip') {
    return { ...refusal('already-done', `${who}: it cannot be left out any more.`, theirs), look: true }
  }
  if (closed === 'skipped' && name === 'done') {
    const words = `${who}, and you told it done. What you did is kept as a note.`
    return { reason: 'left-out-meanwhile', words, look: true, ...(theirs ? { theirs } : {}) }
  }
  return {
    reason: 'second-tick',
    words: `${who} first; yours is kept beside it.`,
    look: false,
    ...(theirs ? { theirs } : {}),
  }
}

function refusal(type: string, title: string, theirs: Applied['theirs']) {
  const current = theirs ? { theirs } : {}
  return { reason: type, words: title, refused: problem(409, type, title, { current }), ...current }
}

const DID: Readonly<Partial<Record<string, string>>> = {
  done: 'told it done',
  skip: 'left it out',
  pin: 'pinned it',
  assign: 'gave it to others',
  unpin: 'let it go',
  start: 'began it',
}

function theirsOf(fact: StoredTaskFact, g: Ground) {
  const who = g.people.find((p) => p.id === fact.personId)?.name ?? 'The plan'
  return {
    words: `${who} ${DID[fact.kind] ?? 'told of it'}`,
    ...(fact.personId ? { personId: fact.personId } : {}),
    at: fact.at.toString(),
  }
}

/** The task has its tick already: the records are kept beside it. */
function beside(body: ActBody, words: string, ground: Ground): Told {
  const { reason, note, startAt: _s, startAtLocal: _l, ...rest } = body
  return told('note', { ...rest, note: [words, reason, note].filter(Boolean).join(' ').slice(0, 2000) }, ground)
}

/** SO2 that went in while malolactic is awaited went in: it is kept, and said. */
async function lockedWords(c: Scene, task: StoredTask, ground: Ground, entry: Told) {
  if (entry.additions.length === 0) return undefined
  return so2LockOf(c, 'note', task, ground, entry)
}

/** The doses on the phone's screen were not those of the plan any more. */
function staleDose(op: OperationBody, task: StoredTask): string | undefined {
  if (!op.base?.doses) return undefined
  const line = (d: { product: string; amount: number; unit: string }) => `${d.product} ${d.amount} ${d.unit}`
  const seen = op.base.doses.map(line).sort().join(', ')
  const planned = task.rest.doses.map(line).sort().join(', ')
  if (seen === planned) return undefined
  return `The phone showed an older dose (${seen || 'none'}); the plan says ${planned || 'none'}. What went in is kept.`
}

async function decide(
  c: Scene,
  op: OperationBody,
  name: Act,
  task: StoredTask,
  facts: readonly StoredTaskFact[],
  body: ActBody,
  ground: Ground,
): Promise<Applied> {
  const newest = facts.findLast((f) => f.kind !== 'note' && f.kind !== 'acknowledge' && f.kind !== 'caution')
  if (!stoodOn(op, newest)) {
    const theirs = newest && theirsOf(newest, ground)
    throw refusal('changed-meanwhile', `${theirs?.words ?? 'Somebody changed it'} meanwhile.`, theirs).refused
  }
  const closed = closedBy(task, facts)
  if (closed) {
    const theirs = newest && theirsOf(newest, ground)
    throw refusal(`already-${closed}`, `This task is ${closed} already.`, theirs).refused
  }
  await storeTold(c.var.db, c.var.who.cellarId, told(name, body, ground), c.var.now())
  return {
    state: 'stored',
    words: '',
    because: { lotId: task.lotId, words: `${task.lotCode} ${task.name.toLowerCase()} was moved` },
  }
}

/** Nothing newer stands than what the person saw, be it named by its own id or by the operation that told it. */
const stoodOn = (op: OperationBody, newest: StoredTaskFact | undefined): boolean => {
  const seen = op.base?.told
  if (newest === undefined) return true
  return seen !== undefined && (seen === newest.id || seen === newest.opId)
}

export async function applyUndo(c: BatchScene, op: OperationBody): Promise<Applied> {
  const { db, who } = c.var
  const task = await taskFor(c, op.taskKey ?? '')
  const all = await listTaskFacts(db, who.cellarId, task.key)
  const facts = standing(all)
  const ground = await groundOf(c, task, false)
  const last = facts.findLast((f) => f.kind !== 'note' && f.kind !== 'acknowledge' && f.kind !== 'caution')
  const named = all.find((f) => f.id === op.base?.told || (f.opId !== undefined && f.opId === op.base?.told))
  const gone = named !== undefined && !facts.includes(named)
  if (!last || gone) throw refusal('nothing-to-undo', 'It was taken back already.', undefined).refused
  if (!stoodOn(op, last)) {
    const theirs = theirsOf(last, ground)
    throw refusal('ticked-again', `${theirs.words} meanwhile: yours is not taken back.`, theirs).refused
  }
  if (last.personId !== who.personId && who.role !== 'owner' && who.role !== 'winemaker') {
    throw problem(403, 'not-yours', 'Somebody else told this: a winemaker may take it back')
  }
  const nowAt = c.var.now()
  const at = last.at.epochMilliseconds > nowAt.epochMilliseconds ? last.at : nowAt
  const reason = typeof op.value.reason === 'string' ? op.value.reason.slice(0, 500) : undefined
  const fact = {
    id: newId(nowAt.epochMilliseconds),
    opId: op.opId,
    taskKey: task.key,
    kind: 'undo' as const,
    at,
    personId: who.personId,
    undoesId: last.id,
    ...(reason ? { reason } : {}),
  }
  await recordTaskFacts(db, who.cellarId, [fact], nowAt)
  if (last.kind === 'done')
    await takeBackTick(db, who.cellarId, last, {
      undoId: fact.id,
      writtenAt: nowAt,
      reason: reason?.trim() || 'the tick was taken back',
    })
  return {
    state: 'stored',
    words: '',
    because: { lotId: task.lotId, words: `a tick of ${task.lotCode} was taken back` },
  }
}
