/**
 * Two phones, a desk, the real routes, and a network that loses, doubles, delays and reorders. After each history
 * everything told is held exactly once and nobody's word was overwritten unseen. The same test must catch a server that
 * forgets ids, one where the last writer wins, one that turns an old dose away and one that does not flag it.
 */
import { randomUUID } from 'node:crypto'
import { beforeAll, describe, expect, it } from 'vitest'
import type { AnswersWire } from '../../api/operations/body.ts'
import { standing } from '../../api/shapes/task.ts'
import type { TaskWire } from '../../api/wire.ts'
import { listTaskFacts } from '../../db/queries/records.ts'
import { type Made, makeApp } from './make.ts'
import { type Fault, history } from './outbox-history.ts'
import { openPhone, type Server, SOUND } from './outbox-steps.ts'

let made: Made
let keys: readonly string[]

beforeAll(async () => {
  // No plan in between: what is told is what counts here, and planning is slow.
  made = await makeApp({ planAfterMs: 3_600_000 })
  const { tasks } = (await made.as('owner')<{ tasks: TaskWire[] }>('GET', '/api/tasks?lot=L01')).body
  keys = tasks.slice(0, 2).map((t) => t.key)
})

/** The embedded database takes the whole number; the server database shows that it is the same there. */
/** HISTORIES=500 is the long form: three minutes. */
const HISTORIES = Number(process.env.HISTORIES ?? 120)

interface Sent {
  readonly deviceId: string
  readonly operations: readonly {
    readonly opId: string
    readonly kind: string
    readonly taskKey?: string
    readonly value: { readonly additions?: readonly unknown[] }
    readonly base?: { readonly told?: string; readonly doses?: readonly { readonly product: string }[] }
  }[]
}

const isOldDose = (op: Sent['operations'][number]) =>
  op.value.additions !== undefined && op.base?.doses?.[0]?.product === 'an older dose'

const answer = (body: AnswersWire) =>
  new Response(JSON.stringify(body), { headers: { 'content-type': 'application/json' } })

/** Every copy that comes is a new one to it. */
const FORGETS_IDS: Server = async (body, send) => {
  const sent = JSON.parse(body) as Sent
  const ids = new Map(sent.operations.map((op) => [randomUUID() as string, op.opId]))
  const given = [...ids.keys()]
  const reply = await send(
    JSON.stringify({ ...sent, operations: sent.operations.map((op, i) => ({ ...op, opId: given[i] })) }),
  )
  const said = (await reply.json()) as AnswersWire
  return answer({ ...said, answers: said.answers.map((a) => ({ ...a, opId: ids.get(a.opId) ?? a.opId })) })
}

/** Whatever stands is what was meant. */
const LAST_WRITER_WINS: Server = async (body, send) => {
  const sent = JSON.parse(body) as Sent
  const operations = []
  for (const op of sent.operations) {
    const facts = op.taskKey ? standing(await listTaskFacts(made.db, made.cellarId, op.taskKey)) : []
    const last = facts.findLast((f) => f.kind !== 'note')
    operations.push(op.kind === 'undo' && last ? { ...op, base: { told: last.id } } : op)
  }
  return send(JSON.stringify({ ...sent, operations }))
}

const REFUSES_OLD_DOSE: Server = async (body, send) => {
  const sent = JSON.parse(body) as Sent
  const reply = await send(JSON.stringify({ ...sent, operations: sent.operations.filter((op) => !isOldDose(op)) }))
  const said = (await reply.json()) as AnswersWire
  const no = sent.operations
    .filter(isOldDose)
    .map((op) => ({ opId: op.opId, state: 'refused' as const, words: 'The plan has another dose by now' }))
  return answer({ ...said, held: said.held + no.length, answers: [...said.answers, ...no] })
}

const FLAGS_NOTHING: Server = async (body, send) => {
  const said = (await (await send(body)).json()) as AnswersWire
  return answer({ ...said, answers: said.answers.map((a) => (a.state === 'check' ? { ...a, state: 'stored' } : a)) })
}

/** Runs histories until one shows a fault. */
async function firstFaults(server: Server, most: number): Promise<readonly Fault[]> {
  for (let seed = 1; seed <= most; seed += 1) {
    const faults = await history(made, keys, seed, server)
    if (faults.length > 0) return faults
  }
  return []
}

describe('what is told on a phone', () => {
  it(`in ${HISTORIES} histories is held once each, and overwrites nothing unseen`, async () => {
    expect(await firstFaults(SOUND, HISTORIES)).toEqual([])
  }, 1_200_000)

  it.each([
    ['forgets ids', FORGETS_IDS, 'doubled'],
    ['lets the last writer win', LAST_WRITER_WINS, 'overwritten'],
    ['turns an old dose away', REFUSES_OLD_DOSE, 'dose-refused'],
    ['does not flag an old dose', FLAGS_NOTHING, 'unflagged'],
  ] as const)('a server that %s is caught', async (_name, server, rule) => {
    const faults = await firstFaults(server, 60)
    expect(faults.map((f) => f.rule)).toContain(rule)
  })
})

/** A server that only remembers; what it holds can be set back as a restored copy would be. */
function remembering(held: Set<string>, counted: (held: number) => number = (n) => n): Server {
  return async (body) => {
    const sent = JSON.parse(body) as Sent
    for (const op of sent.operations) held.add(op.opId)
    const answers = sent.operations.map((op) => ({ opId: op.opId, state: 'stored' as const, words: '' }))
    return answer({ from: 'leesway', nowAt: '2027-03-21T18:00:00Z', held: counted(held.size), answers })
  }
}

