/** A trial becomes facts, and what it changed can be taken back at once. Call both inside a transaction. */

import type { BookingJson, LotSetJson, TrialUndoJson } from '../../db/json.ts'
import { findCellar } from '../../db/queries/cellars.ts'
import { addLots, findLot, listChoices, saveChoices, saveLot } from '../../db/queries/lots.ts'
import { findPerson, savePerson } from '../../db/queries/people.ts'
import { appendEntry } from '../../db/queries/record.ts'
import { recordTaskFacts } from '../../db/queries/records.ts'
import type { StoredTask } from '../../db/queries/tasks.ts'
import type { StoredTrial } from '../../db/queries/trials.ts'
import { listMachines, saveMachine } from '../../db/queries/vessels.ts'
import type { Db } from '../../db/types.ts'
import { newId } from '../ids.ts'
import { problem } from '../problem.ts'
import type { Booking, Lot, Person } from '../protocol/facts.ts'
import { changedLot, moreLike, pinOf } from '../protocol/trial/apply.ts'
import type { TrialChange } from '../protocol/trial/change.ts'
import { stayHours, stayRule } from '../protocol/trial/stay.ts'
import { lotEntry } from '../record/lot.ts'
import { personEntry } from '../record/person.ts'
import { no, ok, type Result } from '../result.ts'
import { Temporal } from '../time.ts'

export interface By {
  readonly personId: string
  readonly at: Temporal.Instant
}

type Signed = ReadonlyMap<string, Lot['signed']>

/**
 * @param signed by lot: the reasons signed for conflicts, where a change asks for them
 * @param kept tasks that stay where they stand now
 * @returns what each change did, for taking it back
 */
export async function adoptChanges(
  db: Db,
  cellarId: string,
  trial: StoredTrial,
  by: By,
  signed: Signed,
  kept: readonly StoredTask[],
): Promise<readonly TrialUndoJson[]> {
  const done: TrialUndoJson[] = []
  for (const change of trial.changes) done.push(await adoptOne(db, cellarId, change, by, signed))
  for (const task of kept) done.push(await pin(db, cellarId, task.key, task.startAt.toString(), task.people, by, KEPT))
  return done
}

const KEPT = 'stays where it was when a trial was adopted'
const changedMeanwhile = () => problem(409, 'stale', 'Somebody changed this in the meantime', { detail: 'Try again.' })

async function adoptOne(db: Db, cellarId: string, change: TrialChange, by: By, signed: Signed): Promise<TrialUndoJson> {
  switch (change.kind) {
    case 'pick':
    case 'fruit':
    case 'vessel': {
      const lot = await lotFor(db, cellarId, change.lot)
      const next = changedLot(lot, change)
      return {
        kind: 'lot',
        id: lot.id,
        before: setOf(lot),
        after: setOf(await stored(db, cellarId, next, lot.version, by)),
      }
    }
    case 'choices': {
      const lot = await lotFor(db, cellarId, change.lot)
      const next = changedLot(lot, change)
      const saved = await saveChoices(
        db,
        cellarId,
        lot.id,
        { choices: next.choices, signed: signed.get(lot.id) ?? lot.signed, ...by },
        lot.choicesVersion,
      )
      if (!saved.ok) throw changedMeanwhile()
      return { kind: 'choices', id: lot.id, beforeVersion: lot.choicesVersion, afterVersion: saved.value }
    }
    case 'more-fruit': {
      const id = newId(by.at.epochMilliseconds)
      const lot = moreLike(await lotFor(db, cellarId, change.like), change, id)
      await addLots(db, cellarId, [{ ...lot, signed: signed.get(change.code) ?? [] }], by)
      return { kind: 'lot-added', id }
    }
    case 'machine-down': {
      const machine = (await listMachines(db, cellarId)).find((m) => m.id === change.machine)
      if (!machine) throw changedMeanwhile()
      const booking = { fromAt: change.fromAt, toAt: change.toAt, why: change.why }
      const bookings = [...machine.bookings, bookingFrom(booking)]
      if (!(await saveMachine(db, cellarId, { ...machine, bookings }, machine.version, by)).ok) throw changedMeanwhile()
      return { kind: 'machine', id: machine.id, booking }
    }
    case 'away': {
      const person = await findPerson(db, cellarId, change.person)
      if (!person) throw changedMeanwhile()
      const absence = { fromAt: change.fromAt, toAt: change.toAt, reason: change.reason }
      const absences = [...person.absences, { id: newId(by.at.epochMilliseconds), ...absenceFrom(absence) }]
      await storedPerson(db, cellarId, { ...person, absences }, person.version, by)
      return { kind: 'person', id: person.id, absence }
    }
    case 'stay': {
      const person = await findPerson(db, cellarId, change.person)
      const rule = person && stayRule(person, change)
      const zone = (await findCellar(db, cellarId))?.zone
      if (!person || !rule || !zone) throw changedMeanwhile()
      // Their hours may be others than when the trial was made.
      if (change.untilMin > stayHours(person, change.on, zone)!.longestMin) throw changedMeanwhile()
      const shifts = [...stillOf(person.shifts, by.at), rule]
      await storedPerson(db, cellarId, { ...person, shifts }, person.version, by)
      return { kind: 'stay', id: person.id, on: change.on, endMin: rule.endMin }
    }
    case 'move':
      return pin(db, cellarId, change.taskKey, change.startAt, change.people, by, 'moved by an adopted trial')
  }
}

