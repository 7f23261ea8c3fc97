import { Show } from 'solid-js'
import type { Preview } from './acts.ts'
import type { Model } from './model.ts'
import { isMoved, type Move } from './move.ts'
import type { Words } from './words.ts'

/** What is said of a move while it is held: the rule in words, and what the whole plan would do. */
export function MoveBox(props: {
  readonly move: Move
  readonly model: Model
  readonly words: Words
  readonly held: boolean
  readonly preview: Preview | undefined
  readonly onFollows: (andFollows: boolean) => void
  readonly onNearest: (ms: number) => void
  readonly onKeep: () => void
  readonly onCancel: () => void
}) {
  const person = () => props.model.plan.people.find((p) => p.id === props.move.person)?.name
  const nearest = () => (props.move.verdict.level === 'no' ? props.move.verdict.nearestMs : undefined)
  return (
    <div
      class="verdict"
      classList={{ no: props.move.verdict.level === 'no' }}
      onPointerDown={(event) => event.stopPropagation()}
    >
      <p>
        <strong>
          {props.words.moment(props.move.startMs)}
          {person() ? `, ${person()}` : ''}
          {props.move.vessel ? `, into ${props.move.vessel}` : ''}
        </strong>{' '}
        {props.move.verdict.words}
        <Show when={props.preview}>{(seen) => <span class="server"> {seen().words}</span>}</Show>
      </p>
      <Show when={props.held}>
        <fieldset class="which" aria-label="What moves">
          <button type="button" aria-pressed={!props.move.andFollows} onClick={() => props.onFollows(false)}>
            Only this
          </button>
          <button type="button" aria-pressed={props.move.andFollows} onClick={() => props.onFollows(true)}>
            And what follows
          </button>
        </fieldset>
        <span class="acts">
          <Show when={nearest()}>
            {(ms) => (
              <button type="button" onClick={() => props.onNearest(ms())}>
                Nearest allowed: {props.words.moment(ms())}
              </button>
            )}
          </Show>
          <button
            type="button"
            class="keep"
            disabled={!isMoved(props.move, props.model)}
            onClick={() => props.onKeep()}
          >
            Keep
          </button>
          <button type="button" onClick={() => props.onCancel()}>
            Leave it
          </button>
        </span>
      </Show>
    </div>
  )
}
