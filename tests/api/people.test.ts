import { beforeAll, describe, expect, it } from 'vitest'
import { makeLink } from '../../api/auth.ts'
import { Temporal } from '../../api/time.ts'
import { type Call, caller, type Made, makeApp, NOW, ORIGIN, type ProblemBody } from './make.ts'

let made: Made
let owner: Call
let winemaker: Call
const nowAt = Temporal.Instant.from(NOW)
const PASSWORD = 'thirty casks behind the door'

beforeAll(async () => {
  made = await makeApp()
  owner = made.as('owner')
  winemaker = made.as('winemaker')
}, 120_000)

/** A browser: keeps its cookies as one does. */
function browser(app = made.app): Call & { readonly cookies: Map<string, string> } {
  const cookies = new Map<string, string>()
  const call: Call = async (method, path, body, headers = {}) => {
    const cookie = [...cookies].map(([name, value]) => `${name}=${value}`).join('; ')
    const answer = await caller(app, cookie || undefined)(method, path, body, headers)
    for (const set of answer.headers.getSetCookie()) {
      const [name = '', value = ''] = set.split(';')[0]!.split('=')
      if (value === '') cookies.delete(name)
      else cookies.set(name, value)
    }
    return answer as never
  }
  return Object.assign(call, { cookies })
}

const secretIn = (link: string) => new URL(link).searchParams.get('token')!

async function add(name: string, role = 'hand', by: Call = owner) {
  const answer = await by<{ person: { id: string; version: number } }>('POST', '/api/people', {
    name: `${name} ${made.cellarId}`,
    role,
  })
  expect(answer.status, answer.text).toBe(201)
  return answer.body.person
}

async function invited(id: string, by: Call = winemaker): Promise<ReturnType<typeof browser>> {
  const { body } = await by<{ link: string }>('POST', `/api/people/${id}/link`, {})
  const phone = browser()
  expect((await phone('POST', '/api/session', { link: secretIn(body.link) })).status).toBe(200)
  return phone
}

interface Me {
  readonly person: { readonly id: string; readonly proof: string; readonly signInName?: string } | null
  readonly cellar: { readonly id: string } | null
  readonly cellars: readonly { readonly id: string }[]
  readonly locked: boolean
  readonly device: {
    readonly mine: boolean
    readonly seats: readonly { readonly id: string; readonly name: string }[]
  } | null
}

describe('an invitation', () => {
  it('is listed until it is used, names who made it, works for an hour, and once', async () => {
    const { id } = await add('Fay')
    const made1 = await winemaker<{ link: string; expiresAt: string }>('POST', `/api/people/${id}/link`, {})
    expect(made1.body.expiresAt).toBe(nowAt.add({ hours: 1 }).toString())
    const open = async () =>
      (await winemaker<{ invitations: { id: string; personId: string; madeBy: string }[] }>('GET', '/api/invitations'))
        .body.invitations
    expect((await open()).filter((i) => i.personId === id)).toMatchObject([{ personId: id, madeBy: 'winemaker' }])
    expect(JSON.stringify(await open())).not.toContain(secretIn(made1.body.link))
    const phone = browser()
    expect((await phone('POST', '/api/session', { link: secretIn(made1.body.link) })).status).toBe(200)
    expect((await open()).filter((i) => i.personId === id)).toEqual([])
    const again = await browser()<ProblemBody>('POST', '/api/session', { link: secretIn(made1.body.link) })
    expect(again.body.type).toBe('link-spent')
  })

  it('is dead once it is revoked, and by itself after its hour', async () => {
    const { id } = await add('Gil')
    const link = async (hours?: number) =>
      secretIn((await winemaker<{ link: string }>('POST', `/api/people/${id}/link`, hours ? { hours } : {})).body.link)
    const revoked = await link()
    const [open] = (await winemaker<{ invitations: { id: string }[] }>('GET', '/api/invitations')).body.invitations
    expect((await winemaker('DELETE', `/api/invitations/${open!.id}`)).status).toBe(204)
    expect((await winemaker('DELETE', `/api/invitations/${open!.id}`)).status).toBe(404)
    expect((await browser()('POST', '/api/session', { link: revoked })).status).toBe(401)
    const [short, long] = [await link(), await link(24)]
    made.setNow('2027-03-21T19:00:01Z')
    expect((await browser()('POST', '/api/session', { link: short })).status).toBe(401)
    expect((await browser()('POST', '/api/session', { link: long })).status).toBe(200)
    made.setNow(NOW)
    expect((await winemaker('POST', `/api/people/${id}/link`, { hours: 25 })).status).toBe(422)
  })
})

