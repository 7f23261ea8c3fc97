import { createResource, For, Show } from 'solid-js'

interface Apple {
  readonly standalone?: boolean
}

const isApple = () =>
  /iPhone|iPad/.test(navigator.userAgent) || (/Mac/.test(navigator.userAgent) && navigator.maxTouchPoints > 1)
const isInstalled = () => matchMedia('(display-mode: standalone)').matches || (navigator as Apple).standalone === true

/** Above this share of its room a phone may refuse the next photo. */
const FULL = 0.8

/** What this phone cannot promise, in words, before somebody relies on it. */
export async function limitsOf(): Promise<readonly string[]> {
  const words: string[] = []
  if (!('serviceWorker' in navigator)) {
    words.push('This page opens only with a signal: it is not reached over https, or this browser cannot keep pages.')
  }
  // Source: WebKit, "Full Third-Party Cookie Blocking and More" (2020): what scripts store is removed after seven days
  // of use of the browser without a visit; pages on the home screen count their own days.
  if (isApple() && !isInstalled()) {
    words.push(
      'On an iPhone or iPad put Leesway on the home screen (Share, then Add to Home Screen) and open it from there: otherwise Safari removes what is kept here after seven days without a visit.',
    )
  }
  if (isApple()) words.push('On an iPhone nothing is sent while Leesway is closed: open it where there is a signal.')
  const persisted = await navigator.storage?.persisted?.().catch(() => false)
  if (persisted === false && !isApple()) {
    words.push(
      'This browser may clear what is kept here when the phone runs out of room. Installing Leesway lowers that risk.',
    )
  }
  const room = await navigator.storage?.estimate?.().catch(() => undefined)
  if (room?.quota && (room.usage ?? 0) / room.quota > FULL) {
    words.push('This phone is nearly full: send what waits, and make room before taking photos.')
  }
  return words
}

export function PhoneLimits() {
  const [limits] = createResource(limitsOf)
  return (
    <Show when={(limits.latest?.length ?? 0) > 0}>
      <div class="quiet">
        <h3>About this phone</h3>
        <ul>
          <For each={limits.latest}>{(words) => <li>{words}</li>}</For>
        </ul>
      </div>
    </Show>
  )
}
