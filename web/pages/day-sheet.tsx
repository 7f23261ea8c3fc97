import { For, Show } from 'solid-js'
import type { PersonWire, TaskWire } from '../../api/wire.ts'
import { namesOf, readingWord } from '../floor/floor-words.ts'
import { isTopping, movesLitres } from '../floor/litres.ts'
import { isOpen, movesWine, placesOf } from '../floor/walk.ts'
import { VesselTags } from '../parts/tag.tsx'

import { kindsFor, readingInput } from '../readings.ts'
import { useSession } from '../session.tsx'
import { say, sayCaution, sayStep, sayThing } from '../words/words.ts'
import { partsOfDay } from './day-parts.ts'

/** The rows of a sheet, in the order in which they are printed and typed back in. */
export function sheetTasks(tasks: readonly TaskWire[], on: string, zone: string, nowMs: number): readonly TaskWire[] {
  const parts = partsOfDay(tasks, on, zone, nowMs)
  return [...parts.late, ...parts.before, ...parts.underway, ...parts.rest].filter(isOpen)
}

const asks = (task: TaskWire): boolean => isTopping(task) || movesLitres(task)

/** The list on one A4 sheet with blanks: vessels huge, room to write, for when the phone is soaked. */
export function DaySheet(props: {
  readonly tasks: readonly TaskWire[]
  readonly on: string
  readonly title: string
  readonly people: ReadonlyMap<string, Pick<PersonWire, 'name'>>
}) {
  const session = useSession()
  const format = session.format
  const tasks = () => sheetTasks(props.tasks, props.on, session.cellar().zone, session.nowMs())
  const cautions = () => [...new Set(tasks().flatMap((task) => (task.caution ? [task.caution] : [])))]
  const mark = (caution: string) => (caution === '' ? '' : String.fromCharCode(65 + (cautions().indexOf(caution) % 26)))
  return (
    <section class="print-only sheet" aria-hidden="true">
      <header class="sheet-head">
        <b>{props.title}</b> {format().dayWithYear(props.on)} · {session.cellar().name} ·{' '}
        {say('printedAt', { time: format().time(session.nowMs()) })}
      </header>
      <table class="ledger">
        <thead>
          <tr>
            <th>{say('no')}</th>
            <th>{say('vessel')}</th>
            <th>{say('work')}</th>
            <th>{say('when')}</th>
            <th>{say('writtenDown')}</th>
            <th>{say('doneAtBy')}</th>
          </tr>
        </thead>
        <tbody>
          <For each={tasks()}>
            {(task, row) => (
              <tr>
                <td>{row() + 1}</td>
                <td>
                  <VesselTags
                    codes={placesOf(task).length > 0 ? placesOf(task) : task.lotId ? [task.lotCode] : []}
                    most={3}
                  />
                  <Show when={movesWine(task)}>
                    {' → '}
                    <VesselTags codes={task.toVessels} most={3} />
                  </Show>
                </td>
                <td>
                  <b>{sayStep(task)}</b> {task.lotId ? task.lotCode : ''}
                  <For each={task.doses}>
                    {(dose) => (
                      <div>
                        {format().dose(dose.amount, dose.unit)} {sayThing(dose.product)}, {say('batchNo')} ______
                      </div>
                    )}
                  </For>
                  <Show when={task.caution}>
                    <div>
                      ! {say('caution')} {mark(task.caution)} □
                    </div>
                  </Show>
                </td>
                <td>
                  {format().span(task.startAt, task.endAt)}
                  <div>{namesOf(task.people, props.people)}</div>
                </td>
                <td>
                  <For each={kindsFor(task.records, format()).filter((kind) => kind !== 'volume' || !asks(task))}>
                    {(kind) => (
                      <div>
                        {readingWord(kind, format())} ______ {readingInput(kind, format()).unit}
                      </div>
                    )}
                  </For>
                  <Show when={isTopping(task)}>
                    <div>{say('toppedFrom')} ______</div>
                  </Show>
                  <Show when={asks(task)}>
                    <div>
                      {isTopping(task) ? say('toppedWith') : say('litresArrived')} ______ {format().volumeUnit}
                    </div>
                  </Show>
                </td>
                <td>□ __:__ ____</td>
              </tr>
            )}
          </For>
        </tbody>
      </table>
      <For each={cautions()}>
        {(caution) => (
          <p class="sheet-caution">
            <b>{mark(caution)}</b> {sayCaution(caution)}
          </p>
        )}
      </For>
    </section>
  )
}
