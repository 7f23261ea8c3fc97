import { keepPreviousData, useQuery } from '@tanstack/solid-query'
import { createEffect, createSignal, For, on, onCleanup, Show } from 'solid-js'
import type { Choices } from '../../api/protocol/choices.ts'
import type { ConflictWire, LotWire, TaskWire } from '../../api/wire.ts'
import { post } from '../api.ts'
import { FAMILY_WORDS, PegMark } from '../parts/peg-mark.tsx'
import { Ask } from '../parts/states.tsx'
import { useSession } from '../session.tsx'

interface Asked {
  readonly choices: Choices
  readonly fruit: LotWire['fruit']
  readonly pickOn: string
  readonly code: string
}

interface Checked {
  readonly conflicts: ConflictWire[]
  readonly dates: readonly Pick<TaskWire, 'step' | 'name' | 'family' | 'startAt' | 'spread'>[]
  readonly broken: TaskWire['broken']
}

/** Typing pauses this long before the planner is asked. */
const PAUSE_MS = 500

/** The plan that these answers would give, asked of the server and not kept. */
export function MainDates(props: Asked) {
  const session = useSession()
  const asked = (): Asked => ({ choices: props.choices, fruit: props.fruit, pickOn: props.pickOn, code: props.code })
  const [settled, setSettled] = createSignal<Asked>(asked())
  createEffect(
    on(
      asked,
      (next) => {
        const timer = setTimeout(() => setSettled(next), PAUSE_MS)
        onCleanup(() => clearTimeout(timer))
      },
      { defer: true },
    ),
  )
  const check = useQuery(() => ({
    queryKey: ['check', settled()],
    queryFn: () => post<Checked>('/api/lots/check', settled()),
    placeholderData: keepPreviousData,
  }))
  return (
    <Ask query={check} what="the planner">
      {(answer) => (
        <>
          <table class="ledger">
            <tbody>
              <For each={answer().dates} fallback={<tr><td>No dates came out.</td></tr>}>
                {(date) => (
                  <tr>
                    <td class="nowrap">{session.format().moment(date.startAt)}</td>
                    <th scope="row">
                      <PegMark family={date.family} name={FAMILY_WORDS[date.family]} /> {date.name}
                    </th>
                    <td class="quiet">
                      <Show when={date.spread}>
                        {(spread) => session.format().dayRange(spread().earliestAt, spread().latestAt)}
                      </Show>
                    </td>
                  </tr>
                )}
              </For>
            </tbody>
          </table>
          <For each={answer().broken}>
            {(entry) => (
              <p class="note" classList={{ bad: entry.strength === 'hard', warn: entry.strength === 'soft' }}>
                {entry.words}
              </p>
            )}
          </For>
        </>
      )}
    </Ask>
  )
}
