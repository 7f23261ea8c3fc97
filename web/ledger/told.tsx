/** Small things that the pages of a vessel and of a lot both tell. */
import { createSignal, For, Show } from 'solid-js'
import type { LotLedgerWire, QuarantineWire, So2Wire } from '../../api/wire.ts'
import { Button } from '../parts/button.tsx'
import { readingLabel, sayReading } from '../readings.ts'
import { useSession } from '../session.tsx'
import { LotLink } from './trace-table.tsx'
import { sayLitres, sayShare } from './words.ts'

type ReadingTold = LotLedgerWire['readings'][number]
export type AdditionTold = LotLedgerWire['additions'][number]

export function So2Line(props: { readonly so2: So2Wire }) {
  const session = useSession()
  const format = session.format
  return (
    <>
      <b>{format().number(props.so2.addedMgPerL, 1)} mg/L</b> put in so far
      <Show when={props.so2.measuredTotalMgPerL}>
        {(measured) => (
          <>
            , {format().number(measured())} mg/L total measured
            <Show when={props.so2.measuredAt}>{(at) => <> {format().dayYear(at())}</>}</Show>
          </>
        )}
      </Show>
      <div class="small quiet">{props.so2.words}</div>
    </>
  )
}

export function QuarantineNote(props: { readonly quarantine: QuarantineWire | null }) {
  const session = useSession()
  return (
    <Show when={props.quarantine}>
      {(flag) => (
        <div class="note bad">
          <b>Barred from topping other wine</b> since {session.format().dayYear(flag().since)}: {flag().reason}{' '}
          <span class="quiet">({flag().person})</span>
        </div>
      )}
    </Show>
  )
}

const FIRST = 15

/** Analyses of the wine and of everything that went into it, each with how much of this wine it speaks for. */
export function ReadingsTold(props: { readonly readings: readonly ReadingTold[] }) {
  const session = useSession()
  const format = session.format
  const [all, setAll] = createSignal(false)
  return (
    <Show when={props.readings.length > 0} fallback={<p class="quiet">Nothing measured.</p>}>
      <table class="ledger folds">
        <thead>
          <tr>
            <th>Taken</th>
            <th>Lot</th>
            <th>Measured</th>
            <th class="n">Value</th>
            <th class="n">Speaks for</th>
          </tr>
        </thead>
        <tbody>
          <For each={all() ? props.readings : props.readings.slice(0, FIRST)}>
            {(reading) => (
              <tr>
                <td class="nowrap first">{format().moment(reading.takenAt)}</td>
                <td>
                  <LotLink lot={reading.lot.id} label={reading.lot.code} /> {reading.vesselCode}
                </td>
                <td>{readingLabel(reading.kind)}</td>
                <td class="n">{sayReading(reading, format())}</td>
                <td class="n" data-label="speaks for">
                  {reading.share === undefined ? '' : sayShare(format(), reading.share)}
                </td>
              </tr>
            )}
          </For>
        </tbody>
      </table>
      <Show when={!all() && props.readings.length > FIRST}>
        <div>
          <Button onClick={() => setAll(true)}>All {props.readings.length} readings</Button>
        </div>
      </Show>
    </Show>
  )
}

/** Each product as it was put in: what, how much, into how many litres, by whom. */
export function AdditionsTold(props: {
  readonly additions: readonly AdditionTold[]
  readonly correct?: (addition: AdditionTold) => void
}) {
  const session = useSession()
  const format = session.format
  return (
    <Show when={props.additions.length > 0} fallback={<p class="quiet">Nothing was put in.</p>}>
      <table class="ledger folds">
        <thead>
          <tr>
            <th>When</th>
            <th>Lot</th>
            <th>Product</th>
            <th>Batch</th>
            <th class="n">Amount</th>
            <th class="n">Into</th>
            <th>Who</th>
            <th>
              <span class="visually-hidden">Correct</span>
            </th>
          </tr>
        </thead>
        <tbody>
          <For each={props.additions}>
            {(addition) => (
              <tr classList={{ struck: addition.reversed }}>
                <td class="nowrap first">{format().moment(addition.addedAt)}</td>
                <td>
                  <LotLink lot={addition.lot.id} label={addition.lot.code} /> {addition.vesselCode}
                </td>
                <td>{addition.product}</td>
                <td>{addition.batchNo}</td>
                <td class="n">{format().dose(addition.amount, addition.unit)}</td>
                <td class="n" data-label="into">
                  {sayLitres(format(), addition.treatedL)}
                </td>
                <td>{addition.person}</td>
                <td>
                  <Show when={props.correct && !addition.reversed}>
                    <button
                      type="button"
                      class="link small no-print"
                      aria-label={`Correct ${addition.product} of ${format().moment(addition.addedAt)}`}
                      onClick={() => props.correct?.(addition)}
                    >
                      correct
                    </button>
                  </Show>
                </td>
              </tr>
            )}
          </For>
        </tbody>
      </table>
    </Show>
  )
}
