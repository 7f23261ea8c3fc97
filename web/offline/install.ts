/** Puts the service worker in place, and says when a newer edition waits. */
import { createSignal } from 'solid-js'

const [newer, setNewer] = createSignal<ServiceWorker>()

/** A newer edition of the screens has been read and waits. */
export { newer }

/** Takes the newer edition; the page loads anew. Call only when nothing waits to be sent. */
export function takeNewer(): void {
  navigator.serviceWorker.addEventListener('controllerchange', () => location.reload(), { once: true })
  newer()?.postMessage('take-over')
}

const LOOK_MS = 60 * 60_000

export async function installWorker(): Promise<void> {
  if (!import.meta.env.WORKER || !('serviceWorker' in navigator)) return
  const registration = await navigator.serviceWorker.register('/worker.js').catch(() => undefined)
  if (!registration) return
  const waits = (worker: ServiceWorker | null) => {
    if (!worker) return
    const look = () => {
      if (worker.state === 'installed' && navigator.serviceWorker.controller) setNewer(worker)
    }
    worker.addEventListener('statechange', look)
    look()
  }
  waits(registration.waiting)
  registration.addEventListener('updatefound', () => waits(registration.installing))
  setInterval(() => void registration.update().catch(() => {}), LOOK_MS)
}

interface SyncManager {
  readonly register: (tag: string) => Promise<void>
}

/** Asks the browser to send later, also when the page is closed by then. Not every browser can. */
export async function askSync(): Promise<void> {
  if (!('serviceWorker' in navigator) || !navigator.serviceWorker.controller) return
  const registration = (await navigator.serviceWorker.ready) as ServiceWorkerRegistration & {
    readonly sync?: SyncManager
  }
  await registration.sync?.register('outbox').catch(() => {})
}
