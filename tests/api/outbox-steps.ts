/** A phone with an outbox and the real routes, with a network between them that loses, doubles, delays and reorders. */
import 'fake-indexeddb/auto'
import { randomUUID } from 'node:crypto'
import type { TaskWire } from '../../api/wire.ts'
import { createOutbox, type Outbox } from '../../web/offline/outbox.ts'
import type { Store } from '../../web/offline/shelf.ts'
import { type Made, ORIGIN } from './make.ts'

/** By name, so that the browser's types stay out of the server's. */
const STORE: string = '../../web/offline/store.ts'
const { openStore } = (await import(STORE)) as { openStore: (name: string) => Promise<Store> }

export type Weather = 'fine' | 'lost' | 'no-answer' | 'twice' | 'late' | 'captive' | 'redirect' | 'busy'

/** What stands between the phone and the route: the real one, or a server with a fault. */
export type Server = (body: string, send: (body: string) => Promise<Response>) => Promise<Response>
export const SOUND: Server = (body, send) => send(body)

export interface Phone {
  readonly outbox: Outbox
  readonly store: Store
  readonly restart: () => Promise<Phone>
}

export interface Net {
  weather: Weather
  /** Copies of requests that come late, after others. */
  readonly late: string[]
}

let made = 0

export async function openPhone(
  cellar: Made,
  person: 'owner' | 'winemaker' | 'hand' | 'lab',
  net: Net,
  server: Server,
  nowMs: () => number,
  name = `phone-${process.pid}-${++made}`,
): Promise<Phone> {
  const store = await openStore(name)
  const send = sender(cellar, person)
  let alone: Promise<unknown> = Promise.resolve()
  const outbox = createOutbox({
    store,
    fetch: (_path, init) => travel(net, String(init.body), (body) => server(body, send)),
    nowMs,
    newId: () => randomUUID(),
    alone: <T>(work: () => Promise<T>) => {
      const turn = alone.then(work, work)
      alone = turn.catch(() => {})
      return turn
    },
    author: () => ({ personId: person, cellarId: cellar.cellarId }),
    changed: () => {},
    taskNow: async (key) => (await cellar.as('owner')<TaskWire>('GET', `/api/tasks/${key}`)).body,
  })
  return {
    outbox,
    store,
    restart: async () => {
      store.close()
      return openPhone(cellar, person, net, server, nowMs, name)
    },
  }
}

export const sender =
  (cellar: Made, person: 'owner' | 'winemaker' | 'hand' | 'lab') =>
  async (body: string): Promise<Response> =>
    cellar.app.request(`${ORIGIN}/api/operations`, {
      method: 'POST',
      headers: {
        'content-type': 'application/json',
        'sec-fetch-site': 'same-origin',
        cookie: cellar.cookieOf(person),
      },
      body,
    })

const gone = (): never => {
  throw new TypeError('Failed to fetch')
}

async function travel(net: Net, body: string, server: (body: string) => Promise<Response>): Promise<Response> {
  switch (net.weather) {
    case 'lost':
      return gone()
    case 'no-answer':
      await server(body)
      return gone()
    case 'twice': {
      const [first] = await Promise.all([server(body), server(body)])
      return first
    }
    case 'late':
      net.late.push(body)
      return gone()
    case 'captive':
      return new Response('<html>Sign in to the hotel</html>', { headers: { 'content-type': 'text/html' } })
    case 'redirect':
      return new Response(null, { status: 302, headers: { location: 'http://hotel.test/' } })
    case 'busy':
      return new Response('{"type":"busy","title":"Busy","status":503}', {
        status: 503,
        headers: { 'content-type': 'application/problem+json', 'retry-after': '1' },
      })
    case 'fine':
      return server(body)
  }
}
