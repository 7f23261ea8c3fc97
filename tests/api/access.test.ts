import { beforeAll, describe, expect, it } from 'vitest'
import { ACCESS, unruled } from '../../api/access.ts'
import { makeLink, startSession } from '../../api/auth.ts'
import { ROLES, type Role } from '../../api/protocol/facts.ts'
import { Temporal } from '../../api/time.ts'
import { addProposal } from '../../db/queries/proposals.ts'
import { recordAdditions } from '../../db/queries/records.ts'
import { type ApiDocument, exampleOf, filledPath, type Operation, operationsOf } from '../helpers/operations.ts'
import { caller, type Made, makeApp, NOW } from './make.ts'

/**
 * Written by hand, apart from the table it is held against: what each kind of person is for. An operation that fits none
 * of the lists is for owners and winemakers alone, a reading one for everybody.
 */
const NOBODY_NEEDED = [
  'GET /healthz',
  'GET /readyz',
  'GET /api/openapi.json',
  'GET /feed/{file}',
  'GET /api/me',
  'POST /api/session',
  'POST /api/session/second',
  'DELETE /api/session',
  'POST /api/device/switch',
  'POST /api/cellar',
]
/** Work that whoever stands in the cellar tells of. */
const WORKS = [
  'POST /api/readings',
  'POST /api/ledger/movements',
  'POST /api/photos',
  'POST /api/troubles',
  'POST /api/handovers',
  'POST /api/handovers/{id}/read',
  ...['start', 'done', 'skip', 'undo', 'note', 'acknowledge', 'caution'].map(
    (act) => `POST /api/tasks/{lot}/{step}/{count}/${act}`,
  ),
]
/** What leaves the cellar as a whole, and who may come in. */
const LEADS_READ = ['GET /api/export', 'GET /api/invitations', 'GET /api/record']
const OWNERS_ALONE = ['POST /api/cellars', 'DELETE /api/people/{id}/second-step']
/** One's own: password, language, devices, feeds; sums that store nothing; what a phone kept, each of which is asked for by itself. */
const OWN = [' /api/operations', ' /api/me/', ' /api/device', ' /api/feeds', ' /api/calc/', 'POST /api/lots/check']

function expectedFor(operation: string): readonly Role[] {
  if (OWNERS_ALONE.includes(operation)) return ['owner']
  if (LEADS_READ.some((start) => operation.startsWith(start))) return ['owner', 'winemaker']
  if (operation.startsWith('GET ') || OWN.some((part) => operation.includes(part))) return ROLES
  if (WORKS.includes(operation)) return ['owner', 'winemaker', 'hand', 'lab']
  return ['owner', 'winemaker']
}

let made: Made
let doc: ApiDocument
let operations: readonly Operation[]
const nowAt = Temporal.Instant.from(NOW)

beforeAll(async () => {
  made = await makeApp()
  doc = (await made.as(null)<ApiDocument>('GET', '/api/openapi.json')).body
  operations = operationsOf(doc)
})

const needing = () => operations.filter((o) => !NOBODY_NEEDED.includes(o.name))

/** A session of its own for each question: some operations end the one that asks. */
const enter = async (cellarId: string, role: Role, at = nowAt) =>
  `session=${(await startSession(made.db, { cellarId, id: role }, 'test', at)).secret}`

/** A request that is refused for its content at the latest, so that nothing is written by those who may. */
async function ask(op: Operation, cookie: string | undefined): Promise<number> {
  const withBody = op.method === 'POST' || op.method === 'PUT'
  const csv = op.media.length > 0 && !op.media.includes('application/json')
  const response = await made.app.request(
    `http://cellar.test${filledPath(doc, op, { id: 'nobody', lot: 'L01', step: 'press', count: '1' })}`,
    {
      method: op.method,
      headers: {
        'sec-fetch-site': 'same-origin',
        ...(cookie ? { cookie } : {}),
        ...(withBody ? { 'content-type': csv ? op.media[0]! : 'application/json' } : {}),
      },
      ...(withBody ? { body: csv ? 'nothing' : '{"not":"known"}' } : {}),
    },
  )
  await response.body?.cancel()
  return response.status
}

