import { beforeAll, describe, expect, it } from 'vitest'
import { type Call, type Made, makeApp, NOW, type ProblemBody } from './make.ts'

interface TaskLike {
  readonly key: string
  readonly detail: string
  readonly caution: string
  readonly startAt: string
  readonly fromVessels: readonly string[]
  readonly cautionRead?: { readonly personId: string; readonly at: string }
  readonly taken?: { readonly personId: string }
}
interface Raised {
  readonly changed: readonly TaskLike[]
}

let made: Made
let hand: Call
let lead: Call

beforeAll(async () => {
  made = await makeApp()
  hand = made.as('hand')
  lead = made.as('winemaker')
})

const uuid = () => crypto.randomUUID()

/** One pixel, as every drawing program writes it. */
const PNG = 'iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=='

describe('a photo', () => {
  it('is kept once, whatever is sent twice, and given back byte by byte to its own cellar alone', async () => {
    const id = uuid()
    const body = { id, lot: 'L01', taskKey: 'L01/receive/1', words: 'rot on the lower rows', base64: PNG }
    const first = await hand('POST', '/api/photos', body)
    expect(first.status, first.text).toBe(201)
    expect((await hand('POST', '/api/photos', body)).body).toEqual(first.body)
    const listed = await hand<{ photos: { id: string; size: number }[] }>('GET', '/api/photos?task=L01%2Freceive%2F1')
    expect(listed.body.photos.map((p) => p.id)).toEqual([id])
    const picture = await made.app.request(`http://cellar.test/api/photos/${id}`, {
      headers: { cookie: made.cookieOf('viewer'), 'sec-fetch-site': 'same-origin' },
    })
    expect(picture.headers.get('content-type')).toBe('image/png')
    expect(picture.headers.get('x-content-type-options')).toBe('nosniff')
    expect(Buffer.from(await picture.arrayBuffer()).toString('base64')).toBe(PNG)
    const other = await makeApp({ lots: [] })
    expect((await other.as('owner')('GET', `/api/photos/${id}`)).status).toBe(404)
    expect((await made.as(null)('GET', `/api/photos/${id}`)).status).toBe(401)
  })

  it.each([
    ['text that calls itself a picture', Buffer.from('<svg onload="x"></svg>').toString('base64')],
    [
      'a picture with the camera’s notes',
      Buffer.concat([Buffer.from([0xff, 0xd8, 0xff, 0xe1, 0, 16]), Buffer.from('Exif\0\0GPS')]).toString('base64'),
    ],
    ['no base64', 'not base64 at all!'],
  ])('is refused as %s', async (_name, base64) => {
    const answer = await hand<ProblemBody>('POST', '/api/photos', { id: uuid(), base64 })
    expect(answer.status).toBe(422)
    expect(answer.body.errors?.[0]?.pointer).toBe('#/base64')
  })

  it('of more than 160 KiB is refused', async () => {
    const large = Buffer.concat([Buffer.from(PNG, 'base64'), Buffer.alloc(160 * 1024)]).toString('base64')
    expect((await hand('POST', '/api/photos', { id: uuid(), base64: large })).status).toBe(422)
  })
})

