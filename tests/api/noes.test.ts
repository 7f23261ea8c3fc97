import { beforeAll, describe, expect, it } from 'vitest'
import type { LotWire, PersonWire, TaskWire } from '../../api/wire.ts'
import { type Answer, type Call, CHOICES, FRUIT, type Made, makeApp, ORIGIN, type ProblemBody } from './make.ts'

let made: Made
let call: Call
let lot: LotWire

beforeAll(async () => {
  made = await makeApp()
  call = made.as('winemaker')
  lot = (await call<{ lot: LotWire }>('GET', '/api/lots/L01')).body.lot
})

/** A no is a problem document whose status is the answer's own. */
function isNo(answer: Answer<ProblemBody>, status: number, type: string) {
  expect(answer.status, answer.text).toBe(status)
  expect(answer.headers.get('content-type')).toBe('application/problem+json')
  expect(answer.body.status).toBe(status)
  expect(answer.body.type).toBe(type)
  expect(answer.body.title).not.toBe('')
}

const at = (answer: Answer<ProblemBody>) => (answer.body.errors ?? []).map((e) => e.pointer)
const countLots = async () => (await call<{ lots: unknown[] }>('GET', '/api/lots')).body.lots.length

const newLot = (code: string, fruit: object = {}) => ({
  code,
  name: 'Trial',
  variety: 'Riesling',
  pickOn: '2027-03-25',
  fruit: { ...FRUIT, ...fruit },
  style: 'crisp',
})

