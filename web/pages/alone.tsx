import { createEffect, type JSX, onMount, Show } from 'solid-js'
import { speakAsDevice, tongue } from '../words/words.ts'

/** A page outside the book: one person, one thing to do. */
export function Alone(props: {
  readonly title: string
  readonly lede?: JSX.Element
  /** Its words are in English alone. */
  readonly english?: boolean
  readonly children: JSX.Element
}) {
  onMount(() => props.english || speakAsDevice())
  createEffect(() => {
    document.title = `${props.title} – Leesway`
    document.documentElement.lang = props.english ? 'en' : tongue()
  })
  return (
    <main class="alone" id="page">
      <header>
        <p class="wordmark">Leesway</p>
        <h1>{props.title}</h1>
        <Show when={props.lede}>
          <p class="quiet">{props.lede}</p>
        </Show>
      </header>
      <div class="stack">{props.children}</div>
    </main>
  )
}
