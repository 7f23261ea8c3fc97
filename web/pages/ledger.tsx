import { A } from '@solidjs/router'
import { createSignal, For, Show } from 'solid-js'
import type { StockWire } from '../../api/wire.ts'
import { AsItWas, useAsItWas } from '../ledger/as-it-was.tsx'
import { BookNav } from '../ledger/book-nav.tsx'
import { CheckLine } from '../ledger/check-line.tsx'
import { MergeDialog } from '../ledger/merge-dialog.tsx'
import { MovementTable } from '../ledger/movement-table.tsx'
import { useMovements, useStock } from '../ledger/queries.ts'
import { VesselsHeld } from '../ledger/vessels-held.tsx'
import { sayLitres } from '../ledger/words.ts'
import { Badge } from '../parts/badge.tsx'
import { Button, ButtonLink } from '../parts/button.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { Ask, Empty } from '../parts/states.tsx'
import { useSession } from '../session.tsx'

/** Where every litre is, now or on a date; what moved last; whether the book holds. */
export function Ledger() {
  const session = useSession()
  const was = useAsItWas()
  const stock = useStock(was.at)
  const latest = useMovements(() => ({ limit: '6' }))
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
        <table class="ledger">
          <thead>
            <tr>
              <th>Lot</th>
              <th class="n">Holds</th>
              <th class="n">Vessels</th>
            </tr>
          </thead>
          <tbody>
            <For each={props.stock.lots}>
              {(held) => (
                <tr>
                  <th scope="row">
                    <A href={`/ledger/lots/${encodeURIComponent(held.lot.id)}`}>
                      {held.lot.code} {held.lot.name}
                    </A>
                    <Show when={held.quarantined}>
                      {' '}
                      <Badge kind="late">barred from topping</Badge>
                    </Show>
                  </th>
                  <td class="n">{sayLitres(format(), held.volumeL)}</td>
                  <td class="n">{held.vessels}</td>
                </tr>
              )}
            </For>
            <tr class="total">
              <th scope="row">In all</th>
              <td class="n">{sayLitres(format(), props.stock.totalL)}</td>
              <td class="n">{props.stock.contents.filter((content) => content.volumeL > 0).length}</td>
            </tr>
          </tbody>
        </table>
      </Show>
    </Folio>
  )
}