describe('somebody who leaves', () => {
  it('is signed out at once, signs in no more, gets no work, and stays in the list for what they did', async () => {
    const person = await add('Hal')
    const phone = await invited(person.id)
    const waiting = await winemaker<{ link: string }>('POST', `/api/people/${person.id}/link`, {})
    const feed = await phone<{ url: string }>('POST', '/api/feeds', { kind: 'cellar' })
    expect((await phone('PUT', '/api/me/password', { next: PASSWORD })).status).toBe(204)
    const gone = await winemaker<{ person: { removedAt: string; untilOn: string } }>(
      'POST',
      `/api/people/${person.id}/remove`,
      { version: person.version },
    )
    expect(gone.status, gone.text).toBe(200)
    // The cellar's day at that moment is 22 March in Auckland.
    expect(gone.body.person).toMatchObject({ removedAt: NOW, untilOn: '2027-03-21' })
    expect((await phone('GET', '/api/lots')).status).toBe(401)
    expect((await browser()('POST', '/api/session', { link: secretIn(waiting.body.link) })).status).toBe(401)
    const name = `Hal ${made.cellarId}`
    expect((await browser()('POST', '/api/session', { name, password: PASSWORD })).status).toBe(401)
    expect((await made.as(null)('GET', new URL(feed.body.url).pathname)).status).toBe(404)
    const { people } = (await owner<{ people: { id: string }[] }>('GET', '/api/people')).body
    expect(people.map((p) => p.id)).toContain(person.id)
    expect((await winemaker<ProblemBody>('POST', `/api/people/${person.id}/link`, {})).body.type).toBe('removed')

    const version = person.version + 1
    expect((await winemaker('POST', `/api/people/${person.id}/return`, { version: person.version })).status).toBe(409)
    expect((await winemaker('POST', `/api/people/${person.id}/return`, { version })).status).toBe(200)
    expect((await browser()('POST', '/api/session', { name, password: PASSWORD })).status).toBe(200)
  })

  it('is never oneself, nor the last owner, nor an owner at a winemaker’s wish', async () => {
    expect((await winemaker('POST', '/api/people/winemaker/remove', { version: 1 })).status).toBe(422)
    expect((await winemaker('POST', '/api/people/owner/remove', { version: 1 })).status).toBe(403)
    expect((await owner('POST', '/api/people/owner/remove', { version: 1 })).status).toBe(422)
    expect((await winemaker('POST', '/api/people/viewer/remove', {})).status).toBe(428)
    expect((await winemaker('POST', '/api/people/viewer/remove', { version: 9 })).status).toBe(409)
  })
})

