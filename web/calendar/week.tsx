import { For, Show } from 'solid-js'
import { type Days, dayIndex } from '../timeline/days.ts'
import type { Model } from '../timeline/model.ts'
import type { Words } from '../timeline/words.ts'
import { partsOfDay } from './parts-of-day.ts'
import { roundsOf } from './rounds.ts'
import { TaskLine } from './task-line.tsx'

/** One column a day; the hours are written, not measured: what matters is the order. */
export function WeekColumns(props: {
  readonly model: Model
  readonly days: Days
  readonly words: Words
  readonly fromIndex: number
  readonly count: number
  readonly byDay: ReadonlyMap<number, readonly number[]>
  readonly nowMs: number
  readonly onOpen: (key: string) => void
  readonly onDay: (index: number) => void
}) {
  const today = () => dayIndex(props.days, props.nowMs)
  const columns = () => Array.from({ length: props.count }, (_, i) => props.fromIndex + i)
  const noonMs = (index: number) => (props.days.startMs[index] as number) + 12 * 3_600_000
  return (
    <div class="week" classList={{ one: props.count === 1 }}>
      <For each={columns()}>
        {(index) => {
          const parts = () => partsOfDay(props.model, props.days, props.byDay.get(index) ?? [])
          return (
            <section classList={{ today: index === today() }} aria-label={props.words.day(noonMs(index))}>
              <h2>
                <Show when={props.count > 1} fallback={props.words.day(noonMs(index))}>
                  <button type="button" class="to-day" onClick={() => props.onDay(index)}>
                    {props.words.dayShort(noonMs(index))}
                  </button>
                </Show>
              </h2>
              <Show when={parts().length > 0} fallback={<p class="quiet">Nothing planned</p>}>
                <For each={parts()}>
                  {(part) => (
                    <>
                      <h3>{part.word}</h3>
                      <ul>
                        <For each={roundsOf(props.model, part.tasks)}>
                          {(round) => (
                            <TaskLine
                              model={props.model}
                              round={round}
                              words={props.words}
                              long={props.count === 1}
                              onOpen={props.onOpen}
                            />
                          )}
                        </For>
                      </ul>
                    </>
                  )}
                </For>
              </Show>
            </section>
          )
        }}
      </For>
    </div>
  )
}
