import { A } from '@solidjs/router'
import { useQueryClient } from '@tanstack/solid-query'
import { createMemo, createSignal, For, Show } from 'solid-js'
import type { ReadingWire, TaskWire } from '../../api/wire.ts'
import { startOfDay, taskHref } from '../format.ts'
import { cellKey, nextCell, typedNumber } from '../pages/lab-grid.ts'
import { Badge } from '../parts/badge.tsx'
import { Button } from '../parts/button.tsx'
import { Check } from '../parts/field.tsx'
import { Folio } from '../parts/page-head.tsx'
import { ScrollX } from '../parts/scroll-x.tsx'
import { Ask } from '../parts/states.tsx'
import { useAllReadings, useTasks } from '../queries.ts'
import { doubt, kindsFor, lastReading, readingInput, sayReading } from '../readings.ts'
import { useSession } from '../session.tsx'
import { isByDay } from '../when.ts'
import { say, sayCaution, sayStep } from '../words/words.ts'
import { FateLine } from './fate-line.tsx'
import { doubtWords, readingWord } from './floor-words.ts'
import { samplesWaiting, untilOf } from './lab-queue.ts'
import { SampleLabels } from './sample-labels.tsx'
import { fateOf, tellTask } from './send.ts'
import { placesOf } from './walk.ts'

/** A rack holds twenty. */
const RACK = 20

/** Samples that wait, by urgency: labels for the rack, and its results by keyboard; each goes to the task that waits for it. */
export function LabSamples() {
  const session = useSession()
  const zone = () => session.cellar().zone
  const tasks = useTasks(() => ({
    from: startOfDay(session.dayFromNow(-30), zone()),
    to: startOfDay(session.dayFromNow(3), zone()),
  }))
  const readings = useAllReadings()
  return (
    <Ask query={tasks} what={say('samples')}>
      {(answer) => (
        <Rack
          samples={samplesWaiting(answer().tasks, session.nowMs()).slice(0, RACK)}
          readings={(readings.dataUpdatedAt > 0 && readings.data?.readings) || []}
        />
      )}
    </Ask>
  )
}

