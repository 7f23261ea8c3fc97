import { A, useSearchParams } from '@solidjs/router'
import { useQueryClient } from '@tanstack/solid-query'
import { createMemo, createSignal, For, Show } from 'solid-js'
import type { ReadingWire, TaskWire } from '../../api/wire.ts'
import type { Problem } from '../api.ts'
import { addDays, startOfDay } from '../format.ts'
import { sheetTasks } from '../pages/day-sheet.tsx'
import { Button } from '../parts/button.tsx'
import { Select } from '../parts/field.tsx'
import { PageHead } from '../parts/page-head.tsx'
import { ScrollX } from '../parts/scroll-x.tsx'
import { Ask, Failed } from '../parts/states.tsx'
import { useAllReadings, usePeople, useTasks, useVessels } from '../queries.ts'
import { useSession } from '../session.tsx'
import { say, sayCaution, sayStep, tongue } from '../words/words.ts'
import { fateOf, tellTask } from './send.ts'
import { SheetLine } from './sheet-line.tsx'
import { doubtsOf, isUnread, isWrongTime, type SheetRow, sheetBody, timeOf } from './sheet-row.ts'
import { tasksOf, whoseOf } from './walk.ts'

const EMPTY: SheetRow = {
  time: '',
  caution: false,
  values: {},
  amounts: {},
  batches: {},
  litres: '',
  source: '',
  note: '',
}

/** The paper typed back in: one form, the rows as printed, Enter to the next blank, Ctrl+Enter writes the whole sheet. */
export function SheetPage() {
  const session = useSession()
  const [params] = useSearchParams<{ day?: string; person?: string }>()
  const on = () => params.day ?? session.today()
  const zone = () => session.cellar().zone
  const tasks = useTasks(() => ({
    from: startOfDay(addDays(on(), -30), zone()),
    to: startOfDay(addDays(on(), 1), zone()),
  }))
  const people = usePeople()
  const vessels = useVessels()
  const readings = useAllReadings()
  const crowd = () => ({
    people: (people.dataUpdatedAt > 0 && people.data?.people) || [],
    vessels: (vessels.dataUpdatedAt > 0 && vessels.data?.vessels) || [],
  })
  return (
    <div class="floor sheet-in" lang={tongue()}>
      <p class="floor-back">
        <A href={`/today?${new URLSearchParams({ day: on(), person: params.person ?? '' })}`} class="button plain">
          ‹ {say('today')}
        </A>
      </p>
      <PageHead title={say('typeSheet')} lede={say('typeSheetLede')} />
      <Ask query={tasks} what={say('daysWork')}>
        {(answer) => (
          <Sheet
            tasks={sheetTasks(
              tasksOf(answer().tasks, whoseOf(params.person ?? ''), crowd()),
              on(),
              zone(),
              session.nowMs(),
            )}
            on={on()}
            person={whoseOf(params.person ?? '').kind === 'person' ? (params.person ?? '') : session.person().id}
            people={crowd().people}
            readings={(readings.dataUpdatedAt > 0 && readings.data?.readings) || []}
          />
        )}
      </Ask>
    </div>
  )
}

