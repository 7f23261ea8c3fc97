import { gunzipSync } from 'node:zlib'
import { beforeAll, describe, expect, it } from 'vitest'
import { events, one, read, unescapeText } from '../feed/reader.ts'
import { FEED_RULES } from '../feed/rules.ts'
import { type Made, makeApp, type ProblemBody } from './make.ts'

let made: Made

interface FeedMade {
  readonly feed: { readonly id: string; readonly name: string; readonly kind: string }
  readonly url: string
  readonly webcal: string
}

beforeAll(async () => {
  made = await makeApp({ lots: ['L01', 'L03'] })
})

async function makeFeed(body: Record<string, unknown>, role: 'winemaker' | 'hand' = 'winemaker'): Promise<FeedMade> {
  const answer = await made.as(role)<FeedMade>('POST', '/api/feeds', body)
  expect(answer.status, answer.text).toBe(201)
  return answer.body
}

const path = (url: string) => new URL(url).pathname
const fetchFeed = (url: string, headers: Record<string, string> = {}, method = 'GET') =>
  made.app.request(path(url), { method, headers })
const bodyOf = async (url: string) => (await fetchFeed(url)).text()

describe('an address', () => {
  it('holds at least 128 random bits, is shown once, in both schemes', async () => {
    const { url, webcal } = await makeFeed({ kind: 'cellar' })
    expect(path(url)).toMatch(/^\/feed\/[A-Za-z0-9_-]{22,}\.ics$/)
    expect(webcal).toBe(url.replace(/^https?/, 'webcal'))
    const token = path(url).slice(6, -4)
    const listed = await made.as('winemaker')('GET', '/api/feeds')
    expect(listed.text).not.toContain(token)
  })

  it('answers wrong, revoked and renewed alike: 404 and the same words', async () => {
    const { feed, url } = await makeFeed({ kind: 'cellar' })
    const renewed = await made.as('winemaker')<FeedMade>('POST', `/api/feeds/${feed.id}/renew`)
    expect(renewed.status).toBe(200)
    const wrong = await fetchFeed(`http://x/feed/${'A'.repeat(43)}.ics`)
    const old = await fetchFeed(url)
    expect((await fetchFeed(renewed.body.url)).status).toBe(200)
    expect((await made.as('winemaker')('DELETE', `/api/feeds/${feed.id}`)).status).toBe(204)
    const revoked = await fetchFeed(renewed.body.url)
    const words = async (r: Response) => {
      const { instance: _, ...rest } = (await r.json()) as Record<string, unknown>
      return [r.status, rest]
    }
    const first = await words(wrong)
    expect(first[0]).toBe(404)
    expect(await words(old)).toEqual(first)
    expect(await words(revoked)).toEqual(first)
  })

  it('of another person is as unknown as none', async () => {
    const { feed } = await makeFeed({ kind: 'cellar' }, 'winemaker')
    for (const [method, at, body] of [
      ['PUT', `/api/feeds/${feed.id}`, { name: 'x', language: 'en', showDoses: true, alarmMin: {} }],
      ['POST', `/api/feeds/${feed.id}/renew`, undefined],
      ['DELETE', `/api/feeds/${feed.id}`, undefined],
    ] as const)
      expect((await made.as('hand')(method, at, body)).status).toBe(404)
  })
})

describe('a change of what a feed shows', () => {
  const asked = { name: 'Ours', language: 'fr', showDoses: true, alarmMin: {} }

  it('says which version it stands on: 428 without, 412 or 409 with an old one, whose answer is the feed as it is', async () => {
    const { feed } = await makeFeed({ kind: 'cellar' })
    const put = (body: object, headers: Record<string, string> = {}) =>
      made.as('winemaker')<ProblemBody>('PUT', `/api/feeds/${feed.id}`, body, headers)
    expect((await put(asked)).status).toBe(428)
    expect((await put(asked, { 'if-match': '"x"' })).status).toBe(400)
    const first = await put(asked, { 'if-match': '"1"' })
    expect([first.status, first.body]).toMatchObject([200, { name: 'Ours', showDoses: true, version: 2 }])
    const late = await put({ ...asked, name: 'Late' }, { 'if-match': '"1"' })
    expect([late.status, late.body.type, late.body.current]).toMatchObject([412, 'stale', { name: 'Ours', version: 2 }])
    expect((await put({ ...asked, name: 'Late', version: 1 })).status).toBe(409)
    expect((await put({ ...asked, name: 'Next', version: 2 })).body).toMatchObject({ name: 'Next', version: 3 })
  })
})