describe('who may call what', () => {
  it('has a rule for every route, and a route for every rule', () => {
    expect(unruled(made.app.routes)).toEqual({ withoutRule: [], withoutRoute: [] })
    const routed = new Set(
      made.app.routes
        .filter((r) => r.method !== 'ALL')
        .map((r) => `${r.method} ${r.path.replaceAll(/:([A-Za-z]+)(\{[^}]*\})?/g, '{$1}')}`),
    )
    expect([...routed].sort()).toEqual(operations.map((o) => o.name).sort())
    expect(Object.keys(ACCESS).length).toBe(operations.length)
  })

  it('refuses a route without a rule at the start', () => {
    const routes = [...made.app.routes, { method: 'GET', path: '/api/forgotten' }]
    expect(unruled(routes).withoutRule).toEqual(['GET /api/forgotten'])
  })

  it('says in the document whom it lets in', () => {
    const wrong = operations.filter((o) => {
      const roles = NOBODY_NEEDED.includes(o.name) ? ['public'] : expectedFor(o.name)
      return roles.join() !== o.roles.join()
    })
    expect(wrong.map((o) => `${o.name}: ${o.roles}`)).toEqual([])
  })

  it('answers 401 to nobody, to a made-up session and to one that ended, wherever somebody is needed', async () => {
    const wrong: string[] = []
    const ended = await enter(made.cellarId, 'owner', nowAt.subtract({ hours: 24 * 31 }))
    const cookies = [undefined, 'session=made-up', `session=${'A'.repeat(43)}`, ended]
    for (const operation of needing()) {
      for (const cookie of cookies) {
        const status = await ask(operation, cookie)
        if (status !== 401) wrong.push(`${operation.name} ${cookie ?? 'no cookie'}: ${status}`)
      }
    }
    expect(wrong).toEqual([])
  })

  it.each(ROLES)('lets the %s do what the role is for, and nothing else', { timeout: 180_000 }, async (role) => {
    const wrong: string[] = []
    for (const operation of needing()) {
      const status = await ask(operation, await enter(made.cellarId, role))
      const may = expectedFor(operation.name).includes(role)
      if (may ? status === 401 || status === 403 || status >= 500 : status !== 403) {
        wrong.push(`${operation.name}: ${status}`)
      }
    }
    expect(wrong).toEqual([])
  })

  it('lets nobody in with a session that has run out', async () => {
    const mine = caller(made.app, await enter(made.cellarId, 'owner'))
    made.setNow('2027-05-01T00:00:00Z')
    expect((await mine('GET', '/api/lots')).status).toBe(401)
    made.setNow(NOW)
    expect((await mine('GET', '/api/lots')).status).toBe(200)
  })
})

