import { For } from 'solid-js'
import type { Model } from './model.ts'
import { startIn } from './outline.ts'
import type { Words } from './words.ts'

/** Tasks too close together for a peg each. */
export function ClusterList(props: {
  readonly model: Model
  readonly members: readonly number[]
  readonly words: Words
  readonly onPick: (ix: number) => void
  readonly onClose: () => void
}) {
  return (
    <div class="cluster" role="dialog" aria-label={`${props.members.length} tasks close together`}>
      <header>
        <strong>{props.members.length} tasks</strong>
        <button type="button" onClick={() => props.onClose()}>
          Close
        </button>
      </header>
      <ul>
        <For each={props.members}>
          {(ix) => (
            <li>
              <button type="button" onClick={() => props.onPick(ix)}>
                <span>{startIn(props.model, ix, props.words)}</span> {props.model.plan.tasks[ix]?.name}
              </button>
            </li>
          )}
        </For>
      </ul>
    </div>
  )
}
