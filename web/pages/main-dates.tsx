import { keepPreviousData, useQuery } from '@tanstack/solid-query'
import { createEffect, createSignal, For, on, onCleanup } from 'solid-js'
import type { Choices } from '../../api/protocol/choices.ts'
import type { ConflictWire, LotWire } from '../../api/wire.ts'
import { post } from '../api.ts'
import { Ask } from '../parts/states.tsx'
import { useSession } from '../session.tsx'

interface Asked {
  readonly choices: Choices
  readonly fruit: LotWire['fruit']
  readonly pickOn: string
  /** An existing lot these answers would be for. */
  readonly lot?: string
}

interface Checked {
  readonly conflicts: ConflictWire[]
  readonly dates: readonly {
    readonly step: string
    readonly name: string
    readonly at: string
    readonly forecast: boolean
  }[]
}

/** Typing pauses this long before the planner is asked. */
const PAUSE_MS = 500

/** The plan that these answers would give, asked of the server and not kept. */
export function MainDates(props: Asked & { readonly onConflicts?: (found: readonly ConflictWire[]) => void }) {
  const session = useSession()
  const asked = (): Asked => ({ choices: props.choices, fruit: props.fruit, pickOn: props.pickOn, lot: props.lot })
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
  // The server knows the other lots: vessels, press and cold of the day.
  createEffect(() => {
    if (check.dataUpdatedAt > 0 && check.data) props.onConflicts?.(check.data.conflicts)
  })
  return (
    <Ask query={check} what="the planner">
      {(answer) => (
        <>
          <table class="ledger dates">
            <tbody>
              <For
                each={answer().dates}
                fallback={
                  <tr>
                    <td>No dates came out.</td>
                  </tr>
                }
              >
                {(date) => (
                  <tr>
                    <td class="nowrap">
                      {session.format().moment(date.at)}
                      {date.at.slice(0, 4) === session.cellar().nowAt.slice(0, 4) ? '' : `, ${date.at.slice(0, 4)}`}
                    </td>
                    <th scope="row">{date.name}</th>
                    <td class="quiet">{date.forecast ? 'forecast, moves with the readings' : ''}</td>
                  </tr>
                )}
              </For>
            </tbody>
          </table>
        </>
      )}
    </Ask>
  )
}