describe('sessions', () => {
  it('are listed with what they are, ended one by one, and all but the one that asks', async () => {
    const { id } = await add('Ina')
    const [one, two, three] = [await invited(id), await invited(id), await invited(id)]
    const list = async (call: Call) =>
      (await call<{ sessions: { id: string; here: boolean; proof: string }[] }>('GET', '/api/me/sessions')).body
        .sessions
    const mine = await list(one)
    expect(mine).toHaveLength(3)
    expect(mine.filter((s) => s.here)).toHaveLength(1)
    expect(mine.every((s) => s.proof === 'link')).toBe(true)
    const second = (await list(two)).find((s) => s.here)!
    expect((await one('DELETE', `/api/me/sessions/${second.id}`)).status).toBe(204)
    expect((await two('GET', '/api/lots')).status).toBe(401)
    expect((await one('DELETE', '/api/me/sessions')).status).toBe(204)
    expect((await three('GET', '/api/lots')).status).toBe(401)
    expect((await one('GET', '/api/lots')).status).toBe(200)
    expect((await winemaker('DELETE', `/api/people/${id}/sessions`)).status).toBe(204)
    expect((await one('GET', '/api/lots')).status).toBe(401)
  })

  it('of somebody else cannot be ended by their id', async () => {
    const [a, b] = [await invited((await add('Jo')).id), await invited((await add('Kay')).id)]
    const { sessions } = (await b<{ sessions: { id: string }[] }>('GET', '/api/me/sessions')).body
    expect((await a('DELETE', `/api/me/sessions/${sessions[0]!.id}`)).status).toBe(404)
    expect((await b('GET', '/api/lots')).status).toBe(200)
  })
})

describe('a password', () => {
  it('ends every other session, and nobody finds out by time or answer which names there are', async () => {
    const { id } = await add('Lou')
    const [here, there] = [await invited(id), await invited(id)]
    expect((await here('PUT', '/api/me/password', { next: PASSWORD })).status).toBe(204)
    expect((await here('GET', '/api/lots')).status).toBe(200)
    expect((await there('GET', '/api/lots')).status).toBe(401)
  })

  it.each([
    ['cellar and name', (name: string) => `${name}${name}${name}`, /first that are tried|your name/],
    ['digits in a row', () => '123456789012345678', /first that are tried/],
    ['a run of keys', () => 'qwertyuiopasdfghjkl', /first that are tried/],
    ['three common words', () => 'WinemakerPassword2027!', /first that are tried/],
    ['one word over and over', () => 'welcomewelcomewelcome', /first that are tried/],
    ['letters put as digits', () => 'P4ssw0rdP4ssw0rd', /first that are tried/],
    ['fourteen signs', () => 'green barn 714', /15 signs or more/],
    ['more than can be checked', () => 'x y'.repeat(70), /200 signs at most/],
  ])('of %s is refused, with the reason', async (_what, next, words) => {
    const { id } = await add(`M${Math.floor(performance.now() * 1000)}`)
    const phone = await invited(id)
    const { person } = (await phone<{ person: { name: string } }>('GET', '/api/me')).body
    const answer = await phone<ProblemBody>('PUT', '/api/me/password', { next: next(person.name) })
    expect(answer.status).toBe(422)
    expect(answer.body.errors![0]).toMatchObject({ pointer: '#/next', detail: expect.stringMatching(words) })
  })

  it('may be a long sentence in any script, with spaces', async () => {
    const phone = await invited((await add('Nia')).id)
    let current: string | undefined
    for (const next of ['Vier Fässer hinter der Tür', '酒窖里有四个木桶和一只猫在睡觉呢', 'siete botas y 1 manguera']) {
      const answer = await phone('PUT', '/api/me/password', { next, ...(current ? { current } : {}) })
      expect(answer.status, answer.text).toBe(204)
      current = next
    }
  })
})

describe('tries', () => {
  const tryIt = (address: string, name: string, password: string) =>
    made.app.request(
      `${ORIGIN}/api/session`,
      {
        method: 'POST',
        headers: { 'sec-fetch-site': 'same-origin', 'content-type': 'application/json' },
        body: JSON.stringify({ name, password }),
      },
      { incoming: { socket: { remoteAddress: address } } },
    )

  it('from many addresses are few an hour for one name, and the owner still gets in from where they always do', {
    timeout: 180_000,
  }, async () => {
    const { id } = await add('Oz', 'winemaker')
    const name = `Oz ${made.cellarId}`
    expect((await (await invited(id, owner))('PUT', '/api/me/password', { next: PASSWORD })).status).toBe(204)
    expect((await tryIt('10.0.0.1', name, PASSWORD)).status).toBe(200)
    const statuses: number[] = []
    for (let i = 0; i < 1000; i++) statuses.push((await tryIt(`10.1.${i >> 8}.${i & 255}`, name, `guess ${i}`)).status)
    // Each 401 reached the hash; the plan of tests allows a hundred an hour.
    expect(statuses.filter((s) => s === 401).length).toBeLessThanOrEqual(100)
    expect(new Set(statuses)).toEqual(new Set([401, 429]))
    expect((await tryIt('10.0.0.1', name, PASSWORD)).status).toBe(200)
    expect((await tryIt('10.9.9.9', name, PASSWORD)).status).toBe(429)
  })
})

