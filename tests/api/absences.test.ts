/** Somebody who is away, comes back sooner, or was here after all: version, operation id, record, plan. */
import { beforeAll, describe, expect, it } from 'vitest'
import type { PersonWire, TaskWire } from '../../api/wire.ts'
import { type Call, type Made, makeApp, type ProblemBody } from './make.ts'

interface Told {
  readonly person: PersonWire
  readonly changed: readonly TaskWire[]
  readonly revision: number
}

const PATH = '/api/people/hand/absences'
/** Tue 23 March 2027 06:00 to 18:00 in Auckland, 13 h ahead of UTC. */
const [SIX, EIGHTEEN, TEN] = ['2027-03-22T17:00:00Z', '2027-03-23T05:00:00Z', '2027-03-22T21:00:00Z']

let made: Made
let owner: Call
/** As the crew page reads it. */
const hand = async () =>
  (await owner<{ people: PersonWire[] }>('GET', '/api/people')).body.people.find((p) => p.id === 'hand')!

beforeAll(async () => {
  made = await makeApp()
  owner = made.as('owner')
}, 120_000)

const away = async (opId: string = crypto.randomUUID()) => {
  const { version } = await hand()
  const answer = await owner<Told>('POST', PATH, { opId, fromAt: SIX, toAt: EIGHTEEN, reason: 'ill', version })
  expect([answer.status, answer.text]).toEqual([201, answer.text])
  return answer.body
}

describe('an absence', () => {
  it('is told once however often it is sent, and is known by the id it was sent under', async () => {
    const opId = crypto.randomUUID()
    const first = await away(opId)
    expect(first.person.absences).toEqual([{ id: opId, fromAt: SIX, toAt: EIGHTEEN, reason: 'ill' }])
    // Sent again with the version it was first sent with, as an outbox does.
    const again = await owner<Told>('POST', PATH, {
      opId,
      fromAt: SIX,
      toAt: EIGHTEEN,
      reason: 'ill',
      version: first.person.version - 1,
    })
    expect([again.status, again.body.person, again.body.changed]).toEqual([201, first.person, []])
    expect(again.body.revision).toBe(first.revision)
  })

  it('ends sooner: over the version that was read, once for each operation, told in the record', async () => {
    const { absences, version } = await hand()
    const one = `${PATH}/${absences[0]!.id}`
    const body = { opId: crypto.randomUUID(), toAt: TEN, version }
    const stale = await owner<ProblemBody>('PUT', one, { ...body, version: version - 1 })
    expect([stale.status, stale.body.type]).toEqual([409, 'stale'])
    const done = await owner<Told>('PUT', one, body)
    expect([done.status, done.body.person.absences]).toEqual([200, [{ ...absences[0], toAt: TEN }]])
    expect(done.body.person.version).toBe(version + 1)
    const again = await owner<Told>('PUT', one, body)
    expect([again.status, again.body.person]).toEqual([200, done.body.person])
    const { body: log } = await owner<{ lines: { words: string }[] }>(
      'GET',
      '/api/record?from=2027-03-01&to=2027-04-30',
    )
    const words = log.lines.map((e) => e.words).filter((w) => w.includes('instead of'))
    // Both ends lie on one day, so the hour is told.
    expect(words).toEqual([
      expect.stringContaining('away 23 Mar 06:00 to 23 Mar 10:00 instead of 23 Mar 06:00 to 23 Mar 18:00'),
    ])
  })

  it('is taken back; the operation sent again changes nothing, under another id there is nothing to take back', async () => {
    const { absences, version } = await hand()
    const remove = `${PATH}/${absences[0]!.id}/remove`
    const body = { opId: crypto.randomUUID(), version }
    const done = await owner<Told>('POST', remove, body)
    expect([done.status, done.body.person.absences]).toEqual([200, []])
    expect((await owner<Told>('POST', remove, body)).body.person).toEqual(done.body.person)
    const gone = await owner<ProblemBody>('POST', remove, { version: version + 1 })
    expect([gone.status, gone.body.type]).toEqual([404, 'unknown-absence'])
  })

  it('refuses an end before its beginning, an operation id that stands for something else, and a call without a version', async () => {
    const opId = crypto.randomUUID()
    const { person } = await away(opId)
    const one = `${PATH}/${opId}`
    const early = await owner<ProblemBody>('PUT', one, { toAt: SIX, version: person.version })
    expect([early.status, early.body.errors?.[0]?.pointer]).toEqual([422, '#/toAt'])
    const used = await owner<ProblemBody>('PUT', one, { opId, toAt: TEN, version: person.version })
    expect([used.status, used.body.type]).toEqual([422, 'operation-used'])
    const blind = await owner<ProblemBody>('PUT', one, { toAt: TEN })
    expect([blind.status, blind.body.type]).toEqual([428, 'version-needed'])
    expect((await hand()).absences).toEqual(person.absences)
    // By header, as elsewhere.
    const header = await owner<Told>('PUT', one, { toAt: TEN }, { 'if-match': `"${person.version}"` })
    expect([header.status, header.body.person.absences[0]!.toAt]).toEqual([200, TEN])
  })

  it('of two who end it at one moment one is told that it was changed', async () => {
    const { absences, version } = await hand()
    const answers = await Promise.all(
      [EIGHTEEN, '2027-03-23T03:00:00Z'].map((toAt) =>
        owner('PUT', `${PATH}/${absences[0]!.id}`, { opId: crypto.randomUUID(), toAt, version }),
      ),
    )
    expect(answers.map((a) => a.status).sort()).toEqual([200, 409])
  })
})