describe('another cellar', () => {
  /** The ids are the same words in every invented cellar; these are to be found in the other one alone. */
  const MARK = 'theirs'
  /** No row of a cellar stands behind these. */
  const NO_ROW = [
    'GET /feed/{file}',
    'GET /api/export/{file}',
    'POST /api/import/{table}',
    'POST /api/import/calendar/{as}',
    // A name of a question or a register, not of a row.
    'GET /api/answers/{question}',
    'GET /api/ledger/registers/{name}',
    'GET /api/ledger/registers/{name}/csv',
    // Passkeys belong to accounts; somebody else's is tried in the tests of passkeys.
    'POST /api/me/passkeys/{id}/remove',
  ]

  /** A picture of one dot, PNG. */
  const PHOTO = 'iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNkYPhfDwAChwGA60e6kgAAAABJRU5ErkJggg=='

  /** Where the document's example names a row that both cellars have. */
  const OTHERS: Readonly<Record<string, object>> = {
    '/api/vessels': { code: 'Z90' },
    '/api/machines': { code: 'Z91' },
    '/api/troubles': { id: crypto.randomUUID() },
    '/api/handovers': { id: crypto.randomUUID() },
    '/api/photos': { id: crypto.randomUUID(), base64: PHOTO, takenAt: NOW },
  }

  let other: Made
  /** Behind each address, as they are found or made. */
  const ids: Record<string, string> = {}

  beforeAll(async () => {
    other = await makeApp({ lots: ['L01', 'L02'] })
    const call = other.as('owner')
    const person = await call<{ person: { id: string } }>('POST', '/api/people', { name: MARK, role: 'hand' })
    const link = await call('POST', `/api/people/${person.body.person.id}/link`, {})
    expect(link.status).toBe(201)
    await makeLink(other.db, other.cellarId, person.body.person.id, nowAt)
    await startSession(other.db, { cellarId: other.cellarId, id: person.body.person.id }, MARK, nowAt)
    const proposal = { id: crypto.randomUUID(), madeAt: nowAt, because: MARK, moves: [], state: 'open' } as const
    await addProposal(other.db, other.cellarId, proposal)
    ids['/api/people'] = person.body.person.id
    ids['/api/proposals'] = proposal.id
    // A vessel and a lot that only the other cellar has.
    const vessel = exampleOf(doc, operations.find((o) => o.name === 'POST /api/vessels')!.body) as object
    ids['/api/ledger/vessels'] = idIn((await call('POST', '/api/vessels', { ...vessel, code: 'Z89' })).body)!
    ids['/api/ledger/lots'] = 'L02'
    const addition = {
      id: crypto.randomUUID(),
      lotId: 'L02',
      product: MARK,
      amount: 90,
      unit: 'g',
      treatedL: 1_000,
      addedAt: nowAt,
      personId: 'hand',
    } as const
    await recordAdditions(other.db, other.cellarId, [addition], nowAt)
    ids['/api/ledger/additions'] = addition.id
  }, 120_000)

  /** The id of a row of the other cellar behind an address: the last that is listed there, or one that is made. */
  async function foreignId(prefix: string): Promise<string | undefined> {
    const known = ids[prefix]
    if (known) return known
    const call = other.as('owner')
    const maker = operations.find((o) => o.name === `POST ${prefix}`)
    const made =
      maker?.body && (await call('POST', prefix, { ...(exampleOf(doc, maker.body) as object), ...OTHERS[prefix] }))
    if (made && made.status >= 300) throw new Error(`POST ${prefix}: ${made.status} ${made.text.slice(0, 300)}`)
    const found = (made && idIn(made.body)) ?? idIn((await call('GET', prefix)).body)
    if (found) ids[prefix] = found
    return found
  }

  function idIn(body: unknown): string | undefined {
    if (typeof body !== 'object' || body === null) return undefined
    if ('id' in body && typeof body.id === 'string') return body.id
    return Object.values(body)
      .map((value) => idIn(Array.isArray(value) ? value.at(-1) : value))
      .find((found) => found !== undefined)
  }

  const withRow = () => operations.filter((o) => o.path.includes('{') && !NO_ROW.includes(o.name))

  it('answers 404 to each of its ids, in every operation that takes one, and keeps its rows as they are', {
    timeout: 180_000,
  }, async () => {
    const before = (await other.as('owner')('GET', '/api/export.json')).text
    const wrong: string[] = []
    for (const operation of withRow()) {
      const prefix = operation.path.slice(0, operation.path.indexOf('/{'))
      const isTask = operation.path.includes('{lot}/{step}/{count}')
      const id = isTask ? 'L02' : await foreignId(prefix)
      if (id === undefined) {
        wrong.push(`${operation.name}: no row of the other cellar to ask for`)
        continue
      }
      const path = filledPath(doc, operation, isTask ? { lot: 'L02', step: 'press', count: '1' } : { id })
      // A made-up id of the request's own, so that it is the address that is refused.
      const example = operation.body && { ...(exampleOf(doc, operation.body) as object) }
      const asked = example && 'opId' in example ? { ...example, opId: crypto.randomUUID() } : example
      const mine = caller(made.app, await enter(made.cellarId, 'owner'))
      const answer = await mine(operation.method, path, asked, { 'if-match': '"1"' })
      if (answer.status !== 404) wrong.push(`${operation.name} ${id}: ${answer.status} ${answer.text.slice(0, 160)}`)
    }
    expect(wrong).toEqual([])
    expect(withRow().length).toBeGreaterThan(30)
    const after = (await other.as('owner')('GET', '/api/export.json')).text
    // What the question itself made there, to have something to ask for, is all that is new.
    expect(after.length).toBeGreaterThanOrEqual(before.length)
    for (const table of ['lots', 'tasks', 'people', 'vessels'] as const) {
      const rows = (text: string) => JSON.stringify((JSON.parse(text) as Record<string, unknown>)[table])
      expect(rows(after).length, table).toBeGreaterThanOrEqual(rows(before).length)
    }
  })

  it('does not take a session of one cellar for another', async () => {
    const response = await made.app.request('http://cellar.test/api/lots', {
      headers: { cookie: other.cookieOf('owner') },
    })
    const { lots } = (await response.json()) as { lots: { code: string }[] }
    expect(lots.map((l) => l.code)).toContain('L02')
  })
})
