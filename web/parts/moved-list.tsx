import { For, Show } from 'solid-js'
import type { TaskWire } from '../../api/wire.ts'

const MOST = 8

/** What a new reading did to the plan: each moved task with why, from and to. */
export function MovedList(props: { readonly changed: readonly TaskWire[]; readonly what: string }) {
  const moved = () => props.changed.filter((task) => task.change?.toStartAt === task.startAt)
  return (
    <div class="note" role="status">
      <p>
        <b>{props.what}</b>{' '}
        {moved().length === 0
          ? 'No task moved.'
          : `${moved().length} ${moved().length === 1 ? 'task' : 'tasks'} moved:`}
      </p>
      <Show when={moved().length > 0}>
        <ul class="stack tight">
          <For each={moved().slice(0, MOST)}>
            {(task) => (
              <li class="small">
                <b>
                  {task.lotCode} {task.name}
                </b>
                : {task.change?.words}
              </li>
            )}
          </For>
          <Show when={moved().length > MOST}>
            <li class="small quiet">and {moved().length - MOST} more; each says why in its panel</li>
          </Show>
        </ul>
      </Show>
    </div>
  )
}
