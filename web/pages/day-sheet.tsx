import { createMemo, For, onCleanup, Show } from 'solid-js'
import type { PersonWire, TaskWire } from '../../api/wire.ts'
import { fitOnPrint } from '../floor/fit-sheet.ts'
import { namesOf, readingWord } from '../floor/floor-words.ts'
import { isTopping, movesLitres } from '../floor/litres.ts'
import { isOpen, movesWine, placesOf } from '../floor/walk.ts'
import { VesselTags } from '../parts/tag.tsx'
import { kindsFor, readingInput } from '../readings.ts'
import { useSession } from '../session.tsx'
import { isByDay } from '../when.ts'
import { say, sayCaution, sayDoseWhy, sayStep, sayThing } from '../words/words.ts'
import { partsOfDay } from './day-parts.ts'

/** The rows of a sheet, in the order in which they are printed and typed back in. */
export function sheetTasks(tasks: readonly TaskWire[], on: string, zone: string, nowMs: number): readonly TaskWire[] {
  const parts = partsOfDay(tasks, on, zone, nowMs)
  return [...parts.late, ...parts.before, ...parts.underway, ...parts.rest].filter(isOpen)
}

const asks = (task: TaskWire): boolean => isTopping(task) || movesLitres(task)

type Names = ReadonlyMap<string, Pick<PersonWire, 'name'>>

interface Sheet {
  readonly title: string
  /** With their number on the whole list, by which they are typed back in. */
  readonly rows: readonly { readonly n: number; readonly task: TaskWire }[]
}

/**
 * One sheet a person, by who leads a task; what nobody has yet on one of its own. Nobody carries the whole cellar's
 * list. Numbers are those of the whole list.
 */
export function sheetsOf(tasks: readonly TaskWire[], people: Names, nobody: string): readonly Sheet[] {
  const sheets = new Map<string, { n: number; task: TaskWire }[]>()
  for (const [at, task] of tasks.entries()) {
    const who = task.taken?.personId ?? task.people[0] ?? ''
    sheets.set(who, [...(sheets.get(who) ?? []), { n: at + 1, task }])
  }
  return [...sheets].map(([who, rows]) => ({ title: who === '' ? nobody : (people.get(who)?.name ?? who), rows }))
}

/** The clock goes on all day, and seldom changes what is on paper. */
const isSamePaper = (a: readonly Sheet[], b: readonly Sheet[]): boolean =>
  a.length === b.length &&
  a.every((sheet, i) => {
    const other = b[i]!
    return (
      sheet.title === other.title &&
      sheet.rows.length === other.rows.length &&
      sheet.rows.every((row, j) => row.n === other.rows[j]!.n && row.task === other.rows[j]!.task)
    )
  })

/** The day on paper: a sheet a person where it is everybody's list, else the list that is shown. */
export function DaySheets(props: {
  readonly tasks: readonly TaskWire[]
  readonly on: string
  readonly title: string
  readonly isEverybody: boolean
  readonly people: Names
}) {
  const session = useSession()
  const sheets = createMemo(
    (): readonly Sheet[] => {
      const tasks = sheetTasks(props.tasks, props.on, session.cellar().zone, session.nowMs())
      if (props.isEverybody) return sheetsOf(tasks, props.people, say('nobodyYet'))
      return [{ title: props.title, rows: tasks.map((task, at) => ({ n: at + 1, task })) }]
    },
    [],
    { equals: isSamePaper },
  )
  onCleanup(fitOnPrint(() => [...document.querySelectorAll<HTMLElement>('section.sheet')]))
  return <For each={sheets()}>{(sheet) => <DaySheet sheet={sheet} on={props.on} people={props.people} />}</For>
}

/** The list on one A4 sheet with blanks: vessels huge, room to write, for when the phone is soaked. */
function DaySheet(props: { readonly sheet: Sheet; readonly on: string; readonly people: Names }) {
  const session = useSession()
  const format = session.format
  const tasks = () => props.sheet.rows.map((row) => row.task)
  const cautions = () => [...new Set(tasks().flatMap((task) => (task.caution ? [task.caution] : [])))]
  const mark = (caution: string) => (caution === '' ? '' : String.fromCharCode(65 + (cautions().indexOf(caution) % 26)))
  return (
    <section class="print-only sheet" aria-hidden="true">
      <header class="sheet-head">
        <b>{props.sheet.title}</b> {format().dayWithYear(props.on)} · {session.cellar().name} ·{' '}
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
          <For each={props.sheet.rows}>
            {({ n, task }) => (
              <tr>
                <td>{n}</td>
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
                        <div class="small quiet">{sayDoseWhy(dose, format().number)}</div>
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
                  {isByDay(task) ? say('inTheDay') : format().span(task.startAt, task.endAt)}
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
