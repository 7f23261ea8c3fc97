import { getTableName } from 'drizzle-orm'
import { beforeAll, describe, expect, it } from 'vitest'
import { createApp } from '../../api/app.ts'
import { makeLink } from '../../api/auth.ts'
import { createChanges } from '../../api/changes.ts'
import { createLog } from '../../api/log.ts'
import { hashOf } from '../../api/secrets.ts'
import { Temporal } from '../../api/time.ts'
import type { Db } from '../../db/types.ts'
import { CHOICES, caller, type Made, makeApp, NOW, ORIGIN, type ProblemBody } from './make.ts'

let made: Made
const nowAt = Temporal.Instant.from(NOW)

beforeAll(async () => {
  made = await makeApp()
})

const cookieIn = (headers: Headers, name = 'session') =>
  headers
    .getSetCookie()
    .find((c) => c.startsWith(`${name}=`))
    ?.split(';')[0]

describe('a one-time link', () => {
  it('signs in once, within a day', async () => {
    const secret = await makeLink(made.db, made.cellarId, 'hand', nowAt)
    const nobody = made.as(null)
    const first = await nobody('POST', '/api/session', { link: secret })
    expect(first.status).toBe(200)
    expect(first.body).toMatchObject({ person: { id: 'hand', role: 'hand' } })
    expect((await nobody<ProblemBody>('POST', '/api/session', { link: secret })).body.type).toBe('link-spent')

    const late = await makeLink(made.db, made.cellarId, 'hand', nowAt)
    made.setNow('2027-03-22T18:00:01Z')
    expect((await nobody('POST', '/api/session', { link: late })).status).toBe(401)
    made.setNow(NOW)
  })

  it('comes from a winemaker for a hand, never for an owner', async () => {
    const link = await made.as('winemaker')<{ link: string }>('POST', '/api/people/hand/link')
    expect(link.status).toBe(201)
    const secret = new URL(link.body.link).searchParams.get('token')!
    expect((await made.as(null)('POST', '/api/session', { link: secret })).status).toBe(200)
    expect((await made.as('winemaker')('POST', '/api/people/owner/link')).status).toBe(403)
    expect((await made.as('owner')('POST', '/api/people/owner/link')).status).toBe(201)
  })
})

describe('the session cookie', () => {
  it('is out of reach of scripts and other sites', async () => {
    const secret = await makeLink(made.db, made.cellarId, 'lab', nowAt)
    const { headers } = await made.as(null)('POST', '/api/session', { link: secret })
    expect(headers.getSetCookie()[0]).toMatch(/^session=[A-Za-z0-9_-]{43}; .*HttpOnly.*SameSite=Lax/)
  })

  it('is bound to the host over https', async () => {
    const app = createApp({
      db: made.db,
      now: () => nowAt,
      changes: createChanges(),
      baseUrl: 'https://cellar.example',
    })
    const secret = await makeLink(made.db, made.cellarId, 'lab', nowAt)
    const { headers } = await caller(app)('POST', '/api/session', { link: secret })
    expect(headers.getSetCookie()[0]).toMatch(/^__Host-session=.*Path=\/; HttpOnly; Secure; SameSite=Lax/)
    expect(headers.get('strict-transport-security')).toBe('max-age=31536000; includeSubDomains')
    const cookie = cookieIn(headers, '__Host-session')!
    expect((await caller(app, cookie)('GET', '/api/lots')).status).toBe(200)
  })

  it('ends at sign-out, after a week without use, and with a new role', async () => {
    const enter = async (person: string) => {
      const secret = await makeLink(made.db, made.cellarId, person, nowAt)
      return cookieIn((await made.as(null)('POST', '/api/session', { link: secret })).headers)!
    }
    const out = await enter('viewer')
    expect((await caller(made.app, out)('DELETE', '/api/session')).status).toBe(204)
    expect((await caller(made.app, out)('GET', '/api/lots')).status).toBe(401)

    const idle = await enter('viewer')
    made.setNow('2027-03-28T18:00:01Z')
    expect((await caller(made.app, idle)('GET', '/api/lots')).status).toBe(401)
    made.setNow(NOW)

    const before = await enter('lab')
    const people = await made.as('owner')<{ people: { id: string; name: string; version: number }[] }>(
      'GET',
      '/api/people',
    )
    const { name, version } = people.body.people.find((p) => p.id === 'lab')!
    expect((await made.as('owner')('PUT', '/api/people/lab', { name, role: 'viewer', version })).status).toBe(200)
    expect((await caller(made.app, before)('GET', '/api/lots')).status).toBe(401)
  })
})

describe('signing out', () => {
  const leave = async (path: string) => {
    const link = await makeLink(made.db, made.cellarId, 'hand', nowAt)
    const cookie = cookieIn((await made.as(null)('POST', '/api/session', { link })).headers)!
    return caller(made.app, cookie)('DELETE', path)
  }

  it('removes all that the device keeps, cookies of a shared phone aside, where nothing waits on it', async () => {
    const out = await leave('/api/session?clear=true')
    expect(out.status).toBe(204)
    // W3C Clear Site Data, 2017: a list of kinds, each in quotes.
    expect(out.headers.get('clear-site-data')).toBe('"storage"')
  })

  it('removes nothing where something waits, or where nobody says that nothing does', async () => {
    for (const path of ['/api/session?clear=false', '/api/session']) {
      const out = await leave(path)
      expect([path, out.status, out.headers.get('clear-site-data')]).toEqual([path, 204, null])
    }
  })
})