function Rack(props: { readonly samples: readonly TaskWire[]; readonly readings: readonly ReadingWire[] }) {
  const session = useSession()
  const client = useQueryClient()
  const format = session.format
  const whenOf = (task: TaskWire) => {
    const until = untilOf(task, session.nowMs())
    return until === undefined
      ? isByDay(task)
        ? say('inTheDay')
        : format().span(task.startAt, task.endAt)
      : say('until', { when: format().moment(until) })
  }
  const [typed, setTyped] = createSignal<Readonly<Record<string, string>>>({})
  const [sent, setSent] = createSignal<Readonly<Record<string, string>>>({})
  const [asked, setAsked] = createSignal<ReadonlySet<string>>(new Set())
  const [seen, setSeen] = createSignal(false)
  const [busy, setBusy] = createSignal(false)
  const [isLabelled, setLabelled] = createSignal(false)
  const kindsOf = (task: TaskWire) => kindsFor(task.records, format())
  const kinds = createMemo(() => [...new Set(props.samples.flatMap(kindsOf))])
  const valuesOf = (task: TaskWire) =>
    kindsOf(task).flatMap((kind) => {
      const shown = typedNumber(typed()[cellKey(task.key, kind)] ?? '')
      return shown === undefined ? [] : [{ kind, value: readingInput(kind, format()).stored(shown) }]
    })
  const doubts = (task: TaskWire) => {
    const own = props.readings.filter((reading) => reading.lotId === task.lotId)
    return valuesOf(task).flatMap(({ kind, value }) => {
      const words = doubt(kind, value, session.nowMs(), lastReading(own, kind))
      return words ? [doubtWords(words, kind, format())] : []
    })
  }
  const filled = createMemo(() => props.samples.filter((task) => valuesOf(task).length > 0))
  const cautions = () => [...new Set(filled().flatMap((task) => (task.caution ? [task.caution] : [])))]
  const isRefused = (key: string) => {
    const opId = sent()[key]
    return opId !== undefined && fateOf(opId, key).state === 'refused'
  }
  const mayWrite = () => filled().length > 0 && (cautions().length === 0 || seen()) && session.works()

  const write = async () => {
    if (!mayWrite() || busy()) return
    setBusy(true)
    const again = new Set(asked())
    for (const task of filled()) {
      // What is hard to believe is asked about once; the other results go to their tasks.
      if (doubts(task).length > 0 && !asked().has(task.key)) {
        again.add(task.key)
        continue
      }
      if (task.caution) {
        const reason = sayCaution(task.caution).slice(0, 1000)
        await tellTask(task, 'caution', { reason }, say('cautionKept'))
      }
      const all = valuesOf(task)
      // A task is done when all it asks for is there; until then its results stand beside it.
      const isAll = all.length === kindsOf(task).length
      const answer = await tellTask(
        task,
        isAll ? 'done' : 'note',
        {
          readings: all.map((one) => ({ ...one, confirmed: true })),
          ...(isAll ? {} : { note: say('partOfResults') }),
        },
        [sayStep(task), task.lotCode].join(', '),
      )
      if (answer.state !== 'noted') continue
      setSent((now) => ({ ...now, [task.key]: answer.opId }))
      setTyped((now) => Object.fromEntries(Object.entries(now).filter(([key]) => !key.startsWith(`${task.key} `))))
    }
    setAsked(again)
    setBusy(false)
    void client.invalidateQueries()
  }

  let table: HTMLTableElement | undefined
  const keyed = (event: KeyboardEvent, row: number, column: number) => {
    if (event.key === 'Enter' && (event.ctrlKey || event.metaKey)) {
      event.preventDefault()
      return void write()
    }
    const down = event.key === 'ArrowUp' ? 'ArrowUp' : event.key
    let at = { row, column }
    // Cells that a sample does not ask for are stepped over.
    for (let step = 0; step < props.samples.length * kinds().length; step += 1) {
      const next = nextCell(at, down, props.samples.length, kinds().length)
      if (!next) return
      const input = table?.querySelector<HTMLInputElement>(`[data-sample="${next.row}/${next.column}"]`)
      if (input) {
        event.preventDefault()
        input.focus()
        input.select()
        return
      }
      at = next
    }
  }

  return (
    <Folio title={say('samples')} note={say('samplesNote', { n: props.samples.length })}>
      <Show when={props.samples.length > 0} fallback={<p class="quiet">{say('noSamples')}</p>}>
        <div class="row no-print">
          <Button
            onClick={() => {
              setLabelled(true)
              requestAnimationFrame(() => window.print())
            }}
          >
            {say('printLabels', { n: props.samples.length })}
          </Button>
        </div>
        <ScrollX label={say('samples')}>
          <table class="ledger lab-sheet no-print" ref={table}>
            <thead>
              <tr>
                <th>{say('sample')}</th>
                <For each={kinds()}>
                  {(kind) => (
                    <th class="n">
                      {readingWord(kind, format())}{' '}
                      <span class="quiet nowrap">{readingInput(kind, format()).unit}</span>
                    </th>
                  )}
                </For>
              </tr>
            </thead>
            <tbody>
              <For each={props.samples}>
                {(task, row) => (
                  <tr data-task={task.key} classList={{ bad: isRefused(task.key) }}>
                    <th scope="row">
                      <A href={taskHref(task.key)}>
                        {task.lotCode} {placesOf(task).slice(0, 2).join(' ')}
                      </A>{' '}
                      <span class="quiet">{sayStep(task)}</span>
                      <div class="small">
                        <Show when={task.late} fallback={whenOf(task)}>
                          <Badge kind="late">{say('late')}</Badge>
                        </Show>
                        <FateLine opId={sent()[task.key]} taskKey={task.key} />
                        <For each={doubts(task)}>{(words) => <p class="late-text">{words}</p>}</For>
                        <Show when={asked().has(task.key) && doubts(task).length > 0}>
                          <p role="alert">{say('writeAgainStands')}</p>
                        </Show>
                      </div>
                    </th>
                    <For each={kinds()}>
                      {(kind, column) => (
                        <td class="n">
                          <Show when={kindsOf(task).includes(kind)} fallback={<span class="quiet">–</span>}>
                            <input
                              class="input"
                              inputmode="decimal"
                              autocomplete="off"
                              data-sample={`${row()}/${column()}`}
                              aria-label={`${task.lotCode} ${sayStep(task)} ${readingWord(kind, format())}`}
                              disabled={!session.works()}
                              value={typed()[cellKey(task.key, kind)] ?? ''}
                              onInput={(event) =>
                                setTyped((now) => ({ ...now, [cellKey(task.key, kind)]: event.currentTarget.value }))
                              }
                              onKeyDown={(event) => keyed(event, row(), column())}
                            />
                            <span class="hint">
                              <Show
                                when={lastReading(
                                  props.readings.filter((r) => r.lotId === task.lotId),
                                  kind,
                                )}
                                fallback="–"
                              >
                                {(last) => sayReading(last(), format())}
                              </Show>
                            </span>
                          </Show>
                        </td>
                      )}
                    </For>
                  </tr>
                )}
              </For>
            </tbody>
          </table>
        </ScrollX>
        <div class="stack no-print">
          <Show when={cautions().length > 0}>
            <div class="note caution">
              <For each={cautions()}>{(caution) => <p>{sayCaution(caution)}</p>}</For>
              <Check label={say('cautionRead')} checked={seen()} onInput={setSeen} />
            </div>
          </Show>
          <Button kind="main" pending={busy()} disabled={!mayWrite()} onClick={() => void write()}>
            {say('writeSamples', { n: filled().length })}
          </Button>
        </div>
        <Show when={isLabelled()}>
          <SampleLabels samples={props.samples} />
        </Show>
      </Show>
    </Folio>
  )
}
