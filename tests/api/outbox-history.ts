/** One history of two phones and a desk, and what was wrong after it. */
import { randomUUID } from 'node:crypto'
import { and, desc, eq, inArray } from 'drizzle-orm'
import type { TaskWire } from '../../api/wire.ts'
import { addition, operation, reading, recordEntry, taskFact } from '../../db/schema.ts'
import type { Row } from '../../web/offline/operation.ts'
import { type Chance, chanceOf } from '../helpers/chance.ts'
import type { Made } from './make.ts'
import { type Net, openPhone, type Phone, type Server, sender, type Weather } from './outbox-steps.ts'

export interface Fault {
  readonly seed: number
  readonly rule: 'waits' | 'lost' | 'doubled' | 'overwritten' | 'unflagged' | 'dose-refused' | 'not-offered'
  readonly words: string
}

const WEATHERS: readonly Weather[] = [
  'fine',
  'fine',
  'lost',
  'no-answer',
  'no-answer',
  'twice',
  'late',
  'captive',
  'redirect',
  'busy',
]
const PEOPLE = ['hand', 'winemaker'] as const

/** What the phone told, and under which mark it must be found on the server. */
interface Mark {
  readonly mark: string
  readonly where: 'addition' | 'reading' | 'words'
}

export async function history(made: Made, keys: readonly string[], seed: number, server: Server): Promise<Fault[]> {
  await forgetTasks(made)
  const chance = chanceOf(seed)
  let clockMs = Date.parse('2027-03-21T18:00:00Z')
  const nets: Net[] = PEOPLE.map(() => ({ weather: 'fine', late: [] }))
  const phones: Phone[] = []
  for (const [i, person] of PEOPLE.entries()) {
    phones.push(await openPhone(made, person, nets[i]!, server, () => (clockMs += 1)))
  }
  const fresh = await tasksOf(made, keys)
  const told = new Map<string, Mark>()
  let count = 0
  const steps = chance.whole(6, 14)
  for (let step = 0; step < steps; step += 1) {
    const i = chance.whole(0, 1)
    const net = nets[i]!
    const act = chance.share()
    if (act < 0.5) {
      count += 1
      await tell(phones[i]!, chance, fresh, `m${seed}-${count}.`, told)
    } else if (act < 0.75) {
      net.weather = chance.pick(WEATHERS)
      await phones[i]!.outbox.send()
    } else if (act < 0.85) {
      phones[i] = await phones[i]!.restart()
    } else if (act < 0.93 && net.late.length > 0) {
      const [body] = net.late.splice(chance.whole(0, net.late.length - 1), 1)
      await server(body!, sender(made, PEOPLE[i]!))
    } else {
      await desk(made, chance.pick(keys), chance.pick(['start', 'done', 'undo', 'skip'] as const))
    }
  }
  // The network comes back; requests that were under way all the time arrive last.
  for (const [i, phone] of phones.entries()) {
    nets[i]!.weather = 'fine'
    for (let round = 0; round < 3; round += 1) await phone.outbox.send()
    for (const body of nets[i]!.late) await server(body, sender(made, PEOPLE[i]!))
  }
  const rows = (await Promise.all(phones.map((p) => p.store.list()))).flat()
  const faults = await faultsOf(made, keys, rows, told)
  for (const phone of phones) phone.store.close()
  return faults.map((f) => ({ ...f, seed }))
}

/** Somebody at a desk, who has always read the newest. */
async function desk(made: Made, taskKey: string, kind: 'start' | 'done' | 'undo' | 'skip'): Promise<void> {
  const { body: task } = await made.as('owner')<TaskWire>('GET', `/api/tasks/${taskKey}`)
  const op = {
    opId: randomUUID(),
    schema: 1,
    author: 'owner',
    cellar: made.cellarId,
    kind,
    taskKey,
    value: { reason: 'at the desk' },
    base: task.told === undefined ? {} : { told: task.told },
    occurredAt: '2027-03-21T18:00:00Z',
    clockOffsetMs: 0,
  }
  await sender(made, 'owner')(JSON.stringify({ deviceId: DESK, operations: [op] }))
}

const DESK = '00000000-0000-4000-8000-00000000de5c'

/** A phone may have read the list before the plan changed its doses. */
const old = (task: TaskWire): TaskWire => ({
  ...task,
  doses: [{ product: 'an older dose', amount: 1, unit: 'g', volumeL: 1, arithmetic: '', basis: '' }],
})

