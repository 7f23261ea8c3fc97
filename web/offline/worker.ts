/// <reference lib="webworker" />
/**
 * The service worker: the screens open without a signal. It keeps one edition of the files whole, gives pages of the
 * app from it, and never touches what the server answers under /api and /feed.
 */
import { createOutbox } from './outbox.ts'
import type { Author } from './send.ts'
import { openStore } from './store.ts'

declare const self: ServiceWorkerGlobalScope
/** Filled in by the build. */
declare const SHELL: readonly string[]
declare const EDITION: string

const SHELF = `leesway-${EDITION}`
const OURS = 'leesway-'

self.addEventListener('install', (event) => {
  // All or none: half an edition would be a broken page. Asked past the browser's own cache.
  event.waitUntil(
    caches.open(SHELF).then((shelf) => shelf.addAll(SHELL.map((path) => new Request(path, { cache: 'reload' })))),
  )
})

self.addEventListener('activate', (event) => {
  event.waitUntil(
    (async () => {
      for (const name of await caches.keys()) if (name.startsWith(OURS) && name !== SHELF) await caches.delete(name)
      await self.clients.claim()
    })(),
  )
})

self.addEventListener('fetch', (event) => {
  const { request } = event
  const url = new URL(request.url)
  if (request.method !== 'GET' || url.origin !== location.origin || isServers(url.pathname)) return
  if (request.mode === 'navigate') event.respondWith(fromShelf('/', request))
  else if (SHELL.includes(url.pathname)) event.respondWith(fromShelf(url.pathname, request))
})

const isServers = (path: string) => /^\/(api|feed|healthz|readyz)(\/|$)/.test(path)

const fromShelf = async (path: string, request: Request): Promise<Response> =>
  (await (await caches.open(SHELF)).match(path)) ?? fetch(request)

// An edition waits until nobody uses the old one, or until somebody says that they want it now.
self.addEventListener('message', (event) => {
  if (event.data === 'take-over') void self.skipWaiting()
})

interface SyncEvent extends ExtendableEvent {
  readonly tag: string
}

// Where the browser has it: sends what waits although no page is open.
self.addEventListener('sync' as never, (event: SyncEvent) => {
  if (event.tag === 'outbox') event.waitUntil(sendFromHere())
})

async function sendFromHere(): Promise<void> {
  const store = await openStore()
  try {
    const author = await store.meta<Author>('author')
    const outbox = createOutbox({
      store,
      fetch: (path, init) => fetch(path, init),
      nowMs: () => Date.now(),
      newId: () => crypto.randomUUID(),
      alone: (work) => navigator.locks.request('leesway-outbox', work) as ReturnType<typeof work>,
      author: () => author,
      changed: () => new BroadcastChannel('leesway-floor').postMessage('changed'),
    })
    const { end } = await outbox.send()
    // Thrown, so that the browser tries again later.
    if (end === 'later' || end === 'not-ours') throw new Error(end)
  } finally {
    store.close()
  }
}
