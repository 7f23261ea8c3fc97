import { createServer, type Server } from 'node:http'
import type { AddressInfo } from 'node:net'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { writeFeed } from '../../api/feed/write.ts'
import { Temporal } from '../../api/time.ts'
import { makeFeedTask, makeSettings, NOW } from '../feed/make.ts'
import { createSubscriber, type Subscriber } from '../helpers/subscriber.ts'

let server: Server
let phone: Subscriber
let body = ''

const zone = 'Pacific/Auckland'
const rack = makeFeedTask(1, {
  startAt: Temporal.Instant.from('2027-03-22T19:00:00Z'),
  endAt: Temporal.Instant.from('2027-03-22T20:45:00Z'),
  action: 'Rack, slowly',
  state: 'planned',
  next: [],
})
const press = makeFeedTask(2, {
  ...rack,
  uid: makeFeedTask(2).uid,
  startAt: rack.startAt.add({ hours: 4 }),
  endAt: rack.endAt.add({ hours: 4 }),
  action: 'Press',
})

beforeAll(async () => {
  server = createServer((_, res) => {
    res.setHeader('content-type', 'text/calendar; charset=utf-8')
    res.end(body)
  })
  await new Promise<void>((r) => server.listen(0, '127.0.0.1', () => r()))
  body = writeFeed([rack, press], makeSettings({ zone }), NOW)
  phone = await createSubscriber(`http://127.0.0.1:${(server.address() as AddressInfo).port}/feed/x.ics`, zone)
})

afterAll(() => {
  phone?.close()
  server?.close()
})

it('a real calendar lists the day in the cellar’s time', async () => {
  await phone.sync()
  expect(await phone.list('2027-03-23 00:00', 1)).toEqual([
    '2027-03-23 08:00-09:45 T09 > T01 · Rack, slowly · L01 @ T09 > T01, Ostrel Yard',
    '2027-03-23 12:00-13:45 T09 > T01 · Press · L01 @ T09 > T01, Ostrel Yard',
  ])
})

it('a moved task moves in the calendar and none is doubled', async () => {
  const moved = {
    ...rack,
    startAt: rack.startAt.add({ hours: 2 }),
    endAt: rack.endAt.add({ hours: 2 }),
    sequence: rack.sequence + 1,
  }
  body = writeFeed([moved, press], makeSettings({ zone }), NOW)
  await phone.sync()
  expect(await phone.list('2027-03-23 00:00', 1)).toEqual([
    '2027-03-23 10:00-11:45 T09 > T01 · Rack, slowly · L01 @ T09 > T01, Ostrel Yard',
    '2027-03-23 12:00-13:45 T09 > T01 · Press · L01 @ T09 > T01, Ostrel Yard',
  ])
})
