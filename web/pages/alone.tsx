import { type JSX, Show } from 'solid-js'

/** A page outside the book: one person, one thing to do. */
export function Alone(props: { readonly title: string; readonly lede?: JSX.Element; readonly children: JSX.Element }) {
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
