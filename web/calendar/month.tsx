// biome-ignore-all lint/a11y/noNoninteractiveElementToInteractiveRole: the grid pattern for date grids stands on a table (W3C ARIA APG)
import { For, Show } from 'solid-js'
import { PegMark } from '../parts/peg-mark.tsx'
import { FAMILY_ORDER } from '../timeline/model.ts'
import type { Words } from '../timeline/words.ts'
import type { DayCell, Month } from './month.ts'

/** Counts, not tasks: six small pegs with numbers, each always in its own place, so that days compare at a glance. */
export function MonthGrid(props: {
  readonly month: Month
  readonly words: Words
  readonly chosen: number
  readonly onChoose: (index: number) => void
  readonly onOpen: (index: number) => void
}) {
  let table!: HTMLTableElement
  const go = (index: number) => {
    props.onChoose(index)
    queueMicrotask(() => table.querySelector<HTMLElement>(`[data-day="${index}"]`)?.focus())
  }
  const key = (event: KeyboardEvent) => {
    const at = props.chosen
    const weekday = props.month.weeks.flat().findIndex((c) => c.index === at) % 7
    const steps: Readonly<Record<string, number>> = {
      ArrowLeft: at - 1,
      ArrowRight: at + 1,
      ArrowUp: at - 7,
      ArrowDown: at + 7,
      Home: at - weekday,
      End: at + 6 - weekday,
      PageUp: at - 28,
      PageDown: at + 28,
    }
    const next = steps[event.key]
    if (next === undefined) return
    event.preventDefault()
    go(next)
  }
  return (
    <table
      class="month"
      role="grid"
      ref={table}
      onKeyDown={key}
      aria-label={`${props.words.months[props.month.month - 1]} ${props.month.year}`}
    >
      <thead>
        <tr>
          <For each={props.words.weekdays}>{(name) => <th scope="col">{name}</th>}</For>
        </tr>
      </thead>
      <tbody>
        <For each={props.month.weeks}>
          {(week) => (
            <tr>
              <For each={week}>
                {(cell) => (
                  <td classList={{ outside: !cell.inMonth, today: cell.today, chosen: cell.index === props.chosen }}>
                    <button
                      type="button"
                      class="cell"
                      data-day={cell.index}
                      tabIndex={cell.index === props.chosen ? 0 : -1}
                      aria-current={cell.today ? 'date' : undefined}
                      aria-label={cellWords(cell, props.words, props.month)}
                      onClick={() => {
                        props.onChoose(cell.index)
                        props.onOpen(cell.index)
                      }}
                    >
                      <span class="date">{cell.dayOfMonth}</span>
                      <span class="counts" aria-hidden="true">
                        <For each={FAMILY_ORDER}>
                          {(family, i) => (
                            <span class="count" classList={{ none: cell.counts[i()] === 0 }}>
                              <Show when={(cell.counts[i()] ?? 0) > 0}>
                                <PegMark family={family} state={cell.done === cell.tasks.length ? 'done' : 'planned'} />
                                {cell.counts[i()]}
                              </Show>
                            </span>
                          )}
                        </For>
                      </span>
                      <Show when={cell.late > 0}>
                        <span class="late-words">{cell.late} late</span>
                      </Show>
                    </button>
                  </td>
                )}
              </For>
            </tr>
          )}
        </For>
      </tbody>
    </table>
  )
}

function cellWords(cell: DayCell, words: Words, month: Month): string {
  const kinds = FAMILY_ORDER.map((family, i) => [family, cell.counts[i] ?? 0] as const).filter(([, n]) => n > 0)
  const name = cell.inMonth ? `${cell.dayOfMonth} ${words.months[month.month - 1]}` : cell.on
  const what = kinds.length === 0 ? 'nothing planned' : kinds.map(([family, n]) => `${n} ${family}`).join(', ')
  return `${name}: ${what}${cell.late > 0 ? `, ${cell.late} late` : ''}`
}