async function lotFor(db: Db, cellarId: string, id: string) {
  const lot = await findLot(db, cellarId, id)
  if (!lot) throw changedMeanwhile()
  return lot
}

async function stored(db: Db, cellarId: string, lot: Lot, version: number, by: By): Promise<Lot> {
  if (!(await saveLot(db, cellarId, lot, version)).ok) throw changedMeanwhile()
  await appendEntry(db, cellarId, lotEntry(lot, by.personId, by.at))
  return lot
}

async function storedPerson(db: Db, cellarId: string, person: Person, version: number, by: By): Promise<void> {
  if (!(await savePerson(db, cellarId, person, version)).ok) throw changedMeanwhile()
  await appendEntry(db, cellarId, personEntry(person, by.personId, by.at))
}

const setOf = (lot: Lot): LotSetJson => ({
  pickOn: lot.pickOn.toString(),
  fruit: lot.fruit,
  vesselPins: lot.vesselPins,
})

const at = (text: string) => Temporal.Instant.from(text)
const bookingFrom = (b: BookingJson): Booking => ({ ...b, fromAt: at(b.fromAt), toAt: at(b.toAt) })
const absenceFrom = (a: { fromAt: string; toAt: string; reason: string }) => ({
  ...a,
  fromAt: at(a.fromAt),
  toAt: at(a.toAt),
})

export async function pin(
  db: Db,
  cellarId: string,
  taskKey: string,
  startAt: string,
  people: readonly string[] | undefined,
  by: By,
  reason: string,
): Promise<TrialUndoJson> {
  const id = newId(by.at.epochMilliseconds)
  const move = { taskKey, startAt, ...(people && people.length > 0 ? { people } : {}) }
  await recordTaskFacts(db, cellarId, [{ ...pinOf(move, by.at, id), personId: by.personId, reason }], by.at)
  return { kind: 'pin', id, taskKey }
}

/** Takes all of it back, last first; refused as a whole where somebody has changed one of the things since. */
export async function undoChanges(
  db: Db,
  cellarId: string,
  undo: readonly TrialUndoJson[],
  by: By,
): Promise<Result<true, string>> {
  for (const one of undo.toReversed()) {
    const why = await undoOne(db, cellarId, one, by)
    if (why !== undefined) return no(why)
  }
  return ok(true)
}