describe('over HTTP (RFC 9110)', () => {
  it('says what it is, how long it holds, and keeps out of search engines', async () => {
    const { url } = await makeFeed({ kind: 'cellar' })
    const answer = await fetchFeed(url)
    expect(answer.status).toBe(200)
    expect(answer.headers.get('content-type')).toBe('text/calendar; charset=utf-8')
    expect(answer.headers.get('cache-control')).toMatch(/^private, max-age=\d+$/)
    expect(answer.headers.get('x-robots-tag')).toBe('noindex')
    expect(answer.headers.get('vary')).toMatch(/accept-encoding/i)
    expect(answer.headers.get('etag')).toMatch(/^W\/"/)
    expect(answer.headers.get('set-cookie')).toBeNull()
    expect(Number.isNaN(Date.parse(answer.headers.get('last-modified') ?? ''))).toBe(false)
  })

  it('needs no Accept header, no cookie, and gives the same bytes twice', async () => {
    const { url } = await makeFeed({ kind: 'cellar' })
    expect(await bodyOf(url)).toBe(await bodyOf(url))
  })

  it('answers 304 without a body to who holds the current one', async () => {
    const { url } = await makeFeed({ kind: 'cellar' })
    const etag = (await fetchFeed(url)).headers.get('etag')!
    for (const tag of [etag, etag.slice(2), `"x", ${etag}`, '*']) {
      const held = await fetchFeed(url, { 'if-none-match': tag })
      expect([held.status, await held.text(), held.headers.get('etag')]).toEqual([304, '', etag])
    }
    expect((await fetchFeed(url, { 'if-none-match': '"other"' })).status).toBe(200)
    expect((await fetchFeed(url, { 'if-modified-since': 'Fri, 01 Jan 2027 00:00:00 GMT' })).status).toBe(200)
    const last = (await fetchFeed(url)).headers.get('last-modified')!
    expect((await fetchFeed(url, { 'if-modified-since': last })).status).toBe(304)
  })

  it('is gzipped for who takes it, with the same content', async () => {
    const { url } = await makeFeed({ kind: 'cellar' })
    const answer = await fetchFeed(url, { 'accept-encoding': 'gzip' })
    expect(answer.headers.get('content-encoding')).toBe('gzip')
    expect(gunzipSync(Buffer.from(await answer.arrayBuffer())).toString()).toBe(await bodyOf(url))
  })

  it('answers HEAD as GET, without the body', async () => {
    const { url } = await makeFeed({ kind: 'cellar' })
    const head = await fetchFeed(url, {}, 'HEAD')
    expect([head.status, await head.text()]).toEqual([200, ''])
    expect(head.headers.get('etag')).toBe((await fetchFeed(url)).headers.get('etag'))
  })

  it('slows a loop down', async () => {
    const { url } = await makeFeed({ kind: 'cellar' })
    let last = 200
    for (let i = 0; i < 130 && last !== 429; i++) last = (await fetchFeed(url)).status
    expect(last).toBe(429)
    expect(Number((await fetchFeed(url)).headers.get('retry-after'))).toBeGreaterThan(0)
  })

  it('notes who fetched last, for its owner to see', async () => {
    const { feed, url } = await makeFeed({ kind: 'cellar' })
    await fetchFeed(url, { 'user-agent': 'Pocket calendar/3' })
    const { body } = await made.as('winemaker')<{ feeds: { id: string; lastClient?: string }[] }>('GET', '/api/feeds')
    expect(body.feeds.find((f) => f.id === feed.id)?.lastClient).toBe('Pocket calendar/3')
  })
})

describe('the body', () => {
  it('of a real plan keeps every rule', async () => {
    const { url } = await makeFeed({ kind: 'cellar', showDoses: true })
    const r = read(await bodyOf(url))
    expect(events(r).length).toBeGreaterThan(50)
    for (const rule of FEED_RULES) expect(rule.broken(r), `${rule.id} ${rule.says}`).toEqual([])
  })

  it.each([
    ['lot', 'L03', (text: string) => text.includes('L03')],
    ['family', 'check', (_: string) => true],
    ['vessels', 'T01, T02', (text: string) => /T0[12]/.test(text)],
  ] as [string, string, (text: string) => boolean][])(
    'of a feed by %s holds only its own',
    async (kind, subject, fits) => {
      const { url } = await makeFeed({ kind, subject })
      const found = events(read(await bodyOf(url)))
      expect(found.length).toBeGreaterThan(0)
      for (const e of found) expect(fits(unescapeText(one(e, 'SUMMARY')!.value))).toBe(true)
    },
  )

  it('of a person’s feed is in the person’s language', async () => {
    const { url } = await makeFeed({ kind: 'cellar', language: 'fr' })
    expect(await bodyOf(url)).toContain('PRODID:-//Leesway//Cellar plan//FR')
  })

  it.each([
    [{ kind: 'vessels', subject: 'T99' }],
    [{ kind: 'lot', subject: 'L99' }],
    [{ kind: 'lot' }],
    [{ kind: 'cellar', alarmMin: { juice: -1 } }],
    [{ kind: 'galaxy' }],
  ])('is not made for %j', async (body) => {
    expect((await made.as('winemaker')('POST', '/api/feeds', body)).status).toBe(422)
  })

  it('moves one event and doubles none when a task is pinned elsewhere', async () => {
    const { url } = await makeFeed({ kind: 'lot', subject: 'L03' })
    const uids = async () => new Map(events(read(await bodyOf(url))).map((e) => [one(e, 'UID')!.value, e]))
    const before = await uids()
    const { body } = await made.as('winemaker')<{ tasks: { key: string; startAt: string; state: string }[] }>(
      'GET',
      '/api/tasks?lot=L03',
    )
    const task = body.tasks.find((t) => t.state === 'planned')!
    const startAt = new Date(Date.parse(task.startAt) + 3_600_000).toISOString()
    expect((await made.as('winemaker')('POST', `/api/tasks/${task.key}/pin`, { startAt })).status).toBe(200)
    const after = await uids()
    for (const uid of before.keys()) expect(after.has(uid)).toBe(true)
    let moved = 0
    for (const [uid, e] of after) {
      const was = before.get(uid)
      if (!was || one(was, 'DTSTART')!.value === one(e, 'DTSTART')!.value) continue
      moved++
      expect(Number(one(e, 'SEQUENCE')!.value)).toBeGreaterThan(Number(one(was, 'SEQUENCE')!.value))
    }
    expect(moved).toBeGreaterThan(0)
  })

  it('of one task is a file of one event', async () => {
    const { body } = await made.as('hand')<{ tasks: { key: string }[] }>('GET', '/api/tasks?lot=L01')
    const answer = await made.as('hand')('GET', `/api/tasks/${body.tasks[0]!.key}/calendar`)
    expect(answer.headers.get('content-disposition')).toContain('.ics')
    expect(events(read(answer.text)).length).toBe(1)
  })
})

describe('an outside calendar', () => {
  const wrap = (...lines: string[]) =>
    [
      'BEGIN:VCALENDAR',
      'VERSION:2.0',
      'PRODID:-//x//y//EN',
      'BEGIN:VEVENT',
      'UID:a',
      'DTSTAMP:20270101T000000Z',
      ...lines,
      'END:VEVENT',
      'END:VCALENDAR',
      '',
    ].join('\r\n')
  const send = async (at: string, text: string) => {
    const answer = await made.app.request(`/api/import/calendar/${at}`, {
      method: 'POST',
      headers: { 'content-type': 'text/calendar', cookie: made.cookieOf('winemaker'), 'sec-fetch-site': 'same-origin' },
      body: text,
    })
    return {
      status: answer.status,
      body: (await answer.json()) as { entries: { known: boolean; fromOn: string }[]; written: boolean },
    }
  }

  it('shows holidays first, writes them when told to, and knows them afterwards', async () => {
    const text = wrap('SUMMARY:Founders day', 'DTSTART;VALUE=DATE:20270603', 'DTEND;VALUE=DATE:20270604')
    expect((await send('holidays', text)).body).toMatchObject({
      written: false,
      entries: [{ fromOn: '2027-06-03', known: false }],
    })
    const before = await made.as('viewer')<{ holidays: unknown[] }>('GET', '/api/cellar')
    expect((await send('holidays?preview=false', text)).body.written).toBe(true)
    const after = await made.as('viewer')<{ holidays: { on: string; name: string }[] }>('GET', '/api/cellar')
    expect(after.body.holidays.length).toBe(before.body.holidays.length + 1)
    expect(after.body.holidays).toContainEqual({ on: '2027-06-03', name: 'Founders day' })
    expect((await send('holidays', text)).body.entries[0]!.known).toBe(true)
  })

  it('books a machine for the hours it names', async () => {
    const text = wrap('SUMMARY:Line', 'DTSTART:20270726T190000Z', 'DTEND:20270727T030000Z')
    expect((await send('bookings?preview=false&unit=SF', text)).body.written).toBe(true)
    const { body } = await made.as('viewer')<{ machines: { code: string; bookings: unknown[] }[] }>(
      'GET',
      '/api/machines',
    )
    expect(body.machines.find((m) => m.code === 'SF')!.bookings).toContainEqual({
      fromAt: '2027-07-26T19:00:00Z',
      toAt: '2027-07-27T03:00:00Z',
      why: 'Line',
    })
  })

  it('is refused with what was expected', async () => {
    expect((await send('holidays', 'hello')).status).toBe(422)
    expect((await send('bookings', wrap('SUMMARY:a', 'DTSTART:20270726T190000Z'))).status).toBe(422)
    expect((await send('bookings?unit=ZZ', wrap('SUMMARY:a', 'DTSTART:20270726T190000Z'))).status).toBe(422)
  })
})
