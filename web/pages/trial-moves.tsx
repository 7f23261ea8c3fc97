import { For, Show } from 'solid-js'
import { Folio } from '../parts/page-head.tsx'
import { useSession } from '../session.tsx'
import type { MovedWire } from '../trial-queries.ts'
import { LATER_WORDS, startWords } from '../when.ts'

const MOST = 60

/** Each task that would move; what is unticked stays where it is. */
export function Moves(props: {
  readonly changed: readonly MovedWire[]
  readonly kept: ReadonlySet<string>
  readonly keep: (key: string, stays: boolean) => void
  readonly nameOf: (id: string) => string
  readonly mayDecide: boolean
  readonly open: (key: string) => void
}) {
  const session = useSession()
  const shown = () => [...props.changed].sort((a, b) => (a.startAt < b.startAt ? -1 : 1)).slice(0, MOST)
  const mayStay = (task: MovedWire) => props.mayDecide && !task.gone && task.fromStartAt !== null
  return (
    <Folio
      title="What would change"
      note={
        props.changed.length === 0
          ? 'Nothing'
          : `${props.changed.length} tasks. Untick one to leave it where it is, as a pin`
      }
    >
      <Show when={props.changed.length > 0} fallback={<p>No task would move.</p>}>
        <table class="ledger folds">
          <thead>
            <tr>
              <th>Moves</th>
              <th>Work</th>
              <th>From</th>
              <th>To</th>
              <th>By</th>
              <th>Why</th>
            </tr>
          </thead>
          <tbody>
            <For each={shown()}>
              {(task) => (
                <tr>
                  <td>
                    <Show when={mayStay(task)} fallback={<span class="quiet">{task.gone ? 'gone' : 'new'}</span>}>
                      <input
                        type="checkbox"
                        aria-label={`${task.lotCode} ${task.name} moves`}
                        checked={!props.kept.has(task.key)}
                        onChange={(event) => props.keep(task.key, !event.currentTarget.checked)}
                      />
                    </Show>
                  </td>
                  <th scope="row">
                    <Show when={task.fromStartAt !== null} fallback={`${task.lotCode} ${task.name}`}>
                      <button type="button" class="link" onClick={() => props.open(task.key)}>
                        {task.lotCode} {task.name}
                      </button>
                    </Show>
                  </th>
                  <td class="nowrap" data-label="From">
                    {task.fromStartAt
                      ? startWords({ startAt: task.fromStartAt, grain: task.fromGrain }, session.format())
                      : 'new'}
                  </td>
                  <td class="nowrap" data-label="To">
                    {task.gone ? 'not needed' : startWords(task, session.format())}
                  </td>
                  <td data-label="By">{handsWords(task, props.nameOf)}</td>
                  <td class="small">{task.gone ? '' : task.why}</td>
                </tr>
              )}
            </For>
          </tbody>
        </table>
        <Show when={props.changed.length > MOST}>
          <p class="quiet">and {props.changed.length - MOST} more, later in the season</p>
        </Show>
      </Show>
    </Folio>
  )
}

/** `Kim → Sam`; of work that is planned to the day nobody is named. */
function handsWords(task: MovedWire, nameOf: (id: string) => string): string {
  const names = (ids: readonly string[], grain: MovedWire['grain']) =>
    grain === 'day' && task.crew > 0 ? LATER_WORDS : ids.map(nameOf).join(', ') || 'nobody'
  const [was, is] = [names(task.fromPeople, task.fromGrain), names(task.people, task.grain)]
  if (task.gone) return was
  return task.fromStartAt === null || was === is ? is : `${was} → ${is}`
}
