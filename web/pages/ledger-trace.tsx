import { A, useNavigate, useSearchParams } from '@solidjs/router'
import { createMemo, For, Show } from 'solid-js'
import type { TraceWire } from '../../api/wire.ts'
import { AsItWas, momentIn } from '../ledger/as-it-was.tsx'
import { BookNav } from '../ledger/book-nav.tsx'
import { Sources } from '../ledger/contents.tsx'
import { TracePicture } from '../ledger/picture.tsx'
import { useStock, useTrace } from '../ledger/queries.ts'
import { graphOf } from '../ledger/trace-graph.ts'
import { TraceTable } from '../ledger/trace-table.tsx'
import { sayContent, sayLitres, sayShare } from '../ledger/words.ts'
import { Button } from '../parts/button.tsx'
import { Options, Select } from '../parts/field.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { Ask, Empty } from '../parts/states.tsx'
import { VesselTag } from '../parts/tag.tsx'
import { useLots } from '../queries.ts'
import { useSession } from '../session.tsx'

type Search = { lot?: string; vessel?: string; direction?: string; at?: string }

/** Where wine came from, or where it went: as a picture and as a table that says the same. */
export function LedgerTrace() {
  const session = useSession()
  const [search, setSearch] = useSearchParams<Search>()
  const lots = useLots()
  const stock = useStock()
  const direction = () => (search.direction === 'forward' ? 'forward' : 'back')
  const moment = () => momentIn(search.at ?? '', session.cellar().zone)
  const trace = useTrace(() => ({
    ...(search.lot ? { lot: search.lot } : search.vessel ? { vessel: search.vessel } : {}),
    direction: direction(),
    ...(moment() ? (direction() === 'back' ? { at: moment() } : { since: moment() }) : {}),
  }))
  const asked = () => search.lot ?? search.vessel
  return (
    <>
      <PageHead title="Ledger: trace" lede="Every parcel behind a wine, or every wine a parcel went into.">
        <Show when={asked()}>
          <Button onClick={() => window.print()}>Print</Button>
        </Show>
      </PageHead>
      <BookNav />
      <div class="row filters no-print">
        <Select
          label="Lot"
          value={search.lot ?? ''}
          options={[
            { value: '', label: 'Choose …' },
            ...((lots.dataUpdatedAt > 0 && lots.data?.lots) || []).map((lot) => ({
              value: lot.code,
              label: `${lot.code} ${lot.name}`,
            })),
          ]}
          onInput={(lot) => setSearch({ lot: lot || undefined, vessel: undefined }, { replace: true })}
        />
        <Select
          label="or vessel"
          value={search.vessel ?? ''}
          options={[
            { value: '', label: 'Choose …' },
            ...((stock.dataUpdatedAt > 0 && stock.data?.contents) || [])
              .filter((content) => content.volumeL > 0)
              .map((content) => ({ value: content.vessel.code, label: sayContent(session.format(), content) })),
          ]}
          onInput={(vessel) => setSearch({ vessel: vessel || undefined, lot: undefined }, { replace: true })}
        />
        <Options
          label="Which way"
          value={direction()}
          options={[
            { value: 'back', label: 'Back: what is in it' },
            { value: 'forward', label: 'Forward: where it went' },
          ]}
          onInput={(next) => setSearch({ direction: next }, { replace: true })}
        />
        <AsItWas wall={search.at ?? ''} setWall={(at) => setSearch({ at: at || undefined }, { replace: true })} />
      </div>
      <Show
        when={asked()}
        fallback={
          <Empty title="Which wine?">
            <p>Choose a lot or a vessel above.</p>
          </Empty>
        }
      >
        <Ask query={trace} what="the trace">
          {(answer) => <TraceSheet trace={answer()} asked={asked() ?? ''} />}
        </Ask>
      </Show>
    </>
  )
}

function TraceSheet(props: { readonly trace: TraceWire; readonly asked: string }) {
  const session = useSession()
  const navigate = useNavigate()
  const format = session.format
  const graph = createMemo(() => graphOf(props.trace))
  const isBack = () => props.trace.direction === 'back'
  const title = () => (isBack() ? `What is in ${props.asked}` : `Where ${props.asked} went`)
  const lotOf = (id: string) => props.trace.nodes.find((node) => node.id === id)?.lot?.id
  return (
    <Show
      when={props.trace.nodes.length > 0 && props.trace.totalL > 0}
      fallback={
        <Empty title="No wine there">
          <p>Nothing was in {props.asked} at that time.</p>
        </Empty>
      }
    >
      <Show when={props.trace.cut}>
        <p class="note bad">The graph was too large: what is drawn here is not all of it.</p>
      </Show>
      <TracePicture
        graph={graph()}
        title={title()}
        open={(id) => {
          const lot = lotOf(id)
          if (lot) navigate(`/ledger/lots/${encodeURIComponent(lot)}`)
        }}
      />
      <Show when={isBack()}>
        <Folio
          title="Every parcel"
          note={`${props.trace.sources.length} in ${sayLitres(format(), props.trace.totalL)}; their shares add up to the whole.`}
        >
          <Sources sources={props.trace.sources} />
        </Folio>
      </Show>
      <Show when={!isBack()}>
        <Folio title="Is in now" note={`${props.trace.reached.length} vessels hold some of it.`}>
          <Show when={props.trace.reached.length > 0} fallback={<p class="quiet">No vessel holds any of it now.</p>}>
            <table class="ledger folds">
              <thead>
                <tr>
                  <th>Vessel</th>
                  <th>Lot</th>
                  <th class="n">Of it in there</th>
                  <th class="n">Share of what is there</th>
                </tr>
              </thead>
              <tbody>
                <For each={props.trace.reached}>
                  {(reached) => (
                    <tr>
                      <td class="first">
                        <A href={`/ledger/vessels/${encodeURIComponent(reached.content.vessel.id)}`}>
                          <VesselTag code={reached.content.vessel.code} />
                        </A>
                      </td>
                      <td>{reached.content.lot?.code}</td>
                      <td class="n" data-label="of it in there">
                        {sayLitres(format(), reached.volumeL)}
                      </td>
                      <td class="n" data-label="share of what is there">
                        {sayShare(format(), reached.share)}
                      </td>
                    </tr>
                  )}
                </For>
              </tbody>
            </table>
          </Show>
        </Folio>
      </Show>
      <Folio title="Every way" note="The picture in words, the earliest first.">
        <TraceTable trace={props.trace} />
      </Folio>
    </Show>
  )
}
