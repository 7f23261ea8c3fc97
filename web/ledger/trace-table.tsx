import { A } from '@solidjs/router'
import { createMemo, createSignal, For, Show } from 'solid-js'
import type { TraceWire } from '../../api/wire.ts'
import { Button } from '../parts/button.tsx'
import { ScrollX } from '../parts/scroll-x.tsx'
import { useSession } from '../session.tsx'
import { rowsOf } from './trace-graph.ts'
import { sayCause, sayLitres, sayShare } from './words.ts'

const FIRST = 60

/** The picture as a table: every way, in order of time. */
export function TraceTable(props: { readonly trace: TraceWire }) {
  const session = useSession()
  const format = session.format
  const rows = createMemo(() => rowsOf(props.trace))
  const [all, setAll] = createSignal(false)
  return (
    <>
      <ScrollX label="Every way the wine went">
        <table class="ledger">
          <thead>
            <tr>
              <th>From</th>
              <th>To</th>
              <th class="n">Of this wine</th>
              <th class="n">Share</th>
              <th class="n">Moved in all</th>
              <th>When</th>
              <th>How</th>
              <th>Vessels</th>
            </tr>
          </thead>
          <tbody>
            <For each={all() ? rows() : rows().slice(0, FIRST)}>
              {(row) => (
                <tr>
                  <td>
                    <LotLink lot={row.fromLot} label={row.from} />
                  </td>
                  <td>
                    <LotLink lot={row.toLot} label={row.to} />
                  </td>
                  <td class="n">{sayLitres(format(), row.edge.volumeL)}</td>
                  <td class="n">{sayShare(format(), row.edge.share)}</td>
                  <td class="n">{sayLitres(format(), row.edge.movedL)}</td>
                  <td class="nowrap">
                    {format().dayYear(row.edge.firstAt)}
                    <Show when={format().dayOf(row.edge.lastAt) !== format().dayOf(row.edge.firstAt)}>
                      <div class="small quiet">to {format().dayYear(row.edge.lastAt)}</div>
                    </Show>
                  </td>
                  <td>
                    {row.edge.causes.map(sayCause).join(', ')}
                    <Show when={row.edge.movements > 1}>
                      <span class="small quiet"> {row.edge.movements} times</span>
                    </Show>
                  </td>
                  <td class="small">{row.vessels}</td>
                </tr>
              )}
            </For>
          </tbody>
        </table>
      </ScrollX>
      <Show when={!all() && rows().length > FIRST}>
        <div>
          <Button onClick={() => setAll(true)}>All {rows().length} ways</Button>
        </div>
      </Show>
    </>
  )
}

export function LotLink(props: { readonly lot: string | undefined; readonly label: string }) {
  return (
    <Show when={props.lot} fallback={props.label}>
      {(lot) => <A href={`/ledger/lots/${encodeURIComponent(lot())}`}>{props.label}</A>}
    </Show>
  )
}