describe('what cannot be', () => {
  it.each([
    ['no fruit', { tonnes: 0 }, '#/fruit/tonnes', /at least 0\.01/],
    ['60 Brix', { brix: 60 }, '#/fruit/brix', /at most 50/],
    ['pH 9', { pH: 9 }, '#/fruit/pH', /at most 4\.5/],
  ])('refuses a lot of %s at the field, and writes nothing', async (_name, fruit, pointer, words) => {
    const before = await countLots()
    const answer = await call<ProblemBody>('POST', '/api/lots', newLot('X01', fruit))
    isNo(answer, 422, 'not-valid')
    expect(at(answer)).toEqual([pointer])
    expect(answer.body.errors![0]!.detail).toMatch(words)
    expect(await countLots()).toBe(before)
  })

  it('names every field at once', async () => {
    const answer = await call<ProblemBody>('POST', '/api/lots', newLot('no code', { tonnes: 0, brix: 60, pH: 9 }))
    expect(at(answer).sort()).toEqual(['#/code', '#/fruit/brix', '#/fruit/pH', '#/fruit/tonnes'])
  })

  it('refuses a lot larger than all vessels together, and says how much fits', async () => {
    const answer = await call<ProblemBody>('POST', '/api/lots', newLot('X02', { tonnes: 400 }))
    isNo(answer, 422, 'not-valid')
    expect(at(answer)).toEqual(['#/fruit/tonnes'])
    expect(answer.body.errors![0]!.detail).toMatch(/272000 L.*hold \d+ L/)
  })

  it('refuses a second lot of the same code, whatever its letters', async () => {
    const answer = await call<ProblemBody>('POST', '/api/lots', newLot('l01'))
    isNo(answer, 409, 'code-taken')
    expect(at(answer)).toEqual(['#/code'])
  })

  it('refuses an unknown vessel, lot, kind and person where they are named', async () => {
    const answer = await call<ProblemBody>('POST', '/api/readings', {
      readings: [
        { lot: 'L01', kind: 'brix', value: 20, vessel: 'T99' },
        { lot: 'L77', kind: 'brix', value: 20 },
      ],
    })
    isNo(answer, 422, 'not-valid')
    expect(at(answer)).toEqual(['#/readings/0/vessel', '#/readings/1/lot'])
    const assign = await call<ProblemBody>('POST', '/api/tasks/L01/press/1/assign', { people: ['stranger'] })
    expect(at(assign)).toEqual(['#/people/0'])
    const kind = await call<ProblemBody>('POST', '/api/readings', {
      readings: [{ lot: 'L01', kind: 'mood', value: 1 }],
    })
    expect(at(kind)).toEqual(['#/readings/0/kind'])
  })

  it('refuses a reading that cannot be, and one from tomorrow; none of its batch is written', async () => {
    const answer = await call<ProblemBody>('POST', '/api/readings', {
      readings: [
        { lot: 'L01', kind: 'brix', value: 19 },
        { lot: 'L01', kind: 'pH', value: 9 },
        { lot: 'L01', kind: 'temp', value: 14, takenAt: '2027-03-23T00:00:00Z' },
      ],
    })
    isNo(answer, 422, 'not-valid')
    expect(at(answer)).toEqual(['#/readings/1/value', '#/readings/2/takenAt'])
    const stored = await call<{ readings: unknown[] }>('GET', '/api/readings?lot=L01')
    expect(stored.body.readings).toEqual([])
  })

  it('keeps an unusual reading, and asks for a second one', async () => {
    const answer = await call<{ warnings: string[]; readings: unknown[] }>('POST', '/api/readings', {
      readings: [{ lot: 'L01', kind: 'va', value: 1.4 }],
    })
    expect(answer.status).toBe(201)
    expect(answer.body.readings).toHaveLength(1)
    expect(answer.body.warnings.join()).toMatch(/measure again/)
  })

  it('refuses a time that the cellar clock skips in spring, and takes the first of an hour that comes twice', async () => {
    const later = (await makeApp({ now: '2027-10-01T00:00:00Z' })).as('winemaker')
    const reading = (takenAtLocal: string) => ({ readings: [{ lot: 'L01', kind: 'temp', value: 14, takenAtLocal }] })
    // Pacific/Auckland, from the IANA zone data: 2027-09-26 02:00 goes to 03:00; 2027-04-04 03:00 goes back to 02:00.
    const gap = await later<ProblemBody>('POST', '/api/readings', reading('2027-09-26T02:30'))
    isNo(gap, 422, 'not-valid')
    expect(at(gap)).toEqual(['#/readings/0/takenAtLocal'])
    expect(gap.body.errors![0]!.detail).toMatch(/does not exist in Pacific\/Auckland/)
    const twice = await later<{ readings: { takenAt: string }[] }>('POST', '/api/readings', reading('2027-04-04T02:30'))
    expect(twice.body.readings[0]!.takenAt).toBe('2027-04-03T13:30:00Z')
    const pin = await later<ProblemBody>('POST', '/api/tasks/L01/press/1/pin', { startAtLocal: '2027-09-26T02:30' })
    expect(at(pin)).toEqual(['#/startAtLocal'])
  })

  it('refuses text that no database keeps', async () => {
    for (const name of ['a\u0000b', 'a\u0007b', '\ud800', 'two\nlines', '   ']) {
      const answer = await call<ProblemBody>('POST', '/api/protocols', { name, choices: CHOICES })
      isNo(answer, 422, 'not-valid')
      expect(at(answer)).toEqual(['#/name'])
    }
  })

  it('keeps a text in one form, however its accents were typed', async () => {
    const name = 'Ro\u0302ti cre\u0301mant'
    const answer = await call<{ name: string }>('POST', '/api/protocols', { name, choices: CHOICES })
    expect([answer.status, answer.body.name]).toEqual([201, 'R\u00f4ti cr\u00e9mant'])
  })

  it('refuses members it does not know, so that nothing is set by accident', async () => {
    const answer = await call<ProblemBody>('POST', '/api/people', {
      name: 'Cy',
      role: 'hand',
      cellarId: 'other',
      version: 7,
    })
    isNo(answer, 422, 'not-valid')
    expect(at(answer).sort()).toEqual(['#/cellarId', '#/version'])
  })
})

