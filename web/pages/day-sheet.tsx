import { For, Show } from 'solid-js'
import type { TaskWire } from '../../api/wire.ts'
import { VesselTags } from '../parts/tag.tsx'
import { isOpen } from '../parts/task-work.tsx'
import { kindsFor, readingInput } from '../readings.ts'
import { useSession } from '../session.tsx'
import { partsOfDay } from './day-parts.ts'

/** The list on one A4 sheet with blanks: vessels huge, room to write, for when the phone is soaked. */
export function DaySheet(props: {
  readonly tasks: readonly TaskWire[]
  readonly on: string
  readonly title: string
  readonly nameOf: ReadonlyMap<string, string>
}) {
  const session = useSession()
  const tasks = () => {
    const parts = partsOfDay(props.tasks, props.on, session.cellar().zone, session.nowMs())
    return [...parts.late, ...parts.underway, ...parts.before, ...parts.rest].filter(isOpen)
  }
  return (
    <section class="print-only sheet" aria-hidden="true">
      <header class="sheet-head">
        <b>{props.title}</b> {session.format().dayWithYear(props.on)} · {session.cellar().name} · printed{' '}
        {session.format().time(session.nowMs())}
      </header>
      <table class="ledger">
        <thead>
          <tr>
            <th>Vessel</th>
            <th>Work</th>
            <th>When</th>
            <th>Written down</th>
            <th>Done, by</th>
          </tr>
        </thead>
        <tbody>
          <For each={tasks()}>
            {(task) => (
              <tr>
                <td>
                  <VesselTags
                    codes={[...task.fromVessels, ...task.toVessels.filter((code) => !task.fromVessels.includes(code))]}
                    most={4}
                  />
                </td>
                <td>
                  <b>{task.name}</b> {task.lotCode}
                  <For each={task.doses}>
                    {(dose) => (
                      <div>
                        {session.format().number(dose.amount, 2)} {dose.unit} {dose.product}
                      </div>
                    )}
                  </For>
                  <Show when={task.caution}>
                    <div>! {task.caution}</div>
                  </Show>
                </td>
                <td>
                  {session.format().span(task.startAt, task.endAt)}
                  <div>{task.people.map((id) => props.nameOf.get(id) ?? id).join(', ')}</div>
                </td>
                <td>
                  <For each={kindsFor(task.records, session.format())}>
                    {(kind) => (
                      <div>
                        {readingInput(kind, session.format()).label} ________{' '}
                        {readingInput(kind, session.format()).unit}
                      </div>
                    )}
                  </For>
                </td>
                <td>□ ________</td>
              </tr>
            )}
          </For>
        </tbody>
      </table>
    </section>
  )
}
