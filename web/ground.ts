import { createSignal } from 'solid-js'

/** Day is warm paper; night is for eyes used to the dark of a cellar. */
export type Ground = 'day' | 'night'

const KEY = 'leesway-ground'
const dark = globalThis.matchMedia?.('(prefers-color-scheme: dark)')
const stored = (): Ground | null => {
  try {
    const kept = localStorage.getItem(KEY)
    return kept === 'day' || kept === 'night' ? kept : null
  } catch {
    return null // storage may be closed to us; then the device decides
  }
}
const wanted = (): Ground => stored() ?? (dark?.matches ? 'night' : 'day')

const [ground, setGround] = createSignal<Ground>(wanted())

export { ground }

function apply(next: Ground): void {
  document.documentElement.dataset.ground = next
  setGround(next)
}

/** Follows the device until somebody taps; the tap is remembered on this device. */
export function followGround(): void {
  apply(wanted())
  dark?.addEventListener('change', () => apply(wanted()))
}

export function switchGround(): void {
  const next = ground() === 'day' ? 'night' : 'day'
  try {
    localStorage.setItem(KEY, next)
  } catch {
    // not kept; it still holds until the page is closed
  }
  apply(next)
}
