import { useQueryClient } from '@tanstack/solid-query'
import { createSignal, onCleanup } from 'solid-js'
import type { StorageTrouble } from '../api/wire.ts'
import { heardServer } from './api.ts'

const [offline, setOffline] = createSignal(false)

/** True while the server cannot be heard: what is on screen is the last that was read. */
export { offline }

const [trouble, setTrouble] = createSignal<StorageTrouble | null>(null)

/** What keeps the server from storing, as it says itself. */
export { trouble }
/** A plan in the making that takes long: how far it is, 0 to 1, or `waits` while that is not known. */
export type Planning = number | 'waits'

const [planning, setPlanning] = createSignal<Planning>()

export { planning }

/** Long enough that a server restart does not flash a banner. */
const PATIENCE_MS = 2_500

/** A page that a network puts in between ends the stream for good: it is opened anew. */
const REOPEN_MS = 5_000

/**
 * Listens for new plan revisions and asks again for what is on screen. Call once, while somebody is signed in.
 *
 * @param fresh called when the server is heard, and when something changed
 */
export function createLive(fresh: () => void = () => {}): void {
  const client = useQueryClient()
  let lost = false
  let timer: ReturnType<typeof setTimeout> | undefined
  let reopen: ReturnType<typeof setTimeout> | undefined
  let source: EventSource

  const heard = () => {
    heardServer()
    clearTimeout(timer)
    timer = undefined
    setOffline(false)
    setTrouble(null)
    if (lost) void client.invalidateQueries()
    if (lost) setPlanning(undefined)
    lost = false
    fresh()
  }
  const missed = () => {
    lost = true
    timer ??= setTimeout(() => setOffline(true), PATIENCE_MS)
    if (source.readyState !== EventSource.CLOSED) return
    clearTimeout(reopen)
    reopen = setTimeout(listen, REOPEN_MS)
  }
  // The stream opens by telling the revision as it is; only later ones are news.
  const changed = (event: MessageEvent<string>) => {
    if (event.lastEventId === 'now') return
    void client.invalidateQueries()
    fresh()
  }
  const storing = (event: MessageEvent<string>) => {
    const before = trouble()
    setTrouble((JSON.parse(event.data) as { trouble: StorageTrouble | null }).trouble)
    // What was asked for in between may have failed.
    if (before !== null && trouble() === null) void client.invalidateQueries()
  }
  const told = (event: MessageEvent<string>) => {
    const { share, isOver } = JSON.parse(event.data) as { readonly share?: number; readonly isOver: boolean }
    setPlanning(isOver ? undefined : (share ?? 'waits'))
  }
  const listen = () => {
    source = new EventSource('/api/changes')
    source.addEventListener('open', heard)
    source.addEventListener('error', missed)
    source.addEventListener('change', changed)
    source.addEventListener('storage', storing)
    source.addEventListener('planning', told)
  }

  listen()
  window.addEventListener('offline', missed)
  window.addEventListener('online', heard)
  onCleanup(() => {
    clearTimeout(timer)
    clearTimeout(reopen)
    source.close()
    window.removeEventListener('offline', missed)
    window.removeEventListener('online', heard)
  })
}
