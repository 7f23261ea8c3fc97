import { A, useParams } from '@solidjs/router'
import { createSignal, For, type JSX, Show } from 'solid-js'
import type { LotLedgerWire } from '../../api/wire.ts'
import { AdditionDialog } from '../ledger/addition-dialog.tsx'
import { AsItWas, useAsItWas } from '../ledger/as-it-was.tsx'
import { BookNav } from '../ledger/book-nav.tsx'
import { Added, Claims, Composition, Sources } from '../ledger/contents.tsx'
import { FlagDialog, RenameDialog } from '../ledger/lot-dialogs.tsx'
import { MergeDialog } from '../ledger/merge-dialog.tsx'
import { MovementTable } from '../ledger/movement-table.tsx'
import { useLotLedger, useStock } from '../ledger/queries.ts'
import { SplitDialog } from '../ledger/split-dialog.tsx'
import { AdditionsTold, type AdditionTold, QuarantineNote, ReadingsTold, So2Line } from '../ledger/told.tsx'
import { LotLink } from '../ledger/trace-table.tsx'
import { Where } from '../ledger/where.tsx'
import { sayLitres, sayShare } from '../ledger/words.ts'
import { Button, ButtonLink } from '../parts/button.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { Ask } from '../parts/states.tsx'
import { VesselTag } from '../parts/tag.tsx'
import { useSession } from '../session.tsx'
import { VESSEL_WORDS } from '../words.ts'

/** Where a lot is, what it is made of, what was done to it, what it became. */
export function LedgerLot() {
  const params = useParams<{ id: string }>()
  const was = useAsItWas()
  const ledger = useLotLedger(() => params.id, was.at)
  return (
    <Ask query={ledger} what="the lot">
      {(answer) => <LotLedgerSheet ledger={answer()} was={was} />}
    </Ask>
  )
}

type Open = 'split' | 'merge' | 'rename' | 'flag'

function LotLedgerSheet(props: { readonly ledger: LotLedgerWire; readonly was: ReturnType<typeof useAsItWas> }) {
  const session = useSession()
  const format = session.format
  const lot = () => props.ledger.lot
  const [open, setOpen] = createSignal<Open>()
  const [wrong, setWrong] = createSignal<AdditionTold>()
  const close = () => setOpen(undefined)
  const isThere = () => props.ledger.volumeL > 0
  return (
    <>
      <PageHead
        title={
          <>
            {lot().code} {lot().name}
          </>
        }
        lede={
          <>
            Where it is and what is in it. <A href={`/lots/${encodeURIComponent(lot().id)}`}>Its work and choices</A>
          </>
        }
      >
        <ButtonLink href={`/ledger/trace?lot=${encodeURIComponent(lot().code)}`}>Trace</ButtonLink>
        <Show when={session.leads() && !props.was.at()}>
          <Show when={isThere()}>
            <Button onClick={() => setOpen('split')}>Split</Button>
            <Button onClick={() => setOpen('merge')}>Merge</Button>
          </Show>
          <Button onClick={() => setOpen('rename')}>Rename</Button>
          <Button onClick={() => setOpen('flag')}>{props.ledger.quarantine ? 'Let it top again' : 'Bar it'}</Button>
        </Show>
      </PageHead>
      <BookNav />
      <div class="row filters">
        <AsItWas wall={props.was.wall()} setWall={props.was.setWall} />
      </div>
      <QuarantineNote quarantine={props.ledger.quarantine} />
      <Folio title="Where it is" note={`${sayLitres(format(), props.ledger.volumeL)} in all`}>
        <Where where={props.ledger.where} />
      </Folio>
      <Show when={isThere()}>
        <Folio title="Made of" note="Each group adds up to the whole.">
          <Composition composition={props.ledger.composition} />
        </Folio>
        <Folio title="Label shares" note="Check your own rules: limits differ by country and change.">
          <Claims claims={props.ledger.claims} />
        </Folio>
        <Folio title="Parcels" note={`${props.ledger.sources.length} that came through the door.`}>
          <Sources sources={props.ledger.sources} />
        </Folio>
      </Show>
      <Show when={props.ledger.parents.length + props.ledger.children.length > 0}>
        <Folio title="Kin">
          <Kin title="Came from" kin={props.ledger.parents} share="of this lot" />
          <Kin title="Went into" kin={props.ledger.children} share="of that lot" />
        </Folio>
      </Show>
      <Show when={isThere()}>
        <Folio title="Put in" note="In each litre now, diluted by every blend; not what an analysis finds.">
          <p>
            SO2: <So2Line so2={props.ledger.so2} />
          </p>
          <Added added={props.ledger.added} />
        </Folio>
      </Show>
      <Folio title="Additions" note="As they were made, here and in everything it came from.">
        <AdditionsTold additions={props.ledger.additions} correct={session.leads() ? setWrong : undefined} />
      </Folio>
      <Folio title="Wood" note="Every barrel and cask it lay in, here and before, with the wines the wood had held.">
        <Oak ledger={props.ledger} />
      </Folio>
      <Folio title="Measured" note="Here and in everything it came from.">
        <ReadingsTold readings={props.ledger.readings} />
      </Folio>
      <Folio
        title="Movements"
        note={props.ledger.movementsLeftOff > 0 ? `${props.ledger.movementsLeftOff} older are left off.` : undefined}
      >
        <MovementTable movements={props.ledger.movements} none="It has not been moved." />
        <p class="no-print">
          <A href={`/ledger/movements?lot=${encodeURIComponent(lot().code)}`}>All its movements</A>
        </p>
      </Folio>
      <Show when={open() === 'split'}>
        <SplitDialog ledger={props.ledger} close={close} />
      </Show>
      <Show when={open() === 'merge'}>
        <WithStock>{(stock) => <MergeDialog stock={stock()} lots={[lot().id]} close={close} />}</WithStock>
      </Show>
      <Show when={open() === 'rename'}>
        <RenameDialog lot={lot()} close={close} />
      </Show>
      <Show when={open() === 'flag'}>
        <FlagDialog lot={lot()} isBarred={props.ledger.quarantine !== null} close={close} />
      </Show>
      <Show when={wrong()} keyed>
        {(addition) => <AdditionDialog addition={addition} close={() => setWrong(undefined)} />}
      </Show>
    </>
  )
}

