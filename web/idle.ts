/** A shared phone that is laid down locks by itself. */
import { useQueryClient } from '@tanstack/solid-query'
import { createEffect, onCleanup } from 'solid-js'
import { post } from './api.ts'
import { offline } from './live.ts'
import { toastError } from './parts/toast.tsx'

/** Long enough to carry a hose, short enough that the next one does not write under this name. Chosen by us. */
const IDLE_MS = 5 * 60_000
const LOOK_MS = 10_000

/** Locks this phone, and shows who may take it. */
export function useLock(): () => Promise<void> {
  const client = useQueryClient()
  return async () => {
    try {
      await post('/api/device/lock')
      await client.invalidateQueries({ queryKey: ['me'] })
    } catch (error) {
      toastError(error)
    }
  }
}

/** Call once, while somebody is signed in. Without a connection nobody could come back in, so it waits for one. */
export function createIdleLock(shared: () => boolean): void {
  const lock = useLock()
  createEffect(() => {
    if (!shared()) return
    let touchedMs = Date.now()
    const touched = () => {
      touchedMs = Date.now()
    }
    const look = setInterval(() => {
      if (Date.now() - touchedMs > IDLE_MS && !offline()) void lock()
    }, LOOK_MS)
    window.addEventListener('pointerdown', touched)
    window.addEventListener('keydown', touched)
    onCleanup(() => {
      clearInterval(look)
      window.removeEventListener('pointerdown', touched)
      window.removeEventListener('keydown', touched)
    })
  })
}
