/** One operation of a phone: its id, its effect and its answer stand or fall in one transaction. */
import { createHash } from 'node:crypto'
import { answerOperation, claimOperation, lockTask } from '../../db/queries/operations.ts'
import { appendEntry, canonical } from '../../db/queries/record.ts'
import { mayCall, ruleOf } from '../access.ts'
import { type Problem, problem, problemOf } from '../problem.ts'
import { Temporal } from '../time.ts'
import { applyAct, applyUndo, isAct } from './act.ts'
import type { Applied } from './applied.ts'
import { type AnswerWire, OPERATION_KINDS, OPERATION_SCHEMA, type OperationBody, type OperationKind } from './body.ts'
import { applyHandover, applyPhoto, applyReadings, applySettle, applyTrouble } from './effects.ts'
import type { BatchScene } from './ground.ts'
import { whenOf } from './when.ts'

export interface Outcome {
  readonly answer: AnswerWire
  readonly because?: Applied['because']
}

/** @throws only for what is broken here: the phone keeps it and sends it again */
export async function takeOperation(c: BatchScene, deviceId: string, op: OperationBody): Promise<Outcome> {
  const { db, who } = c.var
  const later = notYet(c, op)
  if (later) return { answer: { opId: op.opId, ...later } }
  const nowAt = c.var.now()
  const digest = digestOf(op)
  const applied = await db.transaction(async (tx): Promise<Applied> => {
    const known = await claimOperation(tx, {
      cellarId: who.cellarId,
      opId: op.opId,
      digest,
      personId: who.personId,
      deviceId,
      kind: op.kind,
      // What a settling settles stands where others name their task; what is only shown stays to be looked at.
      taskKey:
        op.kind === 'settle' ? (op.value.how === 'show' ? null : String(op.value.of ?? '')) : (op.taskKey ?? null),
      occurredAt: whenSaid(op),
      clockOffsetMs: op.clockOffsetMs,
      writtenAt: nowAt,
    })
    if (known) return known.digest === digest && known.personId === who.personId ? known.answer : USED
    const done = await attempt({ known: c.known, var: { db: tx, who, now: c.var.now } }, op)
    const { because: _b, ...answer } = done
    await answerOperation(tx, who.cellarId, op.opId, answer)
    return done
  })
  const { because, ...answer } = applied
  return { answer: { opId: op.opId, ...(answer as Omit<AnswerWire, 'opId'>) }, ...(because ? { because } : {}) }
}

const USED: Applied = {
  state: 'refused',
  reason: 'operation-used',
  words: 'This operation id stands for something else',
}

const digestOf = (op: OperationBody) =>
  createHash('sha256')
    .update(canonical([op.author, op.cellar, op.kind, op.taskKey, op.value, op.base, op.occurredAt]))
    .digest('hex')

const whenSaid = (op: OperationBody) => Temporal.Instant.from(op.occurredAt)

/** Kept on the phone until it can be taken: another person is signed in, or this server is older than the phone's page. */
function notYet(c: BatchScene, op: OperationBody): Omit<AnswerWire, 'opId'> | undefined {
  const { who } = c.var
  if (op.author !== who.personId || op.cellar !== who.cellarId) {
    return { state: 'later', reason: 'other-person', words: 'Somebody else is signed in: it waits for whoever told it' }
  }
  if (op.schema > OPERATION_SCHEMA || !(OPERATION_KINDS as readonly string[]).includes(op.kind)) {
    return {
      state: 'later',
      reason: 'old-server',
      words: 'The server is older than this page: it waits for the update',
    }
  }
  return undefined
}

/** What is refused leaves no trace but itself: kept as offered, with who, when and why. */
async function attempt(c: BatchScene, op: OperationBody): Promise<Applied> {
  try {
    return await c.var.db.transaction((tx) => effect({ known: c.known, var: { ...c.var, db: tx } }, op))
  } catch (error) {
    const no = problemOf(error)
    if (no.status >= 500) throw error
    const answer = refusedBy(no)
    await keepOffered(c, op, answer)
    return answer
  }
}

function refusedBy(no: Problem): Applied {
  const theirs = (no.current as { theirs?: Applied['theirs'] } | undefined)?.theirs
  return {
    state: 'refused',
    reason: no.type,
    words: [no.title, no.detail].filter(Boolean).join('. '),
    ...(no.errors ? { errors: no.errors } : {}),
    ...(theirs ? { theirs } : {}),
  }
}

function keepOffered(c: BatchScene, op: OperationBody, answer: Applied): Promise<void> {
  const { base64: _picture, ...value } = op.value
  return appendEntry(c.var.db, c.var.who.cellarId, {
    kind: 'offered',
    subjectId: op.opId,
    opId: op.opId,
    taskKey: op.taskKey,
    personId: c.var.who.personId,
    at: whenOf(op, c.var.now()).at,
    writtenAt: c.var.now(),
    fact: { ...op, value, refused: answer.words },
  })
}

const TASK = '/api/tasks/{lot}/{step}/{count}'
const RULES: Readonly<Partial<Record<OperationKind, string>>> = {
  readings: '/api/readings',
  trouble: '/api/troubles',
  photo: '/api/photos',
  handover: '/api/handovers',
  settle: '/api/operations',
}

async function effect(c: BatchScene, op: OperationBody): Promise<Applied> {
  const kind = op.kind as OperationKind
  const rule = ruleOf('POST', RULES[kind] ?? `${TASK}/${kind}`)
  if (mayCall(rule, c.var.who.role) !== 'yes') throw problem(403, 'not-allowed', 'Your role may not do this')
  if (op.taskKey) await lockTask(c.var.db, c.var.who.cellarId, op.taskKey)
  const when = whenOf(op, c.var.now())
  if (isAct(kind)) return applyAct(c, op, when)
  switch (kind) {
    case 'undo':
      return applyUndo(c, op)
    case 'readings':
      return applyReadings(c, op, when)
    case 'trouble':
      return applyTrouble(c, op, when)
    case 'photo':
      return applyPhoto(c, op, when)
    case 'handover':
      return applyHandover(c, op, when)
    case 'settle':
      return applySettle(c, op, when)
  }
}