describe('a report of trouble', () => {
  it('of rotten egg raises the same-day work of case 16 with its caution, and stands for the winemaker', async () => {
    const id = uuid()
    const answer = await hand<Raised>('POST', '/api/troubles', {
      id,
      kind: 'smell',
      lot: 'L01',
      vessel: 'T01',
      words: 'strong',
    })
    expect(answer.status, answer.text).toBe(201)
    const raised = answer.body.changed.find((t) => t.key === 'L01/treat-h2s/8001')
    expect(raised).toMatchObject({ fromVessels: ['T01'] })
    expect(raised?.detail).toMatch(/nutrient and air/)
    expect(raised?.caution).not.toBe('')
    expect(answer.body.changed.some((t) => t.key === 'L01/check-ferment/8001')).toBe(true)
    const again = await hand<Raised>('POST', '/api/troubles', { id, kind: 'smell', lot: 'L01', vessel: 'T01' })
    expect(again.status).toBe(201)
    const listed = await lead<{ troubles: { id: string; answers: unknown[] }[] }>('GET', '/api/troubles')
    expect(listed.body.troubles.filter((t) => t.id === id)).toHaveLength(1)
    expect((await hand('POST', `/api/troubles/${id}/answers`, { id: uuid(), kind: 'seen' })).status).toBe(403)
    expect((await lead('POST', `/api/troubles/${id}/answers`, { id: uuid(), kind: 'seen' })).status).toBe(204)
    const seen = await lead<{ troubles: { id: string; answers: { kind: string; personId: string }[] }[] }>(
      'GET',
      '/api/troubles',
    )
    expect(seen.body.troubles.find((t) => t.id === id)?.answers).toMatchObject([
      { kind: 'seen', personId: 'winemaker' },
    ])
  })

  it.each([
    ['hot', ['set-cooling', 'check-ferment']],
    ['slow', ['check-ferment', 'feed-2']],
    ['foam', ['check-ullage', 'check-ferment']],
    ['spill', ['check-ullage']],
    ['leak', ['rack-out', 'check-leaks']],
    ['vinegar', ['check-va']],
    ['malolactic', ['mlf-check']],
  ] as const)('%s raises %j', async (kind, steps) => {
    const answer = await hand<Raised>('POST', '/api/troubles', { id: uuid(), kind, lot: 'L01' })
    const raised = answer.body.changed.filter((t) => /\/8\d{3}$/.test(t.key)).map((t) => t.key.split('/')[1])
    for (const step of steps) expect(raised).toContain(step)
  })

  it('of a machine raises its repair as work of the house, behind the lock-out', async () => {
    const answer = await hand<Raised>('POST', '/api/troubles', {
      id: uuid(),
      kind: 'machine',
      words: 'pump P2 leaks oil',
    })
    const raised = answer.body.changed.find((t) => t.key === 'house/service/80001')
    expect(raised?.caution).toMatch(/Lock out/)
  })

  it('of anything else needs words and raises nothing', async () => {
    expect((await hand('POST', '/api/troubles', { id: uuid(), kind: 'other', lot: 'L01' })).status).toBe(422)
    const told = await hand<Raised>('POST', '/api/troubles', { id: uuid(), kind: 'other', lot: 'L01', words: 'wasps' })
    expect(told.status).toBe(201)
    expect(told.body.changed.filter((t) => /\/8\d{3}$/.test(t.key))).toEqual([])
  })
})

describe('a caution', () => {
  it('keeps who read which words and when, beside the work, and moves nothing', async () => {
    const reason = 'Carbon dioxide: fans on, meter on.'
    const read = await hand<{ task: TaskLike; changed: unknown[] }>('POST', '/api/tasks/L01/receive/1/caution', {
      opId: uuid(),
      at: '2027-03-21T17:58:00Z',
      reason,
    })
    expect(read.status, read.text).toBe(200)
    expect(read.body.changed).toEqual([])
    expect(read.body.task.cautionRead).toEqual({ personId: 'hand', at: '2027-03-21T17:58:00Z' })
    const log = (await lead('GET', '/api/export/log.csv')).text
    expect(log).toContain(reason)
    expect((await hand('POST', '/api/tasks/L01/receive/1/caution', {})).status).toBe(422)
  })

  it('is not what an undo takes back', async () => {
    await hand('POST', '/api/tasks/L01/receive/1/start', {})
    const read = await hand<{ task: TaskLike }>('POST', '/api/tasks/L01/receive/1/caution', { reason: 'read' })
    expect(read.body.task.taken).toMatchObject({ personId: 'hand' })
    const undone = await hand<{ task: TaskLike }>('POST', '/api/tasks/L01/receive/1/undo', {})
    expect(undone.body.task.taken).toBeUndefined()
    expect(undone.body.task.cautionRead).toMatchObject({ personId: 'hand' })
  })
})

describe('a handover', () => {
  it('is shown to the next shift until each has read it', async () => {
    const id = uuid()
    const words = 'T03 chills until 23:00; the filter drips'
    expect((await hand('POST', '/api/handovers', { id, words, at: NOW })).status).toBe(201)
    expect((await hand('POST', '/api/handovers', { id, words, at: NOW })).status).toBe(201)
    expect((await lead('POST', `/api/handovers/${id}/read`)).status).toBe(204)
    expect((await lead('POST', `/api/handovers/${id}/read`)).status).toBe(204)
    const listed = await lead<{ handovers: { id: string; words: string; readBy: { personId: string }[] }[] }>(
      'GET',
      '/api/handovers',
    )
    expect(listed.body.handovers).toHaveLength(1)
    expect(listed.body.handovers[0]).toMatchObject({ id, words, readBy: [{ personId: 'winemaker' }] })
    expect((await hand('POST', '/api/handovers', { id: uuid(), words: '  ' })).status).toBe(422)
  })
})

describe('a person’s language', () => {
  it('is their own to set and follows them to any phone', async () => {
    expect((await hand('PUT', '/api/me/language', { language: 'pt' })).status).toBe(204)
    const me = await hand<{ person: { language: string } }>('GET', '/api/me')
    expect(me.body.person.language).toBe('pt')
    expect((await hand('PUT', '/api/me/language', { language: 'xx' })).status).toBe(422)
  })
})
