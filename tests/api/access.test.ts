import { beforeAll, describe, expect, it } from 'vitest'
import { ACCESS, unruled } from '../../api/access.ts'
import { ROLES, type Role } from '../../api/protocol/facts.ts'
import { type Made, makeApp, NOW } from './make.ts'

/** Written by hand, apart from the table it is held against: what each kind of person is for. */
const NOBODY_NEEDED = [
  'GET /healthz',
  'GET /readyz',
  'GET /api/openapi.json',
  'GET /feed/{file}',
  'GET /api/me',
  'POST /api/session',
  'DELETE /api/session',
  'POST /api/cellar',
]
const WORKS = [
  'POST /api/readings',
  ...['start', 'done', 'skip', 'undo', 'note', 'acknowledge'].map(
    (act) => `POST /api/tasks/{lot}/{step}/{count}/${act}`,
  ),
]
const READS = (operation: string) => operation.startsWith('GET ') && !operation.startsWith('GET /api/export')
const OWN = [
  'PUT /api/me/password',
  'POST /api/feeds',
  'PUT /api/feeds/{id}',
  'POST /api/feeds/{id}/renew',
  'DELETE /api/feeds/{id}',
  'POST /api/lots/check',
]

function expectedFor(operation: string): readonly Role[] {
  if (operation.startsWith('POST /api/calc/')) return ROLES
  if (READS(operation) || OWN.includes(operation)) return ROLES
  if (WORKS.includes(operation)) return ['owner', 'winemaker', 'hand', 'lab']
  return ['owner', 'winemaker']
}

let made: Made
let operations: readonly string[]

beforeAll(async () => {
  made = await makeApp()
  operations = [
    ...new Set(
      made.app.routes
        .filter((r) => r.method !== 'ALL')
        .map((r) => `${r.method} ${r.path.replaceAll(/:([A-Za-z]+)/g, '{$1}')}`),
    ),
  ]
})

const filled = (path: string) =>
  path
    .replace('{lot}/{step}/{count}', 'L01/press/1')
    .replace('{table}', 'lots')
    .replace('{as}', 'holidays')
    .replace('/export/{file}', '/export/lots.csv')
    .replace('{id}', 'nobody')

/** A request that is refused for its content at the latest, so that nothing is written by those who may. */
async function ask(operation: string, cookie: string | undefined): Promise<number> {
  const [method = '', path = ''] = operation.split(' ')
  const withBody = method === 'POST' || method === 'PUT'
  const csv = path.startsWith('/api/import')
  const response = await made.app.request(`http://cellar.test${filled(path)}`, {
    method,
    headers: {
      'sec-fetch-site': 'same-origin',
      ...(cookie ? { cookie } : {}),
      ...(withBody ? { 'content-type': csv ? 'text/csv' : 'application/json' } : {}),
    },
    ...(withBody ? { body: csv ? 'nothing' : '{"not":"known"}' } : {}),
  })
  await response.body?.cancel()
  return response.status
}

describe('who may call what', () => {
  it('has a rule for every route, and a route for every rule', () => {
    expect(unruled(made.app.routes)).toEqual({ withoutRule: [], withoutRoute: [] })
    expect(Object.keys(ACCESS).length).toBe(operations.length)
  })

  it('refuses a route without a rule at the start', () => {
    const routes = [...made.app.routes, { method: 'GET', path: '/api/forgotten' }]
    expect(unruled(routes).withoutRule).toEqual(['GET /api/forgotten'])
  })

  it('answers 401 to nobody and to a made-up session, wherever somebody is needed', async () => {
    const wrong: string[] = []
    for (const operation of operations.filter((o) => !NOBODY_NEEDED.includes(o))) {
      for (const cookie of [undefined, 'session=made-up', `session=${'A'.repeat(43)}`]) {
        const status = await ask(operation, cookie)
        if (status !== 401) wrong.push(`${operation} ${cookie ?? 'no cookie'}: ${status}`)
      }
    }
    expect(wrong).toEqual([])
  })

  it.each(ROLES)('lets the %s do what the role is for, and nothing else', async (role) => {
    const wrong: string[] = []
    for (const operation of operations.filter((o) => !NOBODY_NEEDED.includes(o))) {
      const status = await ask(operation, made.cookieOf(role))
      const may = expectedFor(operation).includes(role)
      if (may ? status === 401 || status === 403 || status >= 500 : status !== 403) {
        wrong.push(`${operation}: ${status}`)
      }
    }
    expect(wrong).toEqual([])
  })

  it('lets nobody in with a session that has run out', async () => {
    made.setNow('2027-05-01T00:00:00Z')
    expect(await ask('GET /api/lots', made.cookieOf('owner'))).toBe(401)
    made.setNow(NOW)
    expect(await ask('GET /api/lots', made.cookieOf('owner'))).toBe(200)
  })
})

describe('another cellar', () => {
  it('answers 404 to its ids, as to ids that are nowhere', async () => {
    const other = await makeApp({ lots: ['L02'] })
    const protocol = await other.as('owner')<{ id: string }>('POST', '/api/protocols', {
      name: 'theirs',
      choices: (await other.as('owner')<{ lots: { choices: object }[] }>('GET', '/api/lots')).body.lots[0]!.choices,
    })
    const feed = await other.as('owner')<{ feed: { id: string } }>('POST', '/api/feeds', { kind: 'cellar' })
    const mine = made.as('owner')
    const statuses = await Promise.all([
      mine('GET', '/api/lots/L02'),
      mine('GET', '/api/readings?lot=L02'),
      mine('DELETE', `/api/protocols/${protocol.body.id}`),
      mine('DELETE', `/api/feeds/${feed.body.feed.id}`),
    ])
    expect(statuses.map((s) => s.status)).toEqual([404, 404, 404, 404])
    expect((await other.as('owner')('GET', '/api/lots/L02')).status).toBe(200)
  })

  it('does not take a session of one cellar for another', async () => {
    const other = await makeApp({ lots: ['L02'] })
    const response = await made.app.request('http://cellar.test/api/lots', {
      headers: { cookie: other.cookieOf('owner') },
    })
    const { lots } = (await response.json()) as { lots: { code: string }[] }
    expect(lots.map((l) => l.code)).toEqual(['L02'])
  })
})
