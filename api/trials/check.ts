/** Whether what a trial names is there, said at the field; codes become ids. */

import { notValid, vesselNamed } from '../acts.ts'
import { refuseFar, refuseFarDay } from '../moments.ts'
import { fieldErrors, fieldProblem } from '../problem.ts'
import { choices as choicesSchema } from '../protocol/choices.ts'
import type { Lot, Machine, Person, Vessel } from '../protocol/facts.ts'
import { changedChoices } from '../protocol/trial/apply.ts'
import type { ChangedChoices, TrialChange } from '../protocol/trial/change.ts'
import { stayHours } from '../protocol/trial/stay.ts'
import { hourWords } from '../protocol/trial/words.ts'
import { Temporal } from '../time.ts'
import type { ChangeBody } from './bodies.ts'

export interface Known {
  readonly lots: readonly Lot[]
  readonly people: readonly Person[]
  readonly machines: readonly Machine[]
  readonly vessels: readonly Vessel[]
  readonly taskKeys: ReadonlySet<string>
  readonly zone: string
  readonly nowAt: Temporal.Instant
}

/** @throws a problem at the field that names what is not there */
export function checkedChange(body: ChangeBody, known: Known, pointer: string): TrialChange {
  const { nowAt } = known
  const lotNamed = (name: string, field: string): string => {
    const lot = known.lots.find((l) => l.id === name) ?? known.lots.find((l) => l.code === name)
    if (!lot) throw fieldProblem(`${pointer}/${field}`, `is not known: there is no lot ${name}`)
    return lot.id
  }
  switch (body.kind) {
    case 'pick':
      refuseFarDay(body.pickOn, nowAt, `${pointer}/pickOn`)
      return { ...body, lot: lotNamed(body.lot, 'lot') }
    case 'fruit':
      return { ...body, lot: lotNamed(body.lot, 'lot'), fruit: present(body.fruit) }
    case 'more-fruit':
      refuseFarDay(body.on, nowAt, `${pointer}/on`)
      if (known.lots.some((l) => l.code.toLowerCase() === body.code.toLowerCase()))
        throw fieldProblem(`${pointer}/code`, 'is taken: another lot has this code')
      return { ...body, like: lotNamed(body.like, 'like') }
    case 'move': {
      if (!known.taskKeys.has(body.taskKey))
        throw fieldProblem(`${pointer}/taskKey`, `is not known: there is no task ${body.taskKey}`)
      refuseFar(Temporal.Instant.from(body.startAt), nowAt, `${pointer}/startAt`)
      const { people, ...rest } = body
      people?.forEach((one, i) => {
        personNamed(one, known, `${pointer}/people/${i}`)
      })
      return { ...rest, ...(people ? { people } : {}) }
    }
    case 'machine-down': {
      const machine = known.machines.find((m) => m.id === body.machine || m.code === body.machine)
      if (!machine) throw fieldProblem(`${pointer}/machine`, `is not known: there is no machine ${body.machine}`)
      spanFits(body, nowAt, pointer)
      return { ...body, machine: machine.id }
    }
    case 'away':
      personNamed(body.person, known, `${pointer}/person`)
      spanFits(body, nowAt, pointer)
      return body
    case 'stay': {
      personNamed(body.person, known, `${pointer}/person`)
      refuseFarDay(body.on, nowAt, `${pointer}/on`)
      const person = known.people.find((p) => p.id === body.person)!
      const hours = stayHours(person, body.on, known.zone)
      if (!hours) throw fieldProblem(`${pointer}/on`, `is a day off: ${person.name} is not there then`)
      if (body.untilMin <= hours.endMin)
        throw fieldProblem(
          `${pointer}/untilMin`,
          `must be later than ${hourWords(hours.endMin)}, when the day ends anyway`,
        )
      if (body.untilMin > hours.longestMin)
        throw fieldProblem(
          `${pointer}/untilMin`,
          `must be ${hourWords(hours.longestMin)} at the latest: 12 h a day and 11 h of rest (common practice)`,
        )
      return body
    }
    case 'choices': {
      const lot = lotNamed(body.lot, 'lot')
      const before = known.lots.find((l) => l.id === lot)!.choices
      const after = changedChoices(before, body.choices as ChangedChoices)
      const parsed = choicesSchema.strict().safeParse(after)
      if (!parsed.success) throw notValid(fieldErrors(parsed.error, `${pointer}/choices`))
      return { kind: 'choices', lot, choices: body.choices as ChangedChoices }
    }
    case 'vessel':
      return {
        ...body,
        lot: lotNamed(body.lot, 'lot'),
        vessels: body.vessels.map((name, i) => vesselNamed(name, known, `${pointer}/vessels/${i}`)),
      }
  }
}

function personNamed(id: string, known: Known, pointer: string): void {
  if (!known.people.some((p) => p.id === id)) throw fieldProblem(pointer, `is not known: ${id} is nobody here`)
}

function spanFits(span: { readonly fromAt: string; readonly toAt: string }, nowAt: Temporal.Instant, pointer: string) {
  const [from, to] = [Temporal.Instant.from(span.fromAt), Temporal.Instant.from(span.toAt)]
  refuseFar(from, nowAt, `${pointer}/fromAt`)
  refuseFar(to, nowAt, `${pointer}/toAt`)
  if (Temporal.Instant.compare(to, from) <= 0) throw fieldProblem(`${pointer}/toAt`, 'must be later than its beginning')
}

/** Without the fields that were left out. */
const present = <T extends object>(fields: T) =>
  Object.fromEntries(Object.entries(fields).filter(([, value]) => value !== undefined)) as {
    [K in keyof T]: Exclude<T[K], undefined>
  }