function WithStock(props: {
  readonly children: (stock: () => NonNullable<ReturnType<typeof useStock>['data']>) => JSX.Element
}) {
  const stock = useStock()
  return (
    <Ask query={stock} what="the stock">
      {(answer) => props.children(answer)}
    </Ask>
  )
}

function Kin(props: { readonly title: string; readonly kin: LotLedgerWire['parents']; readonly share: string }) {
  const session = useSession()
  const format = session.format
  return (
    <Show when={props.kin.length > 0}>
      <table class="ledger folds">
        <caption>{props.title}</caption>
        <thead>
          <tr>
            <th>Lot</th>
            <th class="n">Litres</th>
            <th class="n">Share {props.share}</th>
            <th>When</th>
          </tr>
        </thead>
        <tbody>
          <For each={props.kin}>
            {(one) => (
              <tr>
                <td class="first">
                  <LotLink lot={one.lot.id} label={`${one.lot.code} ${one.lot.name}`} />
                </td>
                <td class="n">{sayLitres(format(), one.volumeL)}</td>
                <td class="n" data-label={`share ${props.share}`}>
                  {sayShare(format(), one.share)}
                </td>
                <td class="nowrap">{format().dayYear(one.at)}</td>
              </tr>
            )}
          </For>
        </tbody>
      </table>
    </Show>
  )
}

function Oak(props: { readonly ledger: LotLedgerWire }) {
  const session = useSession()
  const format = session.format
  return (
    <Show when={props.ledger.oak.length > 0} fallback={<p class="quiet">It has been in no wood.</p>}>
      <table class="ledger folds">
        <thead>
          <tr>
            <th>Vessel</th>
            <th>Wines before</th>
            <th>As</th>
            <th>From</th>
            <th>To</th>
            <th class="n">At most</th>
          </tr>
        </thead>
        <tbody>
          <For each={props.ledger.oak}>
            {(lay) => (
              <tr>
                <td class="first">
                  <A href={`/ledger/vessels/${encodeURIComponent(lay.vessel.id)}`}>
                    <VesselTag code={lay.vessel.code} />
                  </A>{' '}
                  {VESSEL_WORDS[lay.vessel.kind]}
                </td>
                <td data-label="wines before">{lay.fills === undefined ? '–' : lay.fills === 0 ? 'new' : lay.fills}</td>
                <td>
                  <LotLink lot={lay.viaLot.id} label={lay.viaLot.code} />
                </td>
                <td data-label="from">{format().dayYear(lay.fromAt)}</td>
                <td data-label="to">{lay.toAt ? format().dayYear(lay.toAt) : 'still there'}</td>
                <td class="n" data-label="at most">
                  {sayLitres(format(), lay.mostL)}
                </td>
              </tr>
            )}
          </For>
        </tbody>
      </table>
    </Show>
  )
}
