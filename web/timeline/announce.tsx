import { createSignal, onCleanup } from 'solid-js'

export interface Announcing {
  say(sentence: string): void
  refuse(sentence: string): void
  polite(): string
  assertive(): string
}

const GAP_MS = 500

/** One sentence at a time, at most every half second; the last one wins. A refusal is said at once. */
export function createAnnouncer(): Announcing {
  const [polite, setPolite] = createSignal('')
  const [assertive, setAssertive] = createSignal('')
  let waiting: string | undefined
  let timer: ReturnType<typeof setTimeout> | undefined
  const flush = () => {
    timer = undefined
    if (waiting === undefined) return
    setPolite(waiting)
    waiting = undefined
    timer = setTimeout(flush, GAP_MS)
  }
  onCleanup(() => clearTimeout(timer))
  return {
    polite,
    assertive,
    say: (sentence) => {
      waiting = sentence
      setAssertive('')
      if (timer === undefined) flush()
    },
    refuse: (sentence) => {
      setAssertive(sentence)
    },
  }
}

export function Announcer(props: { readonly of: Announcing }) {
  return (
    <>
      <p class="visually-hidden" role="status" aria-live="polite" data-announce="polite">
        {props.of.polite()}
      </p>
      <p class="visually-hidden" role="alert" data-announce="assertive">
        {props.of.assertive()}
      </p>
    </>
  )
}
