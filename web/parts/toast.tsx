import { createSignal, For, onCleanup, Show } from 'solid-js'
import { problemOf } from '../api.ts'
import { say } from '../words/words.ts'
import { Button } from './button.tsx'

interface Toast {
  readonly id: number
  readonly words: string
  readonly undo?: () => void
}

// Undo is offered for a minute, so that a tick with a wet glove can be taken back at the next vessel.
const UNDO_MS = 60_000
const WORDS_MS = 7_000
const MOST = 3

const [toasts, setToasts] = createSignal<readonly Toast[]>([])
let count = 0

export const dropToast = (id: number) => setToasts((now) => now.filter((entry) => entry.id !== id))

/** Says what happened, and offers to take it back. */
export function toast(words: string, undo?: () => void): void {
  count += 1
  const id = count
  setToasts((now) => [...now.slice(1 - MOST), { id, words, undo }])
  setTimeout(() => dropToast(id), undo ? UNDO_MS : WORDS_MS)
}

export function toastError(error: unknown): void {
  const problem = problemOf(error)
  const where = problem.errors?.[0]
  toast([problem.title, problem.detail, where?.detail].filter(Boolean).join(' — '))
}

export function Toasts() {
  const undoLast = (event: KeyboardEvent) => {
    const typing = event.target instanceof Element && event.target.closest('input, textarea, select, [contenteditable]')
    if (typing || event.key !== 'z' || !(event.ctrlKey || event.metaKey) || event.shiftKey) return
    const last = toasts().findLast((entry) => entry.undo)
    if (!last) return
    event.preventDefault()
    dropToast(last.id)
    last.undo?.()
  }
  window.addEventListener('keydown', undoLast)
  onCleanup(() => window.removeEventListener('keydown', undoLast))
  return (
    <section class="toasts" role="status" aria-label="What just happened">
      <For each={toasts()}>
        {(entry) => (
          <div class="toast">
            <p>{entry.words}</p>
            <Show when={entry.undo}>
              <Button
                onClick={() => {
                  dropToast(entry.id)
                  entry.undo?.()
                }}
              >
                {say('undo')}
              </Button>
            </Show>
            <Button kind="plain" aria-label="Dismiss" onClick={() => dropToast(entry.id)}>
              ×
            </Button>
          </div>
        )}
      </For>
    </section>
  )
}
