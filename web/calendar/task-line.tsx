import { For, Show } from 'solid-js'
import { PegMark, pegState } from '../parts/peg-mark.tsx'
import type { Model } from '../timeline/model.ts'
import { lengthWords, type Words } from '../timeline/words.ts'
import { isByDay } from '../when.ts'
import type { Round } from './rounds.ts'

/** One task, or one round over several lots, as a line: when, what, where; who on a day's own page. */
export function TaskLine(props: {
  readonly model: Model
  readonly round: Round
  readonly words: Words
  readonly long?: boolean
  readonly onOpen: (key: string) => void
}) {
  const first = () => props.round.members[0] as number
  const task = () => props.model.plan.tasks[first()]
  const startMs = () => props.model.startMs[first()] as number
  const isOver = () => props.model.state[first()] === 3
  const isLate = () => task()?.late === true && !isOver()
  const people = () => {
    const ids = new Set(props.round.members.flatMap((ix) => props.model.plan.tasks[ix]?.people ?? []))
    return [...ids].map((id) => props.model.plan.people.find((p) => p.id === id)?.name ?? id)
  }
  return (
    <Show when={task()}>
      {(row) => (
        <li class="task-line" classList={{ over: isOver(), late: isLate() }}>
          <span class="when">{isByDay(row()) ? '' : props.words.time(startMs())}</span>
          <PegMark family={row().family} state={pegState(row())} />
          <span class="what">
            <button type="button" class="act name" onClick={() => props.onOpen(row().key)}>
              {row().name}
            </button>
            <span class="where">
              <Show when={props.round.members.length > 1} fallback={placeOf(row())}>
                <For each={props.round.members}>
                  {(ix) => (
                    <button
                      type="button"
                      class="act"
                      onClick={() => props.onOpen(props.model.plan.tasks[ix]?.key ?? '')}
                    >
                      {props.model.plan.tasks[ix]?.lotCode}
                    </button>
                  )}
                </For>
              </Show>
              <Show when={isLate()}> late</Show>
            </span>
          </span>
          <Show when={props.long}>
            <span class="who">{people().join(', ') || (isByDay(row()) ? 'not yet dealt out' : 'nobody yet')}</span>
            <span class="long">{lengthWords((props.model.endMs[first()] as number) - startMs())}</span>
          </Show>
        </li>
      )}
    </Show>
  )
}

interface Placed {
  readonly lotId: string | null
  readonly lotCode: string
  readonly fromVessels: readonly string[]
  readonly toVessels: readonly string[]
}

function placeOf(task: Placed): string {
  const vessels = [...task.fromVessels, ...task.toVessels]
  const named = vessels.length > 3 ? `${vessels[0]} and ${vessels.length - 1} more` : vessels.join(' \u2192 ')
  return [task.lotId === null ? '' : task.lotCode, named].filter(Boolean).join(', ')
}
