import { For, Show } from 'solid-js'
import { msOfWire } from './model.ts'
import type { Words } from './words.ts'

export interface Difference {
  readonly key: string
  readonly lotCode: string
  readonly name: string
  readonly startAt: string
  readonly grain: 'day' | 'minute'
  readonly fromStartAt: string | null
  readonly fromGrain: 'day' | 'minute'
  readonly gone: boolean
  readonly people: readonly string[]
  readonly fromPeople: readonly string[]
}

/** A trial in words: what it changes, and every task it would move, with where it stands now. */
export function Differences(props: {
  readonly name: string
  readonly words: readonly string[]
  readonly changed: readonly Difference[]
  readonly form: Words
  readonly trialHref: string
  readonly onPick: (key: string) => void
}) {
  const sorted = () => props.changed.toSorted((a, b) => a.startAt.localeCompare(b.startAt))
  return (
    <aside class="differences" aria-label={`Trial: ${props.name}`}>
      <header>
        <h2>Trial: {props.name}</h2>
        <p class="quiet">
          The plan drawn is the trial. Lines under the bands and rings beside the pegs show where things stand now.
        </p>
        <p>
          <a href={props.trialHref}>Compare and decide</a> <a href="/season">The real plan</a>
        </p>
      </header>
      <Show when={props.words.length > 0}>
        <ul class="said">
          <For each={props.words}>{(sentence) => <li>{sentence}</li>}</For>
        </ul>
      </Show>
      <h3>{props.changed.length === 0 ? 'No task would move' : `${props.changed.length} tasks would change`}</h3>
      <ul>
        <For each={sorted()}>
          {(task) => (
            <li>
              <button type="button" disabled={task.gone} onClick={() => props.onPick(task.key)}>
                <strong>
                  {task.lotCode === 'house' ? 'House' : task.lotCode} {task.name}
                </strong>
                <span>{wordsOf(task, props.form)}</span>
              </button>
            </li>
          )}
        </For>
      </ul>
    </aside>
  )
}

function wordsOf(task: Difference, form: Words): string {
  const at = (moment: string, grain: Difference['grain']) =>
    grain === 'day' ? form.dayShort(msOfWire(moment)) : form.moment(msOfWire(moment))
  const now = at(task.startAt, task.grain)
  if (task.fromStartAt === null) return `new, ${now}`
  const then = at(task.fromStartAt, task.fromGrain)
  if (task.gone) return `no longer needed; now ${then}`
  return then === now ? `${now}, other people` : `${then} \u2192 ${now}`
}