function Sheet(props: {
  readonly tasks: readonly TaskWire[]
  readonly on: string
  readonly person: string
  readonly people: readonly { readonly id: string; readonly name: string }[]
  readonly readings: readonly ReadingWire[]
}) {
  const session = useSession()
  const client = useQueryClient()
  const format = session.format
  // The rows stay as they were when the sheet was opened: what is written moves the plan under it.
  const [rows] = createSignal(props.tasks)
  const [typed, setTyped] = createSignal<Readonly<Record<string, SheetRow>>>({})
  const [sent, setSent] = createSignal<Readonly<Record<string, string>>>({})
  const [asked, setAsked] = createSignal<ReadonlySet<string>>(new Set())
  const [who, setWho] = createSignal(props.person)
  const [busy, setBusy] = createSignal(false)
  const [failed, setFailed] = createSignal<Problem>()
  let form: HTMLFormElement | undefined
  const row = (key: string) => typed()[key] ?? EMPTY
  const change = (key: string, next: Partial<SheetRow>) =>
    setTyped((now) => ({ ...now, [key]: { ...(now[key] ?? EMPTY), ...next } }))
  const isRefused = (key: string) => {
    const opId = sent()[key]
    return opId !== undefined && fateOf(opId, key).state === 'refused'
  }
  const isSettled = (key: string) => sent()[key] !== undefined && !isRefused(key)
  const doubts = (task: TaskWire) => doubtsOf(task, row(task.key), props.readings, format(), session.nowMs())
  const filled = createMemo(() => rows().filter((task) => row(task.key).time.trim() !== '' && !isSettled(task.key)))
  const mayWrite = () =>
    filled().length > 0 && !filled().some((task) => isWrongTime(row(task.key)) || isUnread(task, row(task.key)))

  const write = async () => {
    if (!mayWrite() || busy()) return
    setBusy(true)
    const again = new Set(asked())
    for (const task of filled()) {
      // What is hard to believe is asked about once, the other rows are written.
      if (doubts(task).length > 0 && !asked().has(task.key)) {
        again.add(task.key)
        continue
      }
      const told = row(task.key)
      const when = { atLocal: `${props.on}T${timeOf(told.time) ?? '00:00'}`, people: [who()] }
      if (task.caution !== '' && task.state !== 'underway') {
        await tellTask(
          task,
          'caution',
          { ...when, reason: sayCaution(task.caution).slice(0, 1000) },
          say('cautionKept'),
        )
      }
      const label = [say('doneSaid'), sayStep(task), task.lotCode].filter(Boolean).join(', ')
      const answer = await tellTask(task, 'done', sheetBody(task, told, when, format()), label)
      if (answer.state === 'noted') setSent((now) => ({ ...now, [task.key]: answer.opId }))
      else setFailed(answer.problem)
    }
    setAsked(again)
    setBusy(false)
    void client.invalidateQueries()
  }
  const keyed = (event: KeyboardEvent) => {
    if (event.key !== 'Enter' || !(event.target instanceof HTMLInputElement)) return
    event.preventDefault()
    if (event.ctrlKey || event.metaKey) return void write()
    const blanks = [...(form?.querySelectorAll<HTMLInputElement>('input:not([disabled])') ?? [])]
    blanks[blanks.indexOf(event.target) + 1]?.focus()
  }
  return (
    <form ref={form} onKeyDown={keyed} onSubmit={(event) => event.preventDefault()}>
      <Select
        label={say('doneBy')}
        class="short"
        value={who()}
        options={props.people.map((person) => ({ value: person.id, label: person.name }))}
        onInput={setWho}
      />
      <Show when={rows().length > 0} fallback={<p>{say('nothingToday')}</p>}>
        <ScrollX label={say('typeSheet')}>
          <table class="ledger sheet-rows">
            <thead>
              <tr>
                <th>{say('no')}</th>
                <th>{say('vessel')}</th>
                <th>{say('work')}</th>
                <th>{say('doneAt')}</th>
                <th>{say('writtenDown')}</th>
                <th>{say('note')}</th>
              </tr>
            </thead>
            <tbody>
              <For each={rows()}>
                {(task, at) => (
                  <SheetLine
                    n={at() + 1}
                    task={task}
                    row={row(task.key)}
                    opId={sent()[task.key]}
                    isSettled={isSettled(task.key)}
                    isRefused={isRefused(task.key)}
                    isAsked={asked().has(task.key)}
                    doubts={doubts(task)}
                    onChange={(next) => change(task.key, next)}
                  />
                )}
              </For>
            </tbody>
          </table>
        </ScrollX>
      </Show>
      <Show when={failed()}>
        {(problem) => <Failed error={Object.assign(new Error(''), { problem: problem() })} />}
      </Show>
      <div class="floor-acts">
        <Button kind="main" big pending={busy()} disabled={!mayWrite()} onClick={() => void write()}>
          {say('writeRows', { n: filled().length })}
        </Button>
        <span class="quiet">{say('enterNext')}</span>
      </div>
    </form>
  )
}
