import { beforeAll, describe, expect, it } from 'vitest'
import { CHANNEL, changeFrom, createChanges } from '../../api/changes.ts'
import type { TaskWire } from '../../api/wire.ts'
import { type Call, type Made, makeApp } from './make.ts'

let made: Made
let call: Call

beforeAll(async () => {
  made = await makeApp()
  call = made.as('winemaker')
})

const nextTask = async (step: string) =>
  (await call<{ tasks: TaskWire[] }>('GET', '/api/tasks?lot=L01')).body.tasks.find((t) => t.step === step)!

describe('the stream of changes', () => {
  it('says the revision at once, and again when something changed', async () => {
    const response = await made.app.request('http://cellar.test/api/changes', {
      headers: { cookie: made.cookieOf('hand') },
    })
    expect(response.headers.get('content-type')).toMatch(/^text\/event-stream/)
    const reader = response.body!.pipeThrough(new TextDecoderStream()).getReader()
    const read = async () => {
      const { value = '' } = await reader.read()
      return {
        event: /^event: (.+)$/m.exec(value)?.[1],
        ...(JSON.parse(/^data: (.+)$/m.exec(value)![1]!) as { revision: number }),
      }
    }
    const first = await read()
    expect(first).toMatchObject({ event: 'change', revision: expect.any(Number) })
    const { key } = await nextTask('press')
    const acted = await call<{ revision: number }>('POST', `/api/tasks/${key}/start`, {})
    expect(acted.status, acted.text).toBe(200)
    expect(await read()).toEqual({ event: 'change', revision: acted.body.revision })
    expect(acted.body.revision).toBeGreaterThan(first.revision)
    await reader.cancel()
  })

  it('ends when the server stops, and forgets who listened', async () => {
    const response = await made.app.request('http://cellar.test/api/changes', {
      headers: { cookie: made.cookieOf('lab') },
    })
    const ended = response.text()
    await expect.poll(() => made.changes.listening()).toBeGreaterThan(0)
    made.changes.close()
    await ended
    await expect.poll(() => made.changes.listening()).toBe(0)
  })

  it('tells a change once, also when the database tells it again, and only to its own cellar', () => {
    const changes = createChanges()
    const heard: string[] = []
    changes.subscribe('a', (c) => heard.push(c.id))
    const change = { cellarId: 'a', revision: 3, id: 'x' }
    changes.publish(change)
    changes.publish(changeFrom(JSON.stringify(change))!)
    changes.publish({ cellarId: 'b', revision: 9, id: 'y' })
    expect(heard).toEqual(['x'])
    expect(changeFrom('nonsense')).toBeUndefined()
    expect(changeFrom('{"cellarId":1}')).toBeUndefined()
    expect(CHANNEL).toMatch(/^[a-z_]+$/)
  })
})

describe('a move tried out', () => {
  it('says what would break and move, and stores nothing', async () => {
    const task = await nextTask('inoculate')
    const before = (await call('GET', '/api/tasks?lot=L01')).text
    const answer = await call<{
      allowed: boolean
      words: string
      changed: (TaskWire & { fromStartAt: string | null })[]
    }>('POST', `/api/tasks/${task.key}/preview`, { startAtLocal: '2027-04-20T03:00' })
    expect(answer.status, answer.text).toBe(200)
    expect(answer.body.words.length).toBeGreaterThan(10)
    const moved = answer.body.changed.find((t) => t.key === task.key)!
    expect(moved.fromStartAt).toBe(task.startAt)
    // 03:00 in Pacific/Auckland on 20 April 2027 is 15:00 UTC of the day before (UTC+12 after 4 April).
    expect(moved.startAt).toBe('2027-04-19T15:00:00Z')
    expect(answer.body.allowed).toBe(false)
    expect((await call('GET', '/api/tasks?lot=L01')).text).toBe(before)
  })

  it('then a pin puts it there, and an unpin lets the planner have it back', async () => {
    const task = await nextTask('inoculate')
    const pinned = await call<{ task: TaskWire }>('POST', `/api/tasks/${task.key}/pin`, {
      startAtLocal: '2027-04-20T03:00',
    })
    expect(pinned.body.task).toMatchObject({ pinned: true, startAt: '2027-04-19T15:00:00Z' })
    expect(pinned.body.task.broken.length).toBeGreaterThan(0)
    const free = await call<{ task: TaskWire }>('POST', `/api/tasks/${task.key}/unpin`, {})
    expect(free.body.task.pinned).toBe(false)
    expect(free.body.task.startAt).not.toBe('2027-04-19T15:00:00Z')
  })
})

describe('the feed', () => {
  const events = (text: string) =>
    new Map(
      text
        .replaceAll('\r\n ', '')
        .split('BEGIN:VEVENT')
        .slice(1)
        .map((e) => {
          const field = (name: string) =>
            new RegExp(`^${name}[;:].*?([^;:]+)$`, 'm').exec(e.replaceAll('\r', ''))?.[1] ?? ''
          return [field('UID'), { sequence: Number(field('SEQUENCE')), summary: field('SUMMARY') }] as const
        }),
    )

  it('raises SEQUENCE of a task that moves, keeps its UID, and dies when revoked', async () => {
    const made1 = await call<{ url: string; feed: { id: string } }>('POST', '/api/feeds', {
      kind: 'lot',
      subject: 'L01',
    })
    expect(made1.status, made1.text).toBe(201)
    const path = new URL(made1.body.url).pathname
    const read = () => made.as(null)('GET', path)
    const before = await read()
    expect(before.headers.get('content-type')).toBe('text/calendar; charset=utf-8')
    expect(before.text).toMatch(/^BEGIN:VCALENDAR\r\n[\s\S]*\r\nEND:VCALENDAR\r\n$/)
    const held = await made.as(null)('GET', path, undefined, { 'if-none-match': before.headers.get('etag')! })
    expect([held.status, held.text]).toEqual([304, ''])

    const task = await nextTask('inoculate')
    const moved = await call<{ task: TaskWire }>('POST', `/api/tasks/${task.key}/pin`, {
      startAtLocal: '2027-04-21T08:00',
    })
    expect(moved.body.task.revision).toBeGreaterThan(task.revision)
    const [old, now] = [events(before.text), events((await read()).text)]
    const risen = [...now].filter(([uid, e]) => old.has(uid) && e.sequence > old.get(uid)!.sequence)
    expect(risen.length).toBeGreaterThan(0)
    expect([...now].every(([uid, e]) => e.sequence >= (old.get(uid)?.sequence ?? 0))).toBe(true)
    expect([...old.keys()].every((uid) => now.has(uid))).toBe(true)

    expect((await call('DELETE', `/api/feeds/${made1.body.feed.id}`)).status).toBe(204)
    const dead = await read()
    const wrong = await made.as(null)('GET', `/feed/${'A'.repeat(43)}.ics`)
    expect([dead.status, wrong.status]).toEqual([404, 404])
    expect(dead.body.title).toBe(wrong.body.title)
  })
})
