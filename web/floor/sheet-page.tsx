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
import { kindsFor, readingInput } from '../readings.ts'
import { useSession } from '../session.tsx'
import { say, sayCaution, sayStep, sayThing, tongue } from '../words/words.ts'
import { FateLine } from './fate-line.tsx'
import { readingWord } from './floor-words.ts'
import { isTopping, movesLitres } from './litres.ts'
import { fateOf, tellTask } from './send.ts'
import { doubtsOf, type SheetRow, sheetBody, timeOf } from './sheet-row.ts'
import { placesOf, tasksOf, whoseOf } from './walk.ts'

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

const asksLitres = (task: TaskWire): boolean => isTopping(task) || movesLitres(task)

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
  const wrongTime = (key: string) => row(key).time.trim() !== '' && timeOf(row(key).time) === undefined
  const unread = (task: TaskWire) =>
    row(task.key).time.trim() !== '' && task.caution !== '' && task.state !== 'underway' && !row(task.key).caution
  const mayWrite = () => filled().length > 0 && !filled().some((task) => wrongTime(task.key) || unread(task))

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
                  <tr data-row={task.key} classList={{ bad: isRefused(task.key) }}>
                    <td>{at() + 1}</td>
                    <td class="sheet-vessel">
                      {placesOf(task).slice(0, 3).join(' ') || (task.lotId ? task.lotCode : '–')}
                      {task.fromVessels.length > 0 && task.toVessels.length > 0
                        ? ` → ${task.toVessels.slice(0, 3).join(' ')}`
                        : ''}
                    </td>
                    <th scope="row">
                      {sayStep(task)} <span class="quiet">{task.lotId ? task.lotCode : ''}</span>
                      <div class="small quiet">{format().span(task.startAt, task.endAt)}</div>
                      <FateLine opId={sent()[task.key]} taskKey={task.key} />
                      <For each={doubts(task)}>{(words) => <div class="small late-text">{words}</div>}</For>
                      <Show when={asked().has(task.key) && !isSettled(task.key)}>
                        <div class="small" role="alert">
                          {say('writeAgainStands')}
                        </div>
                      </Show>
                    </th>
                    <td>
                      <input
                        class="input sheet-time"
                        inputmode="numeric"
                        autocomplete="off"
                        placeholder="hh:mm"
                        data-time
                        aria-label={`${say('doneAt')} ${sayStep(task)} ${task.lotCode}`}
                        aria-invalid={wrongTime(task.key) || undefined}
                        disabled={isSettled(task.key)}
                        value={row(task.key).time}
                        onInput={(event) => change(task.key, { time: event.currentTarget.value })}
                      />
                      <Show when={task.caution && task.state !== 'underway'}>
                        <label class="check small">
                          <input
                            type="checkbox"
                            data-caution
                            disabled={isSettled(task.key)}
                            checked={row(task.key).caution}
                            onChange={(event) => change(task.key, { caution: event.currentTarget.checked })}
                          />
                          <span classList={{ 'late-text': unread(task) }}>{say('cautionOnPaper')}</span>
                        </label>
                      </Show>
                    </td>
                    <td>
                      <div class="sheet-blanks">
                        <For
                          each={kindsFor(task.records, format()).filter(
                            (kind) => kind !== 'volume' || !asksLitres(task),
                          )}
                        >
                          {(kind) => (
                            <Blank
                              label={`${readingWord(kind, format())} ${readingInput(kind, format()).unit}`}
                              name={kind}
                              disabled={isSettled(task.key)}
                              value={row(task.key).values[kind] ?? ''}
                              onInput={(value) =>
                                change(task.key, { values: { ...row(task.key).values, [kind]: value } })
                              }
                            />
                          )}
                        </For>
                        <Show when={isTopping(task)}>
                          <Blank
                            label={say('toppedFrom')}
                            name="source"
                            disabled={isSettled(task.key)}
                            value={row(task.key).source}
                            onInput={(source) => change(task.key, { source })}
                          />
                        </Show>
                        <Show when={asksLitres(task)}>
                          <Blank
                            label={`${isTopping(task) ? say('toppedWith') : say('litresArrived')} ${format().volumeUnit}`}
                            name="litres"
                            disabled={isSettled(task.key)}
                            value={row(task.key).litres}
                            onInput={(litres) => change(task.key, { litres })}
                          />
                        </Show>
                        <For each={task.doses}>
                          {(dose) => (
                            <>
                              <Blank
                                label={`${sayThing(dose.product)} ${format().doseScale(dose.amount, dose.unit).unit}`}
                                name={`dose ${dose.product}`}
                                hint={format().dose(dose.amount, dose.unit)}
                                disabled={isSettled(task.key)}
                                value={row(task.key).amounts[dose.product] ?? ''}
                                onInput={(value) =>
                                  change(task.key, { amounts: { ...row(task.key).amounts, [dose.product]: value } })
                                }
                              />
                              <Blank
                                label={say('batchNo')}
                                name={`batch ${dose.product}`}
                                disabled={isSettled(task.key)}
                                value={row(task.key).batches[dose.product] ?? ''}
                                onInput={(value) =>
                                  change(task.key, { batches: { ...row(task.key).batches, [dose.product]: value } })
                                }
                              />
                            </>
                          )}
                        </For>
                      </div>
                    </td>
                    <td>
                      <Blank
                        label={say('note')}
                        name="note"
                        disabled={isSettled(task.key)}
                        value={row(task.key).note}
                        onInput={(note) => change(task.key, { note })}
                      />
                    </td>
                  </tr>
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

function Blank(props: {
  readonly label: string
  readonly name: string
  readonly hint?: string
  readonly value: string
  readonly disabled: boolean
  readonly onInput: (value: string) => void
}) {
  return (
    <label class="sheet-blank">
      <span class="small">{props.label}</span>
      <input
        class="input"
        autocomplete="off"
        inputmode={
          props.name === 'note' || props.name === 'source' || props.name.startsWith('batch') ? 'text' : 'decimal'
        }
        data-blank={props.name}
        placeholder={props.hint ?? ''}
        disabled={props.disabled}
        value={props.value}
        onInput={(event) => props.onInput(event.currentTarget.value)}
      />
    </label>
  )
}
