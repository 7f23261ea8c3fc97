import { A } from '@solidjs/router'
import { createMemo, createSignal, For, Show, untrack } from 'solid-js'
import type { ContentWire, StockWire } from '../../api/wire.ts'
import { Badge } from '../parts/badge.tsx'
import { Check } from '../parts/field.tsx'
import { openOnPrint } from '../parts/open-on-print.ts'
import { Folio } from '../parts/page-head.tsx'
import { VesselTag } from '../parts/tag.tsx'
import { useSession } from '../session.tsx'
import { VESSEL_STATE_WORDS, VESSEL_WORDS } from '../words.ts'
import { byKind, type HeldKind, roomL } from './held.ts'
import { sayLitres } from './words.ts'

/** Kinds with more rows than this are folded at first. */
const few = (): number => (matchMedia('(max-width: 40rem)').matches ? 2 : 8)

/** Every vessel with what is in it, a fold a kind; on paper all folds are open. */
export function VesselsHeld(props: { readonly stock: StockWire }) {
  const format = useSession().format
  const [empty, setEmpty] = createSignal(false)
  const kinds = createMemo(() => byKind(props.stock.contents))
  const shown = () => kinds().filter((kind) => empty() || kind.full > 0)
  const full = () => kinds().reduce((sum, kind) => sum + kind.full, 0)
  let root: HTMLDivElement | undefined
  openOnPrint(() => root)
  return (
    <Folio title="By vessel" note={`${full()} of ${props.stock.contents.length} hold wine`}>
      <Check label="Empty ones too" checked={empty()} onInput={setEmpty} />
      <div ref={root} class="held">
        {/* By name, so that a fold stays as it is when the stock is read anew. */}
        <For each={shown().map((kind) => kind.kind)}>
          {(name) => (
            <Show when={kinds().find((kind) => kind.kind === name)}>
              {(held) => <Kind held={held()} empty={empty()} />}
            </Show>
          )}
        </For>
      </div>
      <p class="quiet small">{format().volume(roomL(props.stock.contents))} of room in empty vessels in service.</p>
    </Folio>
  )
}

function Kind(props: { readonly held: HeldKind; readonly empty: boolean }) {
  const format = useSession().format
  // As the page was opened; later it is the reader's.
  const isOpen = untrack(() => props.held.contents.filter((c) => props.empty || c.volumeL > 0).length <= few())
  const rows = () => props.held.contents.filter((content) => props.empty || content.volumeL > 0)
  return (
    <details open={isOpen} data-kind={props.held.kind}>
      <summary>
        <span class="held-kind">
          {VESSEL_WORDS[props.held.kind]}{' '}
          <span class="quiet">
            {props.held.full} of {props.held.contents.length} hold
          </span>
        </span>{' '}
        <span class="held-litres">
          {sayLitres(format(), props.held.volumeL)}
          <span class="quiet held-room"> of {format().volume(props.held.capacityL)}</span>
        </span>
      </summary>
      <table class="ledger">
        <caption class="visually-hidden">{VESSEL_WORDS[props.held.kind]}: what each holds</caption>
        <thead>
          <tr>
            <th>Vessel</th>
            <th>Lot</th>
            <th class="n">Holds</th>
            <th class="n">Full</th>
            <th class="held-wide">Not empty since</th>
          </tr>
        </thead>
        <tbody>
          <For each={rows()}>{(content) => <HeldRow content={content} />}</For>
        </tbody>
      </table>
    </details>
  )
}

function HeldRow(props: { readonly content: ContentWire }) {
  const format = useSession().format
  const vessel = () => props.content.vessel
  return (
    <tr>
      <th scope="row">
        <A href={`/ledger/vessels/${encodeURIComponent(vessel().id)}`}>
          <VesselTag code={vessel().code} />
        </A>{' '}
        <span class="small quiet held-wide">{format().volume(vessel().capacityL)}</span>
      </th>
      <td>
        <Show
          when={props.content.lot}
          fallback={<span class="quiet">{VESSEL_STATE_WORDS[props.content.state].toLowerCase()}, empty</span>}
        >
          {(lot) => (
            <A href={`/ledger/lots/${encodeURIComponent(lot().id)}`}>
              {lot().code}
              <span class="held-name">&nbsp;{lot().name}</span>
            </A>
          )}
        </Show>
        <Show when={props.content.quarantined}>
          {' '}
          <Badge kind="late">barred</Badge>
        </Show>
      </td>
      <td class="n">{sayLitres(format(), props.content.volumeL)}</td>
      <td class="n">{Math.round((props.content.volumeL / vessel().capacityL) * 100)} %</td>
      <td class="held-wide">
        <Show when={props.content.sinceAt}>{(since) => format().dayYear(since())}</Show>
      </td>
    </tr>
  )
}
