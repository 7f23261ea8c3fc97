import { once } from 'node:events'
import { type AddressInfo, connect } from 'node:net'
import { serve } from '@hono/node-server'
import { beforeAll, describe, expect, it } from 'vitest'
import { createStorage, onceStored } from '../../api/ops/storage.ts'
import { ofDatabase, type Trouble } from '../../db/room.ts'
import { gate } from '../helpers/gate.ts'
import { type Made, makeApp, type ProblemBody } from './make.ts'

let trouble: Trouble | undefined
const storage = createStorage(async () => trouble, true)
let made: Made
beforeAll(async () => {
  made = await makeApp({ storage })
}, 120_000)

const setIn = async (now: Trouble | undefined) => {
  trouble = now
  // Not older than a second is fresh enough for a write.
  await expect.poll(() => storage.look(), { timeout: 3_000, interval: 50 }).toBe(now)
}
const reading = { readings: [{ lot: 'L01', kind: 'temp', value: 14 }] }

describe.each([
  ['storage-full', /disk .* full.* not stored/],
  ['storage-read-only', /cannot be written to.* not stored/],
  ['database-away', /does not answer.* nothing was stored/],
] as const)('while there is %s', (kind, words) => {
  it('refuses what would write, in words and with the time to ask again, and reads on', async () => {
    const hand = made.as('hand')
    const count = async () => (await hand<{ readings: unknown[] }>('GET', '/api/readings?lot=L01')).body.readings.length
    const before = await count()
    await setIn(kind)
    const refused = await hand<ProblemBody>('POST', '/api/readings', reading)
    expect([refused.status, refused.body.type]).toEqual([503, kind])
    expect(refused.body.title).toMatch(words)
    expect(refused.headers.get('content-type')).toBe('application/problem+json')
    expect(refused.headers.get('retry-after')).toBe('5')
    expect(await count()).toBe(before)
    expect((await made.as('owner')('POST', '/api/lots/check', {})).status, 'computing needs no disk').toBe(422)
    expect((await made.as(null)('GET', '/readyz')).body).toEqual({ ok: true, storing: false })
    await setIn(undefined)
    expect((await hand('POST', '/api/readings', reading)).status).toBe(201)
    expect(await count()).toBe(before + 1)
    expect((await made.as(null)('GET', '/readyz')).body).toEqual({ ok: true, storing: true })
  })
})

it('a reading that would note its use in passing is answered without the note', async () => {
  await setIn('storage-full')
  made.setNow('2027-03-21T21:00:00Z')
  expect((await made.as('viewer')('GET', '/api/lots')).status).toBe(200)
  await setIn(undefined)
})

it('what a start has to store is stored once there is room, and once', async () => {
  const done: string[] = []
  const never = (error: unknown) => expect.unreachable(String(error))
  await setIn('storage-full')
  expect(await onceStored(storage, async () => done.push('link'), never)).toBe(false)
  expect(done).toEqual([])
  await setIn(undefined)
  await expect.poll(() => done).toEqual(['link'])
  await setIn('storage-read-only')
  await setIn(undefined)
  expect(done).toEqual(['link'])
  expect(await onceStored(storage, async () => done.push('at once'), never)).toBe(true)
})

it('tells open screens when it begins and when it is over', async () => {
  const stream = await made.app.request('http://cellar.test/api/changes', {
    headers: { cookie: made.cookieOf('hand') },
  })
  const reader = stream.body!.pipeThrough(new TextDecoderStream()).getReader()
  let heard = ''
  const until = async (text: string) => {
    while (!heard.includes(text)) heard += (await reader.read()).value ?? ''
  }
  await until('event: change')
  heard = ''
  await setIn('storage-full')
  await until('event: storage\ndata: {"trouble":"storage-full"}')
  heard = ''
  await setIn(undefined)
  await until('event: storage\ndata: {"trouble":null}')
  await reader.cancel()
})

it.each([
  ['of a told length', 'content-length: 1000\r\n\r\n{"readings": ['],
  ['in parts', 'transfer-encoding: chunked\r\n\r\nd\r\n{"readings": [\r\n'],
])('somebody who closes in the middle of a request %s keeps nobody from storing', async (_, half) => {
  await setIn(undefined)
  const said: unknown[] = []
  const unsubscribe = storage.subscribe((now) => said.push(now))
  const answered = gate()
  const begun = gate()
  const fetch = async (request: Request) => {
    begun.open()
    try {
      return await made.app.fetch(request)
    } finally {
      answered.open()
    }
  }
  const server = serve({ fetch, port: 0, hostname: '127.0.0.1' })
  await once(server, 'listening')
  const socket = connect((server.address() as AddressInfo).port, '127.0.0.1')
  socket.write(
    `POST /api/readings HTTP/1.1\r\nhost: cellar.test\r\ncookie: ${made.cookieOf('hand')}\r\n` +
      `sec-fetch-site: same-origin\r\ncontent-type: application/json\r\n${half}`,
  )
  await begun.opened
  await new Promise((later) => setTimeout(later, 200))
  socket.destroy()
  await answered.opened
  expect(said).toEqual([])
  expect((await made.as('hand')('POST', '/api/readings', reading)).status).toBe(201)
  expect((await made.as(null)('GET', '/readyz')).body).toEqual({ ok: true, storing: true })
  unsubscribe()
  await new Promise((closed) => server.close(closed))
})

describe('what was met', () => {
  it.each(['ECONNRESET', 'EPIPE', 'EACCES', 'EPERM', 'EIO'])('%s counts where the database said it', (code) => {
    const own = createStorage(async () => undefined, false)
    const error = Object.assign(new Error('x'), { code })
    expect(own.met(error)).toBe(false)
    expect(own.trouble()).toBeUndefined()
    expect(own.met(new Error('asked', { cause: ofDatabase(error) }))).toBe(true)
    expect(own.trouble()).toBeDefined()
    own.close()
  })

  it('keeps from writing at once, and is looked at again soon', async () => {
    const asked: Trouble[] = ['storage-full']
    const own = createStorage(async () => asked.pop(), false)
    expect(own.met(Object.assign(new Error('x'), { cause: Object.assign(new Error('y'), { code: '53100' }) }))).toBe(
      true,
    )
    expect(own.trouble()).toBe('storage-full')
    expect(own.met(new Error('something else'))).toBe(false)
    await expect.poll(() => own.trouble(), { timeout: 5_000, interval: 50 }).toBeUndefined()
    own.close()
  })
})