describe('a password', () => {
  it('is set by oneself, signs in, and needs the old one to be changed', async () => {
    const hand = made.as('hand')
    const next = 'press lees at dawn'
    const set = await hand('PUT', '/api/me/password', { next })
    expect(set.status, set.text).toBe(204)
    expect((await hand('GET', '/api/lots')).status).toBe(401)
    const name = `hand ${made.cellarId}`
    const signedIn = await made.as(null)('POST', '/api/session', { name, password: next })
    expect(signedIn.body).toMatchObject({ person: { id: 'hand', hasPassword: true } })
    const mine = caller(made.app, cookieIn(signedIn.headers))
    const wrong = await mine<ProblemBody>('PUT', '/api/me/password', {
      current: 'not it at all',
      next: 'another good one',
    })
    expect(wrong.body.errors).toEqual([{ pointer: '#/current', detail: 'is not your password' }])
    expect((await mine('PUT', '/api/me/password', { current: next, next: 'another good one' })).status).toBe(204)
  })

  it.each([
    ['short', 'too short', /15 signs or more/],
    ['common', 'password123', /first that are tried/],
    ['one sign over and over', 'aaaaaaaaaaaa', /repeats/],
  ])('is refused when it is %s', async (_why, next, words) => {
    const answer = await made.as('owner')<ProblemBody>('PUT', '/api/me/password', { next })
    expect(answer.status).toBe(422)
    expect(answer.body.errors![0]).toMatchObject({ pointer: '#/next', detail: expect.stringMatching(words) })
  })

  it('answers an unknown name as a wrong password', async () => {
    const ask = (name: string) =>
      made.as(null)<ProblemBody>('POST', '/api/session', { name, password: 'not the password' })
    const [known, unknown] = [await ask(`hand ${made.cellarId}`), await ask('nobody of this name')]
    const { instance: _a, ...one } = known.body as ProblemBody & { instance: string }
    const { instance: _b, ...two } = unknown.body as ProblemBody & { instance: string }
    expect(one).toEqual(two)
    expect(known.status).toBe(401)
  })

  it('lets nobody guess for long, and says how long to wait', async () => {
    const name = `guessed ${made.cellarId}`
    const statuses: number[] = []
    let last = await made.as(null)('POST', '/api/session', { name, password: 'guess 0' })
    for (let i = 1; i < 8; i++) {
      statuses.push(last.status)
      last = await made.as(null)('POST', '/api/session', { name, password: `guess ${i}` })
    }
    expect(statuses.slice(0, 5)).toEqual([401, 401, 401, 401, 401])
    expect(last.status).toBe(429)
    expect(Number(last.headers.get('retry-after'))).toBeGreaterThan(0)
  })
})

it('writes no secret and no word of anybody into the log, whatever happens', async () => {
  let all = ''
  const log = createLog('trace', {
    write: (line) => {
      all += line
    },
  })
  const failing = guardedBy(made.db, 'protocol')
  const app = createApp({ db: failing, now: () => nowAt, changes: createChanges(), baseUrl: ORIGIN, log })
  const secret = await makeLink(made.db, made.cellarId, 'winemaker', nowAt)
  const entered = await caller(app)('POST', '/api/session', { link: secret })
  const cookie = cookieIn(entered.headers)!
  const mine = caller(app, cookie)
  const feed = await mine<{ url: string }>('POST', '/api/feeds', { kind: 'cellar' })
  const token = /feed\/(.+)\.ics/.exec(feed.body.url)![1]!
  await mine('GET', `/feed/${token}.ics`)
  await mine('GET', `/welcome?token=${secret}`)
  await caller(app)('POST', '/api/session', { name: 'sentinel-name', password: 'sentinel of a wrong try' })
  await mine('POST', '/api/readings', { readings: 'sentinel in a body that does not fit' })
  // A query that fails for no known reason: what it was asked with stays out, what the database said does not.
  const broken = await mine('POST', '/api/protocols', { name: 'sentinel of a broken query', choices: CHOICES })
  expect(broken.status).toBe(500)
  // It ends this session, so it comes last.
  const changed = await mine('PUT', '/api/me/password', { next: 'sentinel of the log test' })
  expect(changed.status, changed.text).toBeLessThan(300)
  const lines = all
    .trim()
    .split('\n')
    .map((line) => JSON.parse(line) as Record<string, unknown>)
  expect(lines.length).toBeGreaterThan(8)
  expect(lines.map((l) => l.path)).toContain('/feed/***')
  expect(lines.find((l) => l.msg === 'broke')).toMatchObject({ code: 'XX000', error: 'Error: the page is torn' })
  const hashes = [secret, token, cookie.split('=')[1]!].map(hashOf)
  for (const hidden of [secret, token, cookie.split('=')[1]!, 'sentinel', ...hashes]) expect(all).not.toContain(hidden)
})

/** The same database, but nothing goes into one table. As the query builder tells it: with all its values. */
function guardedBy(db: Db, table: string): Db {
  const torn = (values: unknown) =>
    new Error(`Failed query: insert into ${table}\nparams: ${JSON.stringify(values)}`, {
      cause: Object.assign(new Error('the page is torn'), { code: 'XX000' }),
    })
  const insert = (into: object) => {
    if (getTableName(into as never) !== table) return db.insert(into as never)
    return { values: (v: unknown) => ({ onConflictDoNothing: () => ({ returning: () => Promise.reject(torn(v)) }) }) }
  }
  return new Proxy(db, {
    get: (target, key) => {
      if (key === 'insert') return insert
      if (key === 'transaction')
        return (work: (tx: Db) => unknown) => target.transaction(async (tx) => work(guardedBy(tx, table)) as never)
      const value: unknown = Reflect.get(target, key, target)
      return typeof value === 'function' ? value.bind(target) : value
    },
  })
}