describe('a server that was restored from a copy', () => {
  const phoneWith = (server: Server) =>
    openPhone(made, 'hand', { weather: 'fine', late: [] }, server, () => Date.parse('2027-03-21T18:00:00Z'))
  const note = { kind: 'handover', label: 'a note', body: { words: 'T03 chills' } } as const

  it('is told again what it lost, with the next record', async () => {
    const held = new Set<string>()
    const phone = await phoneWith(remembering(held))
    const ids: string[] = []
    for (let i = 0; i < 5; i += 1) ids.push((await phone.outbox.record(note)).opId)
    await phone.outbox.send()
    expect([...held].sort()).toEqual([...ids].sort())
    held.delete(ids[1]!)
    held.delete(ids[4]!)
    ids.push((await phone.outbox.record(note)).opId)
    expect(await phone.outbox.send()).toEqual({ end: 'empty' })
    expect([...held].sort()).toEqual([...ids].sort())
    expect((await phone.store.list()).map((r) => r.state)).toEqual(Array(6).fill('stored'))
  })

  it('is not told for ever what another phone told it first', async () => {
    let posts = 0
    const counts = remembering(new Set(), (n) => Math.max(0, n - 1))
    const phone = await phoneWith((body, send) => {
      posts += 1
      return counts(body, send)
    })
    for (let i = 0; i < 3; i += 1) await phone.outbox.record(note)
    expect(await phone.outbox.send()).toEqual({ end: 'empty' })
    expect(posts).toBe(2)
    await phone.outbox.record(note)
    expect(await phone.outbox.send()).toEqual({ end: 'empty' })
    expect(posts).toBe(3)
  })

  it('keeps what was refused until somebody decides, and then still shows what came of it', async () => {
    const refuses: Server = async (body) => {
      const { operations } = JSON.parse(body) as Sent
      const said = operations.map((op) => ({
        opId: op.opId,
        state: op.kind === 'handover' ? ('refused' as const) : ('stored' as const),
        words: 'no',
      }))
      return answer({ from: 'leesway', nowAt: '2027-03-21T18:00:00Z', held: operations.length, answers: said })
    }
    const phone = await phoneWith(refuses)
    const { opId } = await phone.outbox.record(note)
    await phone.outbox.send()
    expect((await phone.outbox.shown()).kept.map((k) => [k.opId, k.state])).toEqual([[opId, 'refused']])
    await phone.outbox.resolve(opId, 'show')
    const rows = await phone.store.list()
    expect(rows.map((r) => [r.op.kind, r.state, r.choice ?? null])).toEqual([
      ['handover', 'refused', 'show'],
      ['settle', 'phone', null],
    ])
    expect(rows[1]!.op.value).toEqual({ of: opId, how: 'show' })
  })
})

describe('what is left of somebody who is let in no more', () => {
  const at = Date.parse('2027-03-21T18:00:00Z')
  const net = { weather: 'fine', late: [] as string[] } as const
  const noteOf = (n: number) => ({ kind: 'note', label: `Note ${n}`, body: { note: `barrel ${n} weeps` } }) as const

  it('is told in words by whoever is there, each once, all pictures too, and never again as theirs', async () => {
    const sent: Sent['operations'][number][] = []
    const hears: Server = async (body) => {
      const { operations } = JSON.parse(body) as Sent
      sent.push(...operations)
      return remembering(new Set(sent.map((op) => op.opId)))(body, SOUND as never)
    }
    const name = `gone-${process.pid}`
    const theirs = await openPhone(made, 'hand', net, hears, () => at, name)
    for (let n = 1; n <= 40; n += 1) await theirs.outbox.record(noteOf(n))
    const picture = { taskKey: keys[0]!, base64: 'AAAAAAAA' }
    await theirs.outbox.record({ kind: 'photo', label: 'Photo', body: picture })
    const mine = await openPhone(made, 'winemaker', net, hears, () => at, name)
    const { others, kept } = await mine.outbox.shown()
    expect([others.length, new Set(others.map((op) => op.author)), kept]).toEqual([41, new Set(['hand']), []])
    const line = (op: { label: string }) => `Kim: ${op.label}`
    await mine.outbox.keepInWords(others, 'Told by somebody who is gone:', line)
    // A second tap finds nothing left.
    await mine.outbox.keepInWords(others, 'Told by somebody who is gone:', line)
    expect((await mine.outbox.shown()).others).toEqual([])
    await mine.outbox.send()
    const words = sent.filter((op) => op.kind === 'handover').map((op) => String((op.value as { words: string }).words))
    expect(words.every((one) => one.length <= 2_000 && one.startsWith('Told by somebody who is gone:'))).toBe(true)
    const lines = words.flatMap((one) => one.split('\n').slice(1))
    const notes = Array.from({ length: 40 }, (_, i) => `Kim: Note ${i + 1}. note: barrel ${i + 1} weeps`)
    expect(lines).toEqual([...notes, `Kim: Photo. taskKey: ${keys[0]}`])
    expect(sent.filter((op) => op.kind === 'photo').map((op) => op.value)).toEqual([picture])
    // Let in again after all: nothing is told a second time.
    const told = sent.length
    await theirs.outbox.send()
    expect(sent.length).toBe(told)
  })
})
