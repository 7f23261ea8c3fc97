import type { StoredTaskFact } from '../../db/queries/records.ts'
import type { StoredTask } from '../../db/queries/tasks.ts'
import { type DoseWas, isLooked } from '../protocol/beside.ts'
import { sourceNames, withSourceNames } from '../protocol/references.ts'
import { stepOf } from '../protocol/steps.ts'
import type { Dose, TaskPlan, TaskState } from '../protocol/types.ts'
import { isoOf, type Temporal } from '../time.ts'
import { drawnTaskWire, type TaskWire } from '../wire.ts'

/** What was told of a task, newest last; entries that were taken back are left out. */
export function standing(facts: readonly StoredTaskFact[]): readonly StoredTaskFact[] {
  const undone = new Set(facts.flatMap((f) => (f.undoesId ? [f.undoesId] : [])))
  return facts.filter((f) => f.kind !== 'undo' && !undone.has(f.id))
}

/**
 * How a task ended, by what was told of it; its row follows only with the next plan.
 *
 * @param facts those that stand
 */
export function closedBy(
  task: Pick<StoredTask, 'state'>,
  facts: readonly StoredTaskFact[],
): 'done' | 'skipped' | 'cancelled' | undefined {
  const last = facts.findLast((f) => f.kind === 'done' || f.kind === 'skip')
  if (last) return last.kind === 'done' ? 'done' : 'skipped'
  return task.state === 'cancelled' ? 'cancelled' : undefined
}

const iso = (at: Temporal.Instant): string => isoOf(at.epochMilliseconds)

const OPEN: readonly TaskState[] = ['planned', 'due', 'blocked']

/** Open and past its end: nobody has ticked it. */
export const isLate = (task: Pick<StoredTask, 'state' | 'endAt'>, nowAt: Temporal.Instant): boolean =>
  OPEN.includes(task.state) && task.endAt.epochMilliseconds < nowAt.epochMilliseconds

export interface TaskNames {
  readonly lotNames: ReadonlyMap<string, string>
  /** Vessel and machine id to the code that is painted on it. */
  readonly codes: ReadonlyMap<string, string>
  /** The codes in one text: the same, where nothing was painted anew. */
  readonly painted: string
  readonly factsByTask: ReadonlyMap<string, readonly StoredTaskFact[]>
  readonly nowAt: Temporal.Instant
}

export const taskToWire = (task: StoredTask, names: TaskNames): TaskWire => ({
  ...rowToWire(task, names),
  ...besideRow(task, names),
})

/** What the row itself says, with the codes that are painted on things. */
function rowToWire(task: StoredTask, names: Pick<TaskNames, 'codes'>) {
  const { rest } = task
  const painted = (ids: readonly string[]) => ids.map((id) => names.codes.get(id) ?? id)
  return {
    key: task.key,
    lotId: task.lotId,
    lotCode: task.lotCode,
    step: task.step,
    family: task.family,
    name: task.name,
    detail: rest.detail,
    startAt: iso(task.startAt),
    endAt: iso(task.endAt),
    grain: rest.grain ?? 'minute',
    crewMin: rest.crewMin,
    people: task.people,
    crew: rest.crew,
    ...(rest.streams ? { streams: rest.streams } : {}),
    ...(rest.site === undefined ? {} : { site: rest.site }),
    fromVessels: painted(rest.fromVessels),
    toVessels: painted(rest.toVessels),
    machines: painted(rest.machines),
    ...(rest.volumeL === undefined ? {} : { volumeL: rest.volumeL }),
    state: task.state,
    earliestAt: rest.earliestAt,
    latestAt: rest.latestAt,
    slackMin: rest.slackMin,
    forecast: rest.forecast,
    ...(rest.spread ? { spread: rest.spread } : {}),
    pinned: rest.pinned,
    doses: rest.doses.map(doseToWire),
    records: [...rest.records],
    caution: rest.caution,
    materials: [...rest.materials],
    why: rest.why,
    whyNotLater: rest.whyNotLater,
    prev: [...rest.prev],
    next: [...rest.next],
    ...(rest.waits ? { waits: [...rest.waits] } : {}),
    conflicts: [...rest.conflicts],
    broken: rest.broken.map((b) => ({ ...b, taskKeys: [...b.taskKeys] })),
    ...(task.cancelReason === null ? {} : { cancelReason: task.cancelReason }),
    leaving: stepOf(task.step).skippable,
    ...(rest.change ? { change: rest.change } : {}),
    revision: task.revision,
    changedAt: iso(task.changedAt),
  }
}