describe('several cellars', () => {
  it('share one name and password, once somebody who has one joins by link', async () => {
    const far = await makeApp({ db: made.db })
    const near = await invited((await add('Pat')).id)
    expect((await near('PUT', '/api/me/password', { next: PASSWORD })).status).toBe(204)
    const name = `Pat ${made.cellarId}`
    const made2 = await far.as('owner')<{ person: { id: string } }>('POST', '/api/people', { name, role: 'lab' })
    const link = async () =>
      secretIn(
        (await far.as('owner')<{ link: string }>('POST', `/api/people/${made2.body.person.id}/link`, {})).body.link,
      )
    const joined = await near<Me>('POST', '/api/session', { link: await link(), join: true })
    expect(joined.status, joined.text).toBe(200)
    expect(joined.body.cellar!.id).toBe(far.cellarId)
    expect(joined.body.cellars.map((c) => c.id).sort()).toEqual([made.cellarId, far.cellarId].sort())
    const back = await near<Me>('POST', '/api/me/cellar', { cellar: made.cellarId })
    expect(back.body.cellar!.id).toBe(made.cellarId)
    expect((await near('POST', '/api/me/cellar', { cellar: 'nowhere' })).status).toBe(404)
    const fresh = browser()
    const entered = await fresh<Me>('POST', '/api/session', { name, password: PASSWORD, cellar: far.cellarId })
    expect(entered.body.cellar!.id).toBe(far.cellarId)

    // Whoever runs the far cellar can open a link for Pat there; it opens nothing here.
    const stolen = browser()
    const inFar = await stolen<Me>('POST', '/api/session', { link: await link() })
    expect(inFar.body).toMatchObject({ cellar: { id: far.cellarId }, cellars: [], person: { proof: 'link' } })
    const over = await stolen<ProblemBody>('POST', '/api/me/cellar', { cellar: made.cellarId })
    expect([over.status, over.body.type]).toEqual([409, 'password-needed'])
    const change = await stolen<ProblemBody>('PUT', '/api/me/password', { next: 'another plain long sentence' })
    expect(change.body.errors).toEqual([{ pointer: '#/current', detail: 'is not your password' }])
    const { sessions } = (await stolen<{ sessions: { cellarId: string }[] }>('GET', '/api/me/sessions')).body
    expect(new Set(sessions.map((s) => s.cellarId))).toEqual(new Set([far.cellarId]))
  })

  it('are made by an owner who has a password, and hold nothing of the first', async () => {
    const body = { name: 'Lower Yard', hemisphere: 'north', vintage: 2027, zone: 'Europe/Madrid' }
    const first = await owner<ProblemBody>('POST', '/api/cellars', body)
    expect([first.status, first.body.type]).toEqual([409, 'password-first'])
    const mine = browser()
    const { id } = await add('Ona', 'owner')
    await mine('POST', '/api/session', { link: await makeLink(made.db, made.cellarId, id, nowAt) })
    expect((await mine('PUT', '/api/me/password', { next: PASSWORD })).status).toBe(204)
    const second = await mine<{ id: string }>('POST', '/api/cellars', body)
    expect(second.status, second.text).toBe(201)
    const there = await mine<Me>('POST', '/api/me/cellar', { cellar: second.body.id })
    expect(there.body).toMatchObject({ cellar: { id: second.body.id }, person: { proof: 'password' } })
    expect((await mine<{ lots: [] }>('GET', '/api/lots')).body.lots).toEqual([])
    expect((await mine<{ people: [] }>('GET', '/api/people')).body.people).toHaveLength(1)
  })
})

