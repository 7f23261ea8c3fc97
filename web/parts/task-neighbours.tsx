import { createMemo, For, Show } from 'solid-js'
import type { TaskWire } from '../../api/wire.ts'
import { useTasks } from '../queries.ts'
import { useSession } from '../session.tsx'
import { Button } from './button.tsx'
import { PegMark, pegState } from './peg-mark.tsx'

/** What a task waits for and what follows it, two links each way. */
export function Neighbours(props: { readonly task: TaskWire; readonly onOpen?: (key: string) => void }) {
  const session = useSession()
  const tasks = useTasks(() => (props.task.lotId ? { lot: props.task.lotId } : {}))
  const byKey = createMemo(
    () => new Map(((tasks.dataUpdatedAt > 0 && tasks.data?.tasks) || []).map((entry) => [entry.key, entry])),
  )
  const List = (list: { readonly title: string; readonly keys: readonly string[] }) => (
    <Show when={list.keys.length > 0}>
      <div>
        <h3>{list.title}</h3>
        <ul>
          <For each={[...new Set(list.keys)]}>
            {(key) => {
              const entry = () => byKey().get(key)
              const words = () => {
                const found = entry()
                return found ? `${found.name}, ${session.format().dayMonth(found.startAt)}` : key
              }
              return (
                <li class="near-task">
                  <Show when={entry()}>{(found) => <PegMark family={found().family} state={pegState(found())} />}</Show>
                  <Show when={props.onOpen} fallback={<span>{words()}</span>}>
                    <Button kind="plain" onClick={() => props.onOpen?.(key)}>
                      {words()}
                    </Button>
                  </Show>
                </li>
              )
            }}
          </For>
        </ul>
      </div>
    </Show>
  )
  /** One link further on: what those wait for, what those lead to. */
  const further = (side: 'prev' | 'next') => {
    const near = props.task[side]
    const far = near.flatMap((key) => byKey().get(key)?.[side] ?? [])
    return [...new Set(far)].filter((key) => key !== props.task.key && !near.includes(key))
  }
  return (
    <>
      <List title="Waits for" keys={props.task.prev} />
      <List title="And those for" keys={further('prev')} />
      <List title="Then follow" keys={props.task.next} />
      <List title="And after those" keys={further('next')} />
    </>
  )
}
