import { type JSX, Show } from 'solid-js'

/** What the page is called, what it tells, what may be done on it. */
export function PageHead(props: {
  readonly title: JSX.Element
  readonly lede?: JSX.Element
  readonly children?: JSX.Element
}) {
  return (
    <header class="page-head">
      <div>
        <h1>{props.title}</h1>
        <Show when={props.lede}>
          <p class="lede">{props.lede}</p>
        </Show>
      </div>
      <Show when={props.children}>
        <div class="row no-print">{props.children}</div>
      </Show>
    </header>
  )
}

/** A part of a page: its name in the margin, its entries on the sheet. */
export function Folio(props: { readonly title: string; readonly note?: JSX.Element; readonly children: JSX.Element }) {
  return (
    <section class="folio">
      <header>
        <h2>{props.title}</h2>
        <Show when={props.note}>
          <p>{props.note}</p>
        </Show>
      </header>
      <div class="stack">{props.children}</div>
    </section>
  )
}