describe('a shared phone', () => {
  const PIN = { pin: '4711' }

  it('changes hands by a number, and each writes under their own name', async () => {
    const [q, r] = [await add('Quin'), await add('Ray')]
    const phone = await invited(q.id)
    expect((await phone<Me>('POST', '/api/device', PIN)).body.device).toEqual({ mine: true, seats: [] })
    const qCookie = phone.cookies.get('session')!
    const link = await winemaker<{ link: string }>('POST', `/api/people/${r.id}/link`, {})
    const second = await phone<Me>('POST', '/api/session', { link: secretIn(link.body.link) })
    expect(second.body.person!.id).toBe(r.id)
    expect(second.body.device!.seats.map((s) => s.name)).toEqual([`Quin ${made.cellarId}`])
    // The one before is locked: the secret that lay in the browser opens nothing.
    const old = await caller(made.app, `session=${qCookie}`)<ProblemBody>('GET', '/api/lots')
    expect([old.status, old.body.type]).toEqual([401, 'locked'])
    await phone('POST', '/api/device', { pin: '0815' })
    const seat = second.body.device!.seats[0]!.id
    const wrong = await phone<ProblemBody>('POST', '/api/device/switch', { seat, pin: '1111' })
    expect([wrong.status, wrong.body.type]).toEqual([401, 'wrong-number'])
    const back = await phone<Me>('POST', '/api/device/switch', { seat, ...PIN })
    expect(back.status, back.text).toBe(200)
    expect(back.body.person!.id).toBe(q.id)
    expect(back.body.device!.seats.map((s) => s.name)).toEqual([`Ray ${made.cellarId}`])
    expect((await phone('GET', '/api/lots')).status).toBe(200)
  })

  it('locks when it is laid down, or when nobody touched it for half an hour', async () => {
    const phone = await invited((await add('Sue')).id)
    expect((await phone<ProblemBody>('POST', '/api/device/lock')).body.type).toBe('not-shared')
    await phone('POST', '/api/device', PIN)
    expect((await phone('POST', '/api/device/lock')).status).toBe(204)
    expect((await phone<ProblemBody>('GET', '/api/lots')).body.type).toBe('locked')
    const me = (await phone<Me>('GET', '/api/me')).body
    expect(me).toMatchObject({ person: null, locked: true })
    const seat = me.device!.seats[0]!.id
    expect((await phone('POST', '/api/device/switch', { seat, ...PIN })).status).toBe(200)
    made.setNow(nowAt.add({ minutes: 31 }).toString())
    expect((await phone<ProblemBody>('GET', '/api/lots')).body.type).toBe('locked')
    made.setNow(NOW)
  })

  it('gives up after five wrong numbers, also when they come at once', async () => {
    const phone = await invited((await add('Tom')).id)
    await phone('POST', '/api/device', PIN)
    await phone('POST', '/api/device/lock')
    const seat = (await phone<Me>('GET', '/api/me')).body.device!.seats[0]!.id
    const tries = await Promise.all(
      Array.from({ length: 8 }, (_, i) => phone('POST', '/api/device/switch', { seat, pin: `100${i}` })),
    )
    expect(tries.filter((t) => t.status === 401).length).toBeLessThanOrEqual(5)
    expect((await phone('POST', '/api/device/switch', { seat, ...PIN })).status).toBe(404)
  })

  it('is known to its own browser alone', async () => {
    const phone = await invited((await add('Una')).id)
    await phone('POST', '/api/device', PIN)
    await phone('POST', '/api/device/lock')
    const seat = (await phone<Me>('GET', '/api/me')).body.device!.seats[0]!.id
    expect((await browser()('POST', '/api/device/switch', { seat, ...PIN })).status).toBe(404)
  })
})
