import { For, Show } from 'solid-js'
import { Badge } from '../parts/badge.tsx'
import { Folio } from '../parts/page-head.tsx'
import type { LotPageWire } from '../queries.ts'
import { useSession } from '../session.tsx'

const REGIME_WORDS: Readonly<Record<string, string>> = { eu: 'EU', 'eu-organic': 'EU organic', us: 'US', oiv: 'OIV' }

/** Total SO2 so far, and what each rule book leaves. */
export function LotSo2(props: { readonly so2: NonNullable<LotPageWire['so2']> }) {
  const session = useSession()
  const number = (value: number) => session.format().number(value)
  return (
    <Folio title="SO2" note="Counted upwards from the last measurement. Laws change: check your own rules.">
      <p>
        Total <b>{number(props.so2.totalMgPerL)} mg/L</b> <span class="quiet">({props.so2.step})</span>
        <Show when={props.so2.tasted}> Above 110 mg/L it is tasted.</Show>
      </p>
      <table class="ledger folds">
        <thead>
          <tr>
            <th>Rules</th>
            <th class="n">Limit mg/L</th>
            <th class="n">Room mg/L</th>
            <th>Source</th>
          </tr>
        </thead>
        <tbody>
          <For each={props.so2.limits}>
            {(limit) => (
              <tr>
                <td class="nowrap first">{REGIME_WORDS[limit.regime] ?? limit.regime}</td>
                <td class="n" data-label="Limit mg/L">
                  {number(limit.limitMgPerL)}
                </td>
                <td class="n" data-label="Room mg/L" classList={{ 'late-text': limit.overLimit }}>
                  {limit.overLimit ? 'over' : number(limit.roomMgPerL)}
                </td>
                <td>
                  {limit.source}, print of {limit.printed}; {limit.note}{' '}
                  <Show when={limit.memory}>
                    <Badge>memory, verify</Badge>
                  </Show>
                </td>
              </tr>
            )}
          </For>
        </tbody>
      </table>
    </Folio>
  )
}
