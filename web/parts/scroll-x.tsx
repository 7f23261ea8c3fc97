import type { JSX } from 'solid-js'

/** A table that may be wider than the page: the table scrolls, never the page; the keyboard can scroll it too. */
export function ScrollX(props: { readonly label: string; readonly children: JSX.Element }) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a part that scrolls must be reachable by keyboard (WCAG 2.1.1)
    <section class="scroll-x" tabIndex={0} aria-label={props.label}>
      {props.children}
    </section>
  )
}
