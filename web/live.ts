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
  let newest = -1
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
  const changed = (event: MessageEvent<string>) => {
    const revision = revisionOf(event.data)
    if (revision !== undefined && revision <= newest) return
    newest = revision ?? newest
    void client.invalidateQueries()
  }

  source.addEventListener('open', heard)
  source.addEventListener('error', missed)
  source.addEventListener('message', changed)
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

function revisionOf(text: string): number | undefined {
  try {
    const value: unknown = JSON.parse(text)
    if (typeof value === 'number') return value
    if (typeof value === 'object' && value !== null && 'revision' in value && typeof value.revision === 'number')
      return value.revision
  } catch {
    // not ours; ask again to be safe
  }
  return undefined
}