/** @returns what stands in the way, in words */
async function undoOne(db: Db, cellarId: string, one: TrialUndoJson, by: By): Promise<string | undefined> {
  switch (one.kind) {
    case 'lot': {
      const lot = await lotFor(db, cellarId, one.id)
      if (!same(setOf(lot), one.after)) return `${lot.code} was changed since`
      const { fruit, vesselPins } = one.before
      await stored(
        db,
        cellarId,
        { ...lot, fruit, vesselPins, pickOn: Temporal.PlainDate.from(one.before.pickOn) },
        lot.version,
        by,
      )
      return undefined
    }
    case 'lot-added': {
      const lot = await lotFor(db, cellarId, one.id)
      await stored(db, cellarId, { ...lot, endedAt: by.at }, lot.version, by)
      return undefined
    }
    case 'choices': {
      const lot = await lotFor(db, cellarId, one.id)
      if (lot.choicesVersion !== one.afterVersion) return `the answers of ${lot.code} were changed since`
      const before = (await listChoices(db, cellarId, one.id)).find((v) => v.version === one.beforeVersion)
      if (!before) return `the earlier answers of ${lot.code} are not there`
      const { choices, signed } = before
      const saved = await saveChoices(db, cellarId, lot.id, { choices, signed, ...by }, lot.choicesVersion)
      if (!saved.ok) throw changedMeanwhile()
      return undefined
    }
    case 'machine': {
      const machine = (await listMachines(db, cellarId)).find((m) => m.id === one.id)
      const bookings = machine && without(machine.bookings, bookingFrom(one.booking))
      if (!machine || !bookings) return `the booking of ${machine?.code ?? one.id} was changed since`
      if (!(await saveMachine(db, cellarId, { ...machine, bookings }, machine.version, by)).ok) throw changedMeanwhile()
      return undefined
    }
    case 'person': {
      const person = await findPerson(db, cellarId, one.id)
      const was = absenceFrom(one.absence)
      const absence = person?.absences.find(({ id: _, ...said }) => same(said, was))
      const absences = absence && person?.absences.filter((a) => a !== absence)
      if (!person || !absences) return `the absence of ${person?.name ?? one.id} was changed since`
      await storedPerson(db, cellarId, { ...person, absences }, person.version, by)
      return undefined
    }
    case 'stay': {
      const person = await findPerson(db, cellarId, one.id)
      const rule = person?.shifts.findLast(
        (r) => String(r.fromOn) === one.on && String(r.untilOn) === one.on && r.endMin === one.endMin,
      )
      if (!person || !rule) return `the hours of ${person?.name ?? one.id} were changed since`
      const shifts = person.shifts.filter((r) => r !== rule)
      await storedPerson(db, cellarId, { ...person, shifts }, person.version, by)
      return undefined
    }
    case 'pin': {
      const fact = {
        id: newId(by.at.epochMilliseconds),
        taskKey: one.taskKey,
        kind: 'undo' as const,
        at: by.at,
        personId: by.personId,
        undoesId: one.id,
      }
      await recordTaskFacts(db, cellarId, [fact], by.at)
      return undefined
    }
  }
}

const same = (a: unknown, b: unknown) => sorted(a) === sorted(b)

/** Keys in one order: the database gives them back in its own. */
const sorted = (value: unknown): string =>
  JSON.stringify(value, (_, v: unknown) =>
    v !== null && typeof v === 'object' && !Array.isArray(v)
      ? Object.fromEntries(Object.entries(v).sort(([x], [y]) => (x < y ? -1 : 1)))
      : v,
  )

/** The list less one entry like this; undefined where none is. */
function without<T extends { readonly fromAt: Temporal.Instant; readonly toAt: Temporal.Instant }>(
  list: readonly T[],
  one: T,
): T[] | undefined {
  const i = list.findIndex((x) => sorted(x) === sorted(one))
  return i < 0 ? undefined : list.filter((_, k) => k !== i)
}

/** A person keeps few rules: those of single days that are a month past decide nothing any more. */
const stillOf = (shifts: Person['shifts'], nowAt: Temporal.Instant): Person['shifts'] => {
  const since = nowAt.toZonedDateTimeISO('UTC').toPlainDate().subtract({ days: 31 })
  return shifts.filter((r) => !(r.untilOn && String(r.fromOn) === String(r.untilOn) && before(r.untilOn, since)))
}

const before = (a: Temporal.PlainDate, b: Temporal.PlainDate): boolean => Temporal.PlainDate.compare(a, b) < 0