describe('conflicts', () => {
  // K-rule: malolactic "after" wants no early sulphur; the exact set is the protocol's business, a block is a block.
  const clash = {
    ...CHOICES,
    malolactic: 'after' as const,
    firstSo2: 'at-once' as const,
    filtration: 'none' as const,
    finish: 'bottling' as const,
    stirring: 'none' as const,
    endPoint: 'stop' as const,
    stopSugarGPerL: 40,
  }

  it('refuses answers that do not go together, naming each, until a winemaker signs a reason for each', async () => {
    const held = lot.choicesVersion
    const answer = await call<ProblemBody>('PUT', '/api/lots/L01/choices', { choices: clash, version: held })
    isNo(answer, 422, 'conflicts')
    const ids = answer.body.conflicts!.map((c) => c.id)
    expect(ids.length).toBeGreaterThan(0)
    expect(answer.body.errors!.every((e) => e.pointer.startsWith('#/choices/'))).toBe(true)
    const stored = (await call<{ lot: LotWire }>('GET', '/api/lots/L01')).body.lot
    expect(stored.choicesVersion).toBe(held)

    const part = ids.slice(1).map((conflict) => ({ conflict, reason: 'tried before' }))
    const partly = await call<ProblemBody>('PUT', '/api/lots/L01/choices', {
      choices: clash,
      signed: part,
      version: held,
    })
    isNo(partly, 422, 'conflicts')
    expect(partly.body.conflicts!.map((c) => c.id)).toEqual(ids.slice(0, 1))

    const signed = ids.map((conflict) => ({ conflict, reason: 'tried before' }))
    const saved = await call<{ lot: LotWire }>('PUT', '/api/lots/L01/choices', {
      choices: clash,
      signed,
      version: held,
    })
    expect(saved.status, saved.text).toBe(200)
    expect(saved.body.lot.choicesVersion).toBe(held + 1)
    expect(
      saved.body.lot.conflicts.filter((c) => c.level === 'block').every((c) => c.signedReason === 'tried before'),
    ).toBe(true)
    const back = await call('PUT', '/api/lots/L01/choices', { choices: CHOICES, version: held + 1 })
    expect(back.status, back.text).toBe(200)
  })

  it('says the same when answers are only checked, and stores nothing', async () => {
    const answer = await call<{ conflicts: { id: string; level: string }[]; dates: { at: string }[] }>(
      'POST',
      '/api/lots/check',
      {
        choices: clash,
        fruit: FRUIT,
        pickOn: '2027-03-25',
      },
    )
    expect(answer.status, answer.text).toBe(200)
    expect(answer.body.conflicts.some((c) => c.level === 'block')).toBe(true)
    expect(answer.body.dates.length).toBeGreaterThan(3)
    expect(await countLots()).toBe(1)
  })
})

describe('versions', () => {
  const body = { name: '', role: 'hand', skills: ['pump'] }

  it('asks which version is changed, in the body or in If-Match', async () => {
    isNo(await call<ProblemBody>('PUT', '/api/people/hand', { ...body, name: 'Di' }), 428, 'version-needed')
    isNo(
      await call<ProblemBody>('PUT', '/api/people/hand', { ...body, name: 'Di' }, { 'if-match': 'three' }),
      400,
      'not-valid',
    )
  })

  it('answers a stale change with the row as it is now: 409, or 412 to If-Match', async () => {
    const people = (await call<{ people: PersonWire[] }>('GET', '/api/people')).body.people
    const { version, name } = people.find((p) => p.id === 'hand')!
    const first = await call<{ person: PersonWire }>('PUT', '/api/people/hand', { ...body, name, version })
    expect(first.body.person.version).toBe(version + 1)
    const stale = await call<ProblemBody>('PUT', '/api/people/hand', { ...body, name, version })
    isNo(stale, 409, 'stale')
    expect(stale.body.current).toMatchObject({ id: 'hand', version: version + 1 })
    isNo(
      await call<ProblemBody>('PUT', '/api/people/hand', { ...body, name }, { 'if-match': `"${version}"` }),
      412,
      'stale',
    )
    const good = await call('PUT', '/api/people/hand', { ...body, name }, { 'if-match': `"${version + 1}"` })
    expect(good.status).toBe(200)
  })
})

