import { useQueryClient } from '@tanstack/solid-query'
import { createSignal, onCleanup } from 'solid-js'

const [offline, setOffline] = createSignal(false)

/** True while the server cannot be heard: what is on screen is the last that was read. */
export { offline }

/** Long enough that a server restart does not flash a banner. */
const PATIENCE_MS = 2_500

/** Listens for new plan revisions and asks again for what is on screen. Call once, while somebody is signed in. */
export function createLive(): void {
  const client = useQueryClient()
  let lost = false
  let timer: ReturnType<typeof setTimeout> | undefined
  const source = new EventSource('/api/changes')

  const heard = () => {
    clearTimeout(timer)
    timer = undefined
    setOffline(false)
    if (lost) void client.invalidateQueries()
    lost = false
  }
  const missed = () => {
    lost = true
    timer ??= setTimeout(() => setOffline(true), PATIENCE_MS)
  }
  // The stream opens by telling the revision as it is; only later ones are news.
  const changed = (event: MessageEvent<string>) => {
    if (event.lastEventId !== 'now') void client.invalidateQueries()
  }

  source.addEventListener('open', heard)
  source.addEventListener('error', missed)
  source.addEventListener('change', changed)
  window.addEventListener('offline', missed)
  window.addEventListener('online', heard)
  onCleanup(() => {
    clearTimeout(timer)
    source.close()
    window.removeEventListener('offline', missed)
    window.removeEventListener('online', heard)
  })
}