/** What stands elsewhere: its lot's name, what was told of it, and the hour. */
function besideRow(task: StoredTask, names: TaskNames) {
  const told = names.factsByTask.get(task.key) ?? NOTHING
  const done = task.state === 'done' ? told.findLast((f) => f.kind === 'done') : undefined
  const skip = task.state === 'skipped' ? told.findLast((f) => f.kind === 'skip') : undefined
  return {
    lotName: (task.lotId && names.lotNames.get(task.lotId)) || '',
    late: isLate(task, names.nowAt),
    ...(done ? { doneAt: iso(done.at), donePeople: [...(done.people ?? task.people)] } : {}),
    ...(skip?.reason ? { skipReason: skip.reason } : {}),
    ...(task.state === 'underway'
      ? whoOf(
          'taken',
          told.findLast((f) => f.kind === 'start'),
        )
      : {}),
    ...toldOf(told),
    ...whoOf(
      'cautionRead',
      told.findLast((f) => f.kind === 'caution'),
    ),
    ...(OPEN.includes(task.state) || task.state === 'underway' ? unseenDoses(task.rest.doseWas, told) : {}),
  }
}

const NOTHING: readonly StoredTaskFact[] = []

/** As text: what the row says is put into words once for each row handed out again, and names it was made with. */
export function taskJson(task: StoredTask, names: TaskNames, fields: 'all' | 'drawn'): string {
  const known = texts.get(task)
  const kept = known?.painted === names.painted ? known : { painted: names.painted }
  if (kept !== known) texts.set(task, kept)
  kept[fields] ??= JSON.stringify(fields === 'all' ? rowToWire(task, names) : drawn(rowToWire(task, names)))
  const beside = besideRow(task, names)
  return `${kept[fields].slice(0, -1)},${JSON.stringify(fields === 'all' ? beside : drawn(beside)).slice(1)}`
}

interface Texts {
  readonly painted: string
  all?: string
  drawn?: string
}

const texts = new WeakMap<StoredTask, Texts>()

const DRAWN = Object.keys(drawnTaskWire.shape)

const drawn = (wire: Readonly<Record<string, unknown>>) =>
  Object.fromEntries(DRAWN.flatMap((field) => (wire[field] === undefined ? [] : [[field, wire[field]]])))

const WORDS_ONLY: ReadonlySet<string> = new Set(['note', 'acknowledge', 'caution'])

/** The operation that told it last, or its entry where no phone did. */
function toldOf(told: readonly StoredTaskFact[]): Pick<TaskWire, 'told'> {
  const last = told.findLast((f) => !WORDS_ONLY.has(f.kind))
  return last ? { told: last.opId ?? last.id } : {}
}

/** Who told a thing, and when it was. */
const whoOf = <K extends 'taken' | 'cautionRead'>(name: K, fact: StoredTaskFact | undefined) =>
  fact?.personId ? { [name]: { personId: fact.personId, at: iso(fact.at) } } : {}

const doseToWire = (d: Dose) => ({
  product: d.product,
  amount: d.amount,
  unit: d.unit,
  volumeL: d.volumeL,
  arithmetic: d.arithmetic,
  basis: basisWords(d.basis),
})

/** Told until somebody says that they have seen it. */
function unseenDoses(was: DoseWas | undefined, told: readonly StoredTaskFact[]): Pick<TaskWire, 'doseWas'> {
  const looked = told.findLast((f) => f.kind === 'acknowledge')
  if (!was || isLooked(was, looked?.at.toString())) return {}
  return { doseWas: { at: was.at, doses: was.doses.map(doseToWire) } }
}

/** `source AWRI, OIV: of the sum rule`, `common practice`: by name, since ids of the reference list mean nothing on the floor. */
export function basisWords(basis: {
  readonly kind: string
  readonly refs?: readonly string[]
  readonly note?: string
}): string {
  const kind = basis.kind.replace('-', ' ')
  const refs = basis.refs?.length ? ` ${sourceNames(basis.refs)}` : ''
  return `${kind}${refs}${basis.note ? `: ${withSourceNames(basis.note)}` : ''}`
}

/** A task of a plan that is not stored, as it would travel. */
export function plannedToWire(plan: TaskPlan, old: StoredTask | undefined, names: TaskNames): TaskWire {
  const {
    spread,
    earliestAt,
    latestAt,
    lotId,
    lotCode,
    step,
    count,
    family,
    name,
    startAt,
    endAt,
    state,
    people,
    key,
  } = plan
  return taskToWire(
    {
      cellarId: '',
      key,
      lotId,
      lotCode,
      step,
      count,
      family,
      name,
      startAt,
      endAt,
      state,
      people: [...people],
      rest: {
        ...plan,
        earliestAt: earliestAt.toString(),
        latestAt: latestAt.toString(),
        spread: spread && { earliestAt: spread.earliestAt.toString(), latestAt: spread.latestAt.toString() },
      },
      cancelReason: null,
      skipReason: null,
      revision: old?.revision ?? 0,
      fingerprint: '',
      content: '',
      createdAt: old?.createdAt ?? names.nowAt,
      changedAt: old?.changedAt ?? names.nowAt,
    },
    names,
  )
}
