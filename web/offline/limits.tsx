import { createResource, For, Show } from 'solid-js'
import type { Word } from '../words/types.ts'
import { say } from '../words/words.ts'

interface Apple {
  readonly standalone?: boolean
}

const isApple = () =>
  /iPhone|iPad/.test(navigator.userAgent) || (/Mac/.test(navigator.userAgent) && navigator.maxTouchPoints > 1)
const isInstalled = () => matchMedia('(display-mode: standalone)').matches || (navigator as Apple).standalone === true

/** Above this share of its room a phone may refuse the next photo. */
const FULL = 0.8

/** What this phone cannot promise, in words, before somebody relies on it. */
export async function limitsOf(): Promise<readonly Word[]> {
  const words: Word[] = []
  if (!('serviceWorker' in navigator)) {
    words.push('limitSignal')
  }
  // Source: WebKit, "Full Third-Party Cookie Blocking and More" (2020): what scripts store is removed after seven days
  // of use of the browser without a visit; pages on the home screen count their own days.
  if (isApple() && !isInstalled()) {
    words.push('limitHome')
  }
  if (isApple()) words.push('limitClosed')
  const persisted = await navigator.storage?.persisted?.().catch(() => false)
  if (persisted === false && !isApple()) {
    words.push('limitClear')
  }
  const room = await navigator.storage?.estimate?.().catch(() => undefined)
  if (room?.quota && (room.usage ?? 0) / room.quota > FULL) {
    words.push('limitFull')
  }
  return words
}

/** Under a finger, not a mouse. */
const isPhone = () => typeof matchMedia === 'function' && matchMedia('(pointer: coarse)').matches

/** @param props.phonesOnly says nothing on a desk, where nobody relies on it */
export function PhoneLimits(props: { readonly phonesOnly?: boolean }) {
  const [limits] = createResource(async () => (props.phonesOnly && !isPhone() ? [] : limitsOf()))
  return (
    <Show when={(limits.latest?.length ?? 0) > 0}>
      <div class="quiet">
        <h3>{say('aboutPhone')}</h3>
        <ul>
          <For each={limits.latest}>{(word) => <li>{say(word)}</li>}</For>
        </ul>
      </div>
    </Show>
  )
}
