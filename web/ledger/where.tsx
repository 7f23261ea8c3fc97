import { A } from '@solidjs/router'
import { For, Show } from 'solid-js'
import type { ContentWire } from '../../api/wire.ts'
import { VesselTag } from '../parts/tag.tsx'
import { useSession } from '../session.tsx'
import { VESSEL_WORDS } from '../words.ts'
import { sayLitres } from './words.ts'

/** Litres of a lot by vessel. */
export function Where(props: { readonly where: readonly ContentWire[] }) {
  const session = useSession()
  const format = session.format
  return (
    <Show when={props.where.length > 0} fallback={<p class="quiet">It is in no vessel.</p>}>
      <table class="ledger">
        <thead>
          <tr>
            <th>Vessel</th>
            <th class="n">Holds</th>
            <th class="n">Full</th>
            <th>Since</th>
          </tr>
        </thead>
        <tbody>
          <For each={props.where}>
            {(content) => (
              <tr>
                <td>
                  <A href={`/ledger/vessels/${encodeURIComponent(content.vessel.id)}`}>
                    <VesselTag code={content.vessel.code} />
                  </A>{' '}
                  <span class="small quiet">{VESSEL_WORDS[content.vessel.kind]}</span>
                </td>
                <td class="n">{sayLitres(format(), content.volumeL)}</td>
                <td class="n">{Math.round((content.volumeL / content.vessel.capacityL) * 100)} %</td>
                <td>
                  <Show when={content.sinceAt}>{(since) => format().dayYear(since())}</Show>
                </td>
              </tr>
            )}
          </For>
        </tbody>
      </table>
    </Show>
  )
}
