import { A, useParams } from '@solidjs/router'
import { For, Show } from 'solid-js'
import type { VesselLedgerWire } from '../../api/wire.ts'
import { AsItWas, useAsItWas } from '../ledger/as-it-was.tsx'
import { BookNav } from '../ledger/book-nav.tsx'
import { Added, Claims, Composition, Sources } from '../ledger/contents.tsx'
import { MovementTable } from '../ledger/movement-table.tsx'
import { useVesselLedger } from '../ledger/queries.ts'
import { QuarantineNote, ReadingsTold, So2Line } from '../ledger/told.tsx'
import { sayLitres } from '../ledger/words.ts'
import { Badge } from '../parts/badge.tsx'
import { ButtonLink } from '../parts/button.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { Ask } from '../parts/states.tsx'
import { VesselTag } from '../parts/tag.tsx'
import { useSession } from '../session.tsx'
import { VESSEL_STATE_WORDS, VESSEL_WORDS } from '../words.ts'
import { VesselDrawing } from './vessel-drawing.tsx'

/** What is in this vessel, now or on a date, and how did it get there. */
export function LedgerVessel() {
  const params = useParams<{ id: string }>()
  const was = useAsItWas()
  const ledger = useVesselLedger(() => params.id, was.at)
  return (
    <Ask query={ledger} what="the vessel">
      {(answer) => <VesselSheet ledger={answer()} was={was} />}
    </Ask>
  )
}

function VesselSheet(props: { readonly ledger: VesselLedgerWire; readonly was: ReturnType<typeof useAsItWas> }) {
  const session = useSession()
  const format = session.format
  const content = () => props.ledger.content
  const vessel = () => content().vessel
  const share = () => content().volumeL / vessel().capacityL
  const isFull = () => content().volumeL > 0
  return (
    <>
      <PageHead
        title={
          <>
            <VesselTag code={vessel().code} huge /> {VESSEL_WORDS[vessel().kind]}
          </>
        }
        lede={`Holds ${format().volume(vessel().capacityL)}. What is in it, and how it got there.`}
      >
        <Show when={session.works()}>
          <Show when={isFull()}>
            <ButtonLink href={`/ledger/entry?kind=move&from=${encodeURIComponent(vessel().code)}`}>Move out</ButtonLink>
          </Show>
          <ButtonLink href={`/ledger/entry?kind=${isFull() ? 'top' : 'move'}&to=${encodeURIComponent(vessel().code)}`}>
            {isFull() ? 'Top up' : 'Fill'}
          </ButtonLink>
        </Show>
        <Show when={isFull()}>
          <ButtonLink href={`/ledger/trace?vessel=${encodeURIComponent(vessel().code)}`}>Trace</ButtonLink>
        </Show>
      </PageHead>
      <BookNav />
      <div class="row filters">
        <AsItWas wall={props.was.wall()} setWall={props.was.setWall} />
      </div>
      <Folio title={props.was.at() ? 'Then' : 'Now'}>
        <div class="row top">
          <VesselDrawing kind={vessel().kind} share={Math.min(1, share())} />
          <dl class="pairs grow">
            <dt>State</dt>
            <dd>
              <b>{VESSEL_STATE_WORDS[content().state]}</b>
              <Show when={props.ledger.stateNote}>{(words) => <span class="quiet"> {words()}</span>}</Show>
            </dd>
            <dt>Holds</dt>
            <dd>
              <Show when={content().lot} fallback="nothing">
                {(lot) => (
                  <>
                    <b>{sayLitres(format(), content().volumeL)}</b> of{' '}
                    <A href={`/ledger/lots/${encodeURIComponent(lot().id)}`}>
                      {lot().code} {lot().name}
                    </A>
                    , {Math.round(share() * 100)} % full{' '}
                    <Show when={content().quarantined}>
                      <Badge kind="late">barred from topping</Badge>
                    </Show>
                  </>
                )}
              </Show>
            </dd>
            <Show when={content().sinceAt}>
              {(since) => (
                <>
                  <dt>Not empty since</dt>
                  <dd>{format().moment(since())}</dd>
                </>
              )}
            </Show>
            <Show when={isFull()}>
              <dt>SO2</dt>
              <dd>
                <So2Line so2={props.ledger.so2} />
              </dd>
            </Show>
          </dl>
        </div>
        <QuarantineNote quarantine={props.ledger.quarantine} />
      </Folio>
      <Folio
        title="How it got there"
        note={`In and out since it was last empty.${props.ledger.movementsLeftOff > 0 ? ` ${props.ledger.movementsLeftOff} older are left off.` : ''}`}
      >
        <MovementTable movements={props.ledger.movements} none="Nothing came in since it was last empty." />
        <p class="no-print">
          <A href={`/ledger/movements?vessel=${encodeURIComponent(vessel().code)}`}>
            Everything that ever went in or out
          </A>
        </p>
      </Folio>
      <Show when={isFull()}>
        <Folio title="Made of" note="Shares of what is in it; each group adds up to the whole.">
          <Composition composition={props.ledger.composition} />
        </Folio>
        <Folio title="Parcels" note={`${props.ledger.sources.length} that came through the door.`}>
          <Sources sources={props.ledger.sources} />
        </Folio>
        <Folio title="Put in" note="Diluted by every blend; not what an analysis finds.">
          <Added added={props.ledger.added} />
        </Folio>
        <Folio title="Label shares" note="Check your own rules: limits differ by country and change.">
          <Claims claims={props.ledger.claims} />
        </Folio>
        <Folio title="Measured" note="Readings along the way it came.">
          <ReadingsTold readings={props.ledger.readings} />
        </Folio>
      </Show>
      <Folio title="Has held" note="Newest first.">
        <Show when={props.ledger.held.length > 0} fallback={<p class="quiet">Nothing yet.</p>}>
          <table class="ledger folds">
            <thead>
              <tr>
                <th>Lot</th>
                <th>From</th>
                <th>To</th>
                <th class="n">At most</th>
              </tr>
            </thead>
            <tbody>
              <For each={props.ledger.held}>
                {(held) => (
                  <tr>
                    <td class="first">
                      <A href={`/ledger/lots/${encodeURIComponent(held.lot.id)}`}>
                        {held.lot.code} {held.lot.name}
                      </A>
                    </td>
                    <td data-label="from">{format().dayYear(held.fromAt)}</td>
                    <td data-label="to">{held.toAt ? format().dayYear(held.toAt) : 'still there'}</td>
                    <td class="n" data-label="at most">
                      {sayLitres(format(), held.mostL)}
                    </td>
                  </tr>
                )}
              </For>
            </tbody>
          </table>
        </Show>
      </Folio>
    </>
  )
}
