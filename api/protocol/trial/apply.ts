import { Temporal } from '../../time.ts'
import type { Choices } from '../choices.ts'
import type { Facts, Lot, Person, TaskFact } from '../facts.ts'
import type { ChangedChoices, TrialChange } from './change.ts'
import { stayRule } from './stay.ts'

/**
 * A copy of the facts in which the changes have happened; the given facts stay as they are. What a change names and
 * the cellar no longer has is left alone.
 *
 * @param idOf ids for what a change adds, by its place in the list
 */
export const withChanges = (
  facts: Facts,
  changes: readonly TrialChange[],
  nowAt: Temporal.Instant,
  idOf: (index: number) => string,
): Facts => changes.reduce((now, change, i) => withChange(now, change, nowAt, idOf(i)), facts)

function withChange(facts: Facts, change: TrialChange, nowAt: Temporal.Instant, id: string): Facts {
  switch (change.kind) {
    case 'pick':
    case 'fruit':
    case 'choices':
    case 'vessel':
      return {
        ...facts,
        lots: facts.lots.map((lot) => (lot.id === change.lot ? changedLot(lot, change) : lot)),
      }
    case 'move':
      return { ...facts, taskFacts: [...facts.taskFacts, pinOf(change, nowAt, id)] }
    case 'more-fruit': {
      const like = facts.lots.find((lot) => lot.id === change.like)
      return like ? { ...facts, lots: [...facts.lots, moreLike(like, change, id)] } : facts
    }
    case 'machine-down': {
      const booking = { fromAt: at(change.fromAt), toAt: at(change.toAt), why: change.why }
      return {
        ...facts,
        machines: facts.machines.map((m) =>
          m.id === change.machine ? { ...m, bookings: [...m.bookings, booking] } : m,
        ),
      }
    }
    case 'away': {
      const absence = { id: 'tried', fromAt: at(change.fromAt), toAt: at(change.toAt), reason: change.reason }
      return {
        ...facts,
        people: facts.people.map((p) => (p.id === change.person ? { ...p, absences: [...p.absences, absence] } : p)),
      }
    }
    case 'stay':
      return {
        ...facts,
        people: facts.people.map((p) => (p.id === change.person ? stayingPerson(p, change) : p)),
      }
  }
}

type Stay = Extract<TrialChange, { kind: 'stay' }>

function stayingPerson(person: Person, change: Stay): Person {
  const rule = stayRule(person, change)
  return rule ? { ...person, shifts: [...person.shifts, rule] } : person
}

const at = (text: string) => Temporal.Instant.from(text)

/** The lot as a change leaves it. */
export function changedLot(lot: Lot, change: TrialChange): Lot {
  switch (change.kind) {
    case 'pick':
      return { ...lot, pickOn: Temporal.PlainDate.from(change.pickOn) }
    case 'fruit':
      return { ...lot, fruit: { ...lot.fruit, ...change.fruit } }
    case 'choices':
      return { ...lot, choices: changedChoices(lot.choices, change.choices) }
    case 'vessel':
      return { ...lot, vesselPins: { ...lot.vesselPins, [change.hold]: change.vessels } }
    default:
      return lot
  }
}

export function changedChoices(choices: Choices, changed: ChangedChoices): Choices {
  const merged = Object.entries({ ...choices, ...changed }).filter(([, value]) => value !== null)
  return Object.fromEntries(merged) as unknown as Choices
}

/** Fruit of the same kind with the same answers; where it lies and what was signed for the other is not taken over. */
export const moreLike = (like: Lot, change: Extract<TrialChange, { kind: 'more-fruit' }>, id: string): Lot => {
  const { endedAt: _, ...rest } = like
  return {
    ...rest,
    id,
    code: change.code,
    name: `More ${like.name}`,
    pickOn: Temporal.PlainDate.from(change.on),
    fruit: { ...like.fruit, tonnes: change.tonnes },
    choicesVersion: 1,
    signed: [],
    parents: [],
    vesselPins: {},
  }
}

export const pinOf = (
  move: Pick<Extract<TrialChange, { kind: 'move' }>, 'taskKey' | 'startAt' | 'people'>,
  nowAt: Temporal.Instant,
  id: string,
): TaskFact => ({
  id,
  taskKey: move.taskKey,
  kind: 'pin',
  at: nowAt,
  startAt: at(move.startAt),
  ...(move.people ? { people: move.people } : {}),
})
