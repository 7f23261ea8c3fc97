import type { JSX } from 'solid-js'

export function Badge(props: { readonly kind?: 'late' | 'strong'; readonly children: JSX.Element }) {
  return <span class={`badge ${props.kind ?? ''}`}>{props.children}</span>
}
