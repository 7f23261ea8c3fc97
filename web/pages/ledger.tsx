import { A } from '@solidjs/router'
import { createMemo, createSignal, For, Show } from 'solid-js'
import type { ContentWire, StockWire } from '../../api/wire.ts'
import { AsItWas, useAsItWas } from '../ledger/as-it-was.tsx'
import { BookNav } from '../ledger/book-nav.tsx'
import { CheckLine } from '../ledger/check-line.tsx'
import { MergeDialog } from '../ledger/merge-dialog.tsx'
import { MovementTable } from '../ledger/movement-table.tsx'
import { useMovements, useStock } from '../ledger/queries.ts'
import { sayLitres } from '../ledger/words.ts'
import { Badge } from '../parts/badge.tsx'
import { Button, ButtonLink } from '../parts/button.tsx'
import { Check } from '../parts/field.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { Ask, Empty } from '../parts/states.tsx'
import { VesselTag } from '../parts/tag.tsx'
import { useSession } from '../session.tsx'
import { VESSEL_STATE_WORDS, VESSEL_WORDS } from '../words.ts'

/** Where every litre is, now or on a date; what moved last; whether the book holds. */
export function Ledger() {
  const session = useSession()
  const was = useAsItWas()
  const stock = useStock(was.at)
  const latest = useMovements(() => ({ limit: '12' }))
  const [merging, setMerging] = createSignal(false)
  return (
    <>
      <PageHead title="Ledger" lede="Where every litre is, what it is made of, and how it got there.">
        <Show when={session.leads()}>
          <Button onClick={() => setMerging(true)}>Merge lots</Button>
        </Show>
        <Show when={session.works()}>
          <ButtonLink kind="main" href="/ledger/entry">
            Write a movement
          </ButtonLink>
        </Show>
      </PageHead>
      <BookNav />
      <CheckLine />
      <div class="row filters">
        <AsItWas wall={was.wall()} setWall={was.setWall} />
      </div>
      <Ask query={stock} what="the stock">
        {(answer) => (
          <>
            <Show
              when={answer().contents.length > 0}
              fallback={
                <Empty title="No vessel yet">
                  <p>
                    Enter the vessels first under <A href="/vessels">Vessels</A>, then bring in what lies in them under{' '}
                    <A href="/ledger/opening">Opening stock</A>.
                  </p>
                </Empty>
              }
            >
              <LotsHeld stock={answer()} />
              <VesselsHeld stock={answer()} />
            </Show>
            <Show when={merging()}>
              <MergeDialog stock={answer()} close={() => setMerging(false)} />
            </Show>
          </>
        )}
      </Ask>
      <Folio title="Latest movements" note={<A href="/ledger/movements">All movements</A>}>
        <Ask query={latest} what="the movements">
          {(answer) => <MovementTable movements={answer().movements} none="Nothing has been moved yet." />}
        </Ask>
      </Folio>
    </>
  )
}

function LotsHeld(props: { readonly stock: StockWire }) {
  const session = useSession()
  const format = session.format
  return (
    <Folio title="By lot" note={`${sayLitres(format(), props.stock.totalL)} in all`}>
      <Show when={props.stock.lots.length > 0} fallback={<p class="quiet">Every vessel is empty.</p>}>
        <table class="ledger folds">
          <thead>
            <tr>
              <th>Lot</th>
              <th class="n">Holds</th>
              <th class="n">Vessels</th>
              <th>Mind</th>
            </tr>
          </thead>
          <tbody>
            <For each={props.stock.lots}>
              {(held) => (
                <tr>
                  <th scope="row" class="first">
                    <A href={`/ledger/lots/${encodeURIComponent(held.lot.id)}`}>
                      {held.lot.code} {held.lot.name}
                    </A>
                  </th>
                  <td class="n" data-label="holds">
                    {sayLitres(format(), held.volumeL)}
                  </td>
                  <td class="n" data-label="vessels">
                    {held.vessels}
                  </td>
                  <td>
                    <Show when={held.quarantined}>
                      <Badge kind="late">barred from topping</Badge>
                    </Show>
                  </td>
                </tr>
              )}
            </For>
            <tr class="total">
              <th scope="row">In all</th>
              <td class="n">{sayLitres(format(), props.stock.totalL)}</td>
              <td class="n">{props.stock.contents.filter((content) => content.volumeL > 0).length}</td>
              <td />
            </tr>
          </tbody>
        </table>
      </Show>
    </Folio>
  )
}

function VesselsHeld(props: { readonly stock: StockWire }) {
  const session = useSession()
  const format = session.format
  const [empty, setEmpty] = createSignal(false)
  const shown = createMemo(() => props.stock.contents.filter((content) => empty() || content.volumeL > 0))
  return (
    <Folio title="By vessel" note={`${shown().length} shown`}>
      <Check label="Empty ones too" checked={empty()} onInput={setEmpty} />
      <table class="ledger folds">
        <thead>
          <tr>
            <th>Vessel</th>
            <th>State</th>
            <th>Lot</th>
            <th class="n">Holds</th>
            <th class="n">Full</th>
            <th>Not empty since</th>
          </tr>
        </thead>
        <tbody>
          <For each={shown()}>{(content) => <HeldRow content={content} />}</For>
        </tbody>
      </table>
      <p class="quiet small">{format().volume(roomL(props.stock))} of room in empty vessels that are in service.</p>
    </Folio>
  )
}

const roomL = (stock: StockWire) =>
  stock.contents
    .filter((content) => content.volumeL === 0 && content.state !== 'out-of-service')
    .reduce((sum, content) => sum + content.vessel.capacityL, 0)

function HeldRow(props: { readonly content: ContentWire }) {
  const session = useSession()
  const format = session.format
  const vessel = () => props.content.vessel
  return (
    <tr>
      <th scope="row" class="first">
        <A href={`/ledger/vessels/${encodeURIComponent(vessel().id)}`}>
          <VesselTag code={vessel().code} />
        </A>{' '}
        <span class="small quiet">
          {VESSEL_WORDS[vessel().kind]}, {format().volume(vessel().capacityL)}
        </span>
      </th>
      <td>{VESSEL_STATE_WORDS[props.content.state]}</td>
      <td>
        <Show when={props.content.lot}>
          {(lot) => (
            <A href={`/ledger/lots/${encodeURIComponent(lot().id)}`}>
              {lot().code} {lot().name}
            </A>
          )}
        </Show>{' '}
        <Show when={props.content.quarantined}>
          <Badge kind="late">barred</Badge>
        </Show>
      </td>
      <td class="n" data-label="holds">
        {sayLitres(format(), props.content.volumeL)}
      </td>
      <td class="n" data-label="full">
        {Math.round((props.content.volumeL / vessel().capacityL) * 100)} %
      </td>
      <td data-label="since">
        <Show when={props.content.sinceAt}>{(since) => format().dayYear(since())}</Show>
      </td>
    </tr>
  )
}
