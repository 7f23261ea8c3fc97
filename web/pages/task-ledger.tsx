import { For, Show } from 'solid-js'
import type { TaskWire } from '../../api/wire.ts'
import { Badge } from '../parts/badge.tsx'
import { FAMILY_WORDS, PegMark, pegState } from '../parts/peg-mark.tsx'
import { VesselTags } from '../parts/tag.tsx'
import { isOpen } from '../parts/task-work.tsx'
import { usePeople } from '../queries.ts'
import { useSession } from '../session.tsx'
import { isByDay, startWords } from '../when.ts'

/** Tasks as entries of a ledger, by time. */
export function TaskLedger(props: { readonly tasks: readonly TaskWire[]; readonly open: (key: string) => void }) {
  const session = useSession()
  const people = usePeople()
  const format = session.format
  const inOrder = () =>
    [...props.tasks].sort((a, b) => a.startAt.localeCompare(b.startAt) || a.key.localeCompare(b.key))
  const names = (ids: readonly string[]) =>
    ids
      .map((id) => (people.dataUpdatedAt > 0 && people.data?.people.find((person) => person.id === id)?.name) || id)
      .join(', ')
  return (
    <Show when={props.tasks.length > 0} fallback={<p class="quiet">Nothing to do.</p>}>
      <table class="ledger folds">
        <thead>
          <tr>
            <th>When</th>
            <th>Work</th>
            <th>In</th>
            <th>Who</th>
            <th>Mind</th>
          </tr>
        </thead>
        <tbody>
          <For each={inOrder()}>
            {(task) => (
              <tr data-task={task.key}>
                <td class="nowrap">
                  {startWords(task, format())}
                  <Show when={task.spread}>
                    {(spread) => (
                      <div class="small quiet">{format().dayRange(spread().earliestAt, spread().latestAt)}</div>
                    )}
                  </Show>
                </td>
                <th scope="row">
                  <PegMark family={task.family} state={pegState(task)} name={FAMILY_WORDS[task.family]} />{' '}
                  <button type="button" class="link" onClick={() => props.open(task.key)}>
                    {task.name}
                  </button>
                </th>
                <td>
                  <VesselTags codes={task.fromVessels.length ? task.fromVessels : task.toVessels} most={3} />
                  <Show
                    when={
                      task.toVessels.length > 0 &&
                      task.fromVessels.length > 0 &&
                      task.toVessels.join() !== task.fromVessels.join()
                    }
                  >
                    <span aria-hidden="true"> → </span>
                    <VesselTags codes={task.toVessels} most={3} />
                  </Show>
                </td>
                <td>
                  <Show when={isByDay(task)} fallback={names(task.donePeople ?? task.people)}>
                    <span class="quiet">not yet dealt out</span>
                  </Show>
                </td>
                <td>
                  <span class="row">
                    <Show when={!isOpen(task)}>
                      <Badge>
                        {task.state === 'done' ? 'done' : task.state === 'skipped' ? 'left out' : 'cancelled'}
                      </Badge>
                    </Show>
                    <Show when={isOpen(task) && task.late}>
                      <Badge kind="late">late</Badge>
                    </Show>
                    <Show when={task.state === 'underway'}>
                      <Badge kind="strong">under way</Badge>
                    </Show>
                    <Show when={task.pinned}>
                      <Badge>pinned</Badge>
                    </Show>
                    <Show when={isOpen(task) && task.broken.length > 0}>
                      <Badge kind={task.broken.some((entry) => entry.strength === 'hard') ? 'late' : undefined}>
                        {task.broken.length} broken
                      </Badge>
                    </Show>
                  </span>
                </td>
              </tr>
            )}
          </For>
        </tbody>
      </table>
    </Show>
  )
}
