import { Show } from 'solid-js'
import { type Kept, STATE_WORDS } from './index.ts'

/** Read without colour: each has a sign of its own, and words. */
const SIGNS: Readonly<Record<Kept['state'], string>> = {
  phone: '◷',
  sending: '↑',
  stored: '✓',
  check: '!',
  refused: '✕',
}

export function OpState(props: { readonly op: Kept }) {
  return (
    <span class="op-state" data-state={props.op.state}>
      <span aria-hidden="true">{SIGNS[props.op.state]}</span> {STATE_WORDS[props.op.state]}
      <Show when={props.op.state === 'check' || props.op.state === 'refused' ? props.op.words : undefined}>
        {(words) => <span class="op-words">{words()}</span>}
      </Show>
    </span>
  )
}
