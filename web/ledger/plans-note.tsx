import { For, Show } from 'solid-js'
import type { LotRefWire } from '../../api/wire.ts'
import { isOpen } from '../parts/task-work.tsx'
import { useTasks } from '../queries.ts'
import { useSession } from '../session.tsx'
import { startWords } from '../when.ts'

const NEXT = 3

/** What is still to do in a lot whose wine parts or joins: how much of a plan goes on, and what comes next. */
export function PlanLeft(props: { readonly lot: LotRefWire; readonly ends: boolean; readonly goesOnIn: string }) {
  const session = useSession()
  const tasks = useTasks(() => ({ lot: props.lot.id }))
  const open = () => ((tasks.dataUpdatedAt > 0 && tasks.data?.tasks) || []).filter(isOpen)
  const next = () => [...open()].sort((a, b) => (a.startAt < b.startAt ? -1 : 1)).slice(0, NEXT)
  // Not yet read is not nothing to do.
  const isRead = () => tasks.dataUpdatedAt > 0 && !tasks.isPlaceholderData
  return (
    <Show when={isRead()} fallback={<p class="quiet">Reading the plan of {props.lot.code} …</p>}>
      <p>
        <b>{props.lot.code}</b> has {open().length} {open().length === 1 ? 'task' : 'tasks'} still to do.{' '}
        {props.ends ? 'Its plan ends' : 'Its own plan goes on with what is left of it'}
        {props.goesOnIn && `; ${props.goesOnIn}`}.
      </p>
      <Show when={next().length > 0}>
        <ul class="small">
          <For each={next()}>
            {(task) => (
              <li>
                {startWords(task, session.format())} {task.name}
              </li>
            )}
          </For>
        </ul>
      </Show>
    </Show>
  )
}