describe('requests', () => {
  const raw = (path: string, init: RequestInit) => made.app.request(`${ORIGIN}${path}`, init)
  const cookie = () => ({ cookie: made.cookieOf('winemaker') })
  const problem = async (r: Response, status: number, type: string) => {
    const body = (await r.json()) as ProblemBody
    expect([r.status, r.headers.get('content-type'), body.type]).toEqual([status, 'application/problem+json', type])
    expect(r.headers.get('content-security-policy')).toMatch(/^default-src 'none'/)
    expect(r.headers.get('x-content-type-options')).toBe('nosniff')
    return body
  }

  it('refuses broken JSON, other media, too much, unknown addresses and methods', async () => {
    const headers = { ...cookie(), 'sec-fetch-site': 'same-origin', 'content-type': 'application/json' }
    await problem(await raw('/api/readings', { method: 'POST', headers, body: '{"readings":' }), 400, 'not-readable')
    const form = { ...headers, 'content-type': 'application/x-www-form-urlencoded' }
    await problem(await raw('/api/readings', { method: 'POST', headers: form, body: 'a=1' }), 415, 'wrong-media-type')
    const big = JSON.stringify({ readings: [], pad: 'x'.repeat(300_000) })
    await problem(await raw('/api/readings', { method: 'POST', headers, body: big }), 413, 'too-large')
    const nested = (depth: number) => `{"readings":${'['.repeat(depth)}${']'.repeat(depth)}}`
    await problem(await raw('/api/readings', { method: 'POST', headers, body: nested(50) }), 400, 'not-readable')
    await problem(await raw('/api/readings', { method: 'POST', headers, body: nested(49) }), 422, 'not-valid')
    await problem(await raw('/api/nowhere', { headers }), 404, 'not-found')
    const patch = await raw('/api/lots/L01', { method: 'PATCH', headers })
    expect(patch.headers.get('allow')?.split(', ').sort()).toEqual(['GET', 'PUT'])
    await problem(patch, 405, 'method-not-allowed')
  })

  it('does nothing for a page elsewhere', async () => {
    const json = { ...cookie(), 'content-type': 'application/json' }
    const body = JSON.stringify({ name: 'x', choices: CHOICES })
    const elsewhere: readonly Readonly<Record<string, string>>[] = [
      { 'sec-fetch-site': 'cross-site' },
      { 'sec-fetch-site': 'same-site' },
      { origin: 'http://evil.test' },
      { origin: 'null' },
      {},
    ]
    for (const from of elsewhere) {
      const headers = { ...json, ...from }
      await problem(await raw('/api/protocols', { method: 'POST', headers, body }), 403, 'cross-site')
    }
    const own = await raw('/api/protocols', { method: 'POST', headers: { ...json, origin: ORIGIN }, body })
    expect(own.status).toBe(201)
  })

  it('refuses a span that ends before it starts or is longer than two years', async () => {
    const span = (from: string, to: string) => call<ProblemBody>('GET', `/api/plan?from=${from}&to=${to}`)
    isNo(await span('2027-03-02T00:00:00Z', '2027-03-01T00:00:00Z'), 422, 'not-valid')
    isNo(await span('2027-03-02T00:00:00Z', '2030-03-01T00:00:00Z'), 422, 'not-valid')
    isNo(await call<ProblemBody>('GET', '/api/plan?from=yesterday'), 400, 'not-valid')
  })
})

describe('tasks', () => {
  const task = async (step: string) =>
    (await call<{ tasks: TaskWire[] }>('GET', '/api/tasks?lot=L01')).body.tasks.find(
      (t) => t.step === step && t.state !== 'done',
    )!

  it('needs what an act is about', async () => {
    const { key } = await task('press')
    expect(at((await call('POST', `/api/tasks/${key}/pin`, {})) as Answer<ProblemBody>)).toEqual(['#/startAt'])
    expect(at((await call('POST', `/api/tasks/${key}/assign`, {})) as Answer<ProblemBody>)).toEqual(['#/people'])
    expect(at((await call('POST', `/api/tasks/${key}/note`, {})) as Answer<ProblemBody>)).toEqual(['#/note'])
    isNo(await call<ProblemBody>('POST', `/api/tasks/${key}/unpin`, {}), 409, 'not-pinned')
    isNo(await call<ProblemBody>('POST', `/api/tasks/${key}/undo`, {}), 409, 'nothing-to-undo')
    isNo(await call<ProblemBody>('POST', '/api/tasks/L01/press/77/done', {}), 404, 'unknown-task')
  })

  it('is done once: a second tick gets the task as it is, and the same operation the same answer', async () => {
    const { key } = await task('press')
    const opId = crypto.randomUUID()
    const done = { opId, at: '2027-03-21T17:00:00Z' }
    expect((await call('POST', `/api/tasks/${key}/done`, done)).status).toBe(200)
    expect((await call('POST', `/api/tasks/${key}/done`, done)).status).toBe(200)
    const second = await call<ProblemBody>('POST', `/api/tasks/${key}/done`, {})
    isNo(second, 409, 'already-done')
    expect(second.body.current).toMatchObject({ key, state: 'done' })
    isNo(await call<ProblemBody>('POST', `/api/tasks/${key}/skip`, { opId, reason: 'x' }), 422, 'operation-used')
    const log = (await call('GET', '/api/export/log.csv')).text
    expect(log.split('\r\n').filter((l) => l.includes(key) && l.includes(',done,'))).toHaveLength(1)
  })

  it('is not done tomorrow', async () => {
    const { key } = await task('inoculate')
    const answer = await call<ProblemBody>('POST', `/api/tasks/${key}/done`, { at: '2027-03-25T00:00:00Z' })
    isNo(answer, 422, 'not-valid')
    expect(at(answer)).toEqual(['#/at'])
  })
})