async function tell(phone: Phone, chance: Chance, tasks: readonly TaskWire[], mark: string, told: Map<string, Mark>) {
  const seen = chance.pick(tasks)
  const task = chance.maybe(0.3) ? old(seen) : seen
  const kind = chance.pick(['start', 'done', 'done', 'dose', 'note', 'undo', 'undo', 'readings'] as const)
  const dose = { product: 'bentonite', amount: 10, unit: 'g', treatedL: 100, batchNo: mark }
  const where = kind === 'dose' ? 'addition' : kind === 'readings' ? 'reading' : 'words'
  const { opId } = await phone.outbox.record(
    kind === 'dose'
      ? { kind: 'done', task, label: mark, body: { additions: [dose], note: mark } }
      : kind === 'readings'
        ? { kind, label: mark, body: { readings: [{ lot: 'L01', kind: 'temp', value: 14, note: mark }] } }
        : { kind, task, label: mark, body: kind === 'undo' ? { reason: mark } : { note: mark } },
  )
  told.set(opId, { mark, where })
}

async function faultsOf(made: Made, keys: readonly string[], rows: readonly Row[], told: ReadonlyMap<string, Mark>) {
  const faults: Omit<Fault, 'seed'>[] = []
  const { db, cellarId } = made
  const facts = await db
    .select()
    .from(taskFact)
    .where(eq(taskFact.cellarId, cellarId))
    .orderBy(taskFact.writtenAt, taskFact.id)
  const additions = await db.select().from(addition).where(eq(addition.cellarId, cellarId))
  const readings = await db.select().from(reading).where(eq(reading.cellarId, cellarId))
  const offered = await db
    .select({ opId: recordEntry.opId })
    .from(recordEntry)
    .where(and(eq(recordEntry.cellarId, cellarId), eq(recordEntry.kind, 'offered')))
    .orderBy(desc(recordEntry.entry))
    .limit(200)
  const isOffered = new Set(offered.map((e) => e.opId))
  for (const [opId, { mark, where }] of told) {
    const row = rows.find((r) => r.opId === opId)
    if (!row) faults.push({ rule: 'lost', words: `${mark} left the phone’s storage` })
    else if (row.state === 'phone') faults.push({ rule: 'waits', words: `${mark} still waits` })
    const found = {
      addition: additions.filter((a) => a.batchNo === mark).length,
      reading: readings.filter((r) => r.note === mark).length,
      words: facts.filter((f) => f.reason?.includes(mark)).length,
    }[where]
    const isRefused = row?.state === 'refused'
    if (isRefused && where !== 'words') faults.push({ rule: 'dose-refused', words: `${mark} was turned away` })
    if (isRefused && !isOffered.has(opId)) faults.push({ rule: 'not-offered', words: `${mark} is not in the record` })
    if (found > 1) faults.push({ rule: 'doubled', words: `${mark} is there ${found} times` })
    if (found === 0 && !isRefused) faults.push({ rule: 'lost', words: `${mark} is not there` })
    const isStale = where === 'addition' && row?.op.base?.doses?.[0]?.product === 'an older dose'
    if (isStale && row?.state === 'stored') faults.push({ rule: 'unflagged', words: `${mark} was an old dose` })
  }
  const byOp = new Map(rows.map((r) => [r.opId, r]))
  for (const key of keys) {
    const standing = new Map<string, (typeof facts)[number]>()
    for (const fact of facts.filter((f) => f.taskKey === key)) {
      const op = fact.opId ? byOp.get(fact.opId) : undefined
      if (fact.kind === 'undo') {
        const back = standing.get(fact.undoesId ?? '')
        const named = op?.op.base?.told
        if (op && back && named !== back.id && named !== back.opId) {
          faults.push({ rule: 'overwritten', words: `${op.label} took back a tick that its author never saw` })
        }
        standing.delete(fact.undoesId ?? '')
        continue
      }
      const ticks = [...standing.values()].filter((f) => f.kind === 'done' || f.kind === 'skip')
      if ((fact.kind === 'done' || fact.kind === 'skip') && ticks.length > 0) {
        faults.push({ rule: 'overwritten', words: `a second tick of ${key} stands over the first` })
      }
      standing.set(fact.id, fact)
    }
  }
  return faults
}

const tasksOf = async (made: Made, keys: readonly string[]): Promise<TaskWire[]> =>
  Promise.all(keys.map(async (key) => (await made.as('owner')<TaskWire>('GET', `/api/tasks/${key}`)).body))

/** Histories share a cellar: each begins with nothing told. */
async function forgetTasks(made: Made): Promise<void> {
  const { db, cellarId } = made
  const facts = await db.select({ id: taskFact.id }).from(taskFact).where(eq(taskFact.cellarId, cellarId))
  if (facts.length > 0) {
    const ids = facts.map((f) => f.id)
    await db.update(taskFact).set({ kind: 'note', undoesId: null }).where(inArray(taskFact.id, ids))
    await db.delete(taskFact).where(inArray(taskFact.id, ids))
  }
  await db.delete(addition).where(eq(addition.cellarId, cellarId))
  await db.delete(reading).where(eq(reading.cellarId, cellarId))
  await db.delete(operation).where(eq(operation.cellarId, cellarId))
}
