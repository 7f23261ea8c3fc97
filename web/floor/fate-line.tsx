import { For, Show } from 'solid-js'
import { ofTask } from '../offline/index.ts'
import type { Word } from '../words/types.ts'
import { say } from '../words/words.ts'
import { fateWords } from './floor-words.ts'
import { type Fate, fateOf } from './send.ts'

/** A sign of its own for each, beside the words: read without colour. */
const SHOWN: Readonly<Record<Fate, readonly [sign: string, word: Word]>> = {
  phone: ['◷', 'opPhone'],
  sending: ['↑', 'opSending'],
  stored: ['✓', 'stored'],
  check: ['!', 'opCheck'],
  refused: ['✕', 'refused'],
}

/** Where something noted is now: on this phone, with the server, or not accepted and why. */
export function FateLine(props: { readonly opId: string | undefined; readonly taskKey?: string }) {
  return (
    <Show when={props.opId}>
      {(opId) => {
        const fate = () => fateOf(opId(), props.taskKey)
        return (
          <span
            class="op-state"
            data-state={fate().state}
            role="status"
            classList={{ 'late-text': fate().state === 'refused' }}
          >
            <span aria-hidden="true">{SHOWN[fate().state][0]}</span> {say(SHOWN[fate().state][1])}
            <Show when={fate().words && (fate().state === 'refused' || fate().state === 'check')}>
              {' '}
              {fateWords(fate())}
            </Show>
          </span>
        )
      }}
    </Show>
  )
}

/** Of all that was told of a task: what asks to be looked at, and the newest of the rest. */
export function FateLines(props: { readonly taskKey: string }) {
  const shown = () => {
    const all = ofTask(props.taskKey)
    const asks = all.filter((op) => op.state === 'refused' || op.state === 'check')
    const newest = all
      .filter((op) => !asks.includes(op) && op.kind !== 'caution')
      .toSorted((a, b) => b.occurredAt.localeCompare(a.occurredAt))
    return [...asks, ...newest.slice(0, 1)]
  }
  return <For each={shown()}>{(op) => <FateLine opId={op.opId} taskKey={props.taskKey} />}</For>
}
