import { For, Show } from 'solid-js'
import type { YieldsWire } from '../../api/wire.ts'
import { ScrollX } from '../parts/scroll-x.tsx'
import { Ask } from '../parts/states.tsx'
import { useSession } from '../session.tsx'
import { useLosses, useYields } from './queries.ts'
import { LotLink } from './trace-table.tsx'
import { sayCause, sayLitres, sayShare } from './words.ts'

/** Losses by cause and month. */
export function LossTable(props: { readonly from: string; readonly to: string }) {
  const session = useSession()
  const format = session.format
  const losses = useLosses(() => ({ from: props.from, to: props.to }))
  const month = (name: string) =>
    new Intl.DateTimeFormat(format().language, { month: 'short', year: 'numeric', timeZone: 'UTC' }).format(
      Date.UTC(Number(name.slice(0, 4)), Number(name.slice(5, 7)) - 1, 15),
    )
  return (
    <Ask query={losses} what="the losses">
      {(answer) => (
        <section class="register stack" aria-label="Losses by cause and month">
          <div>
            <h2>Losses by cause and month</h2>
            <p class="quiet">
              {session.cellar().name}, {format().dayWithYear(props.from)} to {format().dayWithYear(props.to)}.{' '}
              {sayLitres(format(), answer().totalL)} in all, {sayShare(format(), answer().share)} of what was there and
              came in.
            </p>
          </div>
          <Show when={answer().causes.length > 0} fallback={<p class="quiet">Nothing was lost in this period.</p>}>
            <ScrollX label="Losses by cause and month, rows">
              <table class="ledger">
                <thead>
                  <tr>
                    <th>Cause</th>
                    <For each={answer().months}>{(name) => <th class="n">{month(name)}</th>}</For>
                    <th class="n">In all</th>
                  </tr>
                </thead>
                <tbody>
                  <For each={answer().causes}>
                    {(cause) => (
                      <tr>
                        <th scope="row">{sayCause(cause.cause)}</th>
                        <For each={cause.byMonthL}>
                          {(volumeL) => <td class="n">{volumeL === 0 ? '' : sayLitres(format(), volumeL)}</td>}
                        </For>
                        <td class="n">{sayLitres(format(), cause.totalL)}</td>
                      </tr>
                    )}
                  </For>
                  <tr class="total">
                    <th scope="row">In all</th>
                    <For each={answer().months}>
                      {(_, at) => (
                        <td class="n">
                          {sayLitres(
                            format(),
                            answer().causes.reduce((sum, cause) => sum + (cause.byMonthL[at()] ?? 0), 0),
                          )}
                        </td>
                      )}
                    </For>
                    <td class="n">{sayLitres(format(), answer().totalL)}</td>
                  </tr>
                </tbody>
              </table>
            </ScrollX>
          </Show>
        </section>
      )}
    </Ask>
  )
}

/** What each block gave, and each lot of it: litres a tonne off the press, and clear. */
export function YieldTable() {
  const yields = useYields()
  return (
    <Ask query={yields} what="the yields">
      {(answer) => (
        <section class="register stack" aria-label="Litres a tonne by block and lot">
          <h2>Litres a tonne by block and lot</h2>
          <Show when={answer().rows.length > 0} fallback={<p class="quiet">Nothing has been pressed yet.</p>}>
            <table class="ledger folds">
              <thead>
                <tr>
                  <th>Block</th>
                  <th>Variety</th>
                  <th>Vintage</th>
                  <th>Lots</th>
                  <th class="n">Fruit</th>
                  <th class="n">Pressed</th>
                  <th class="n">Pressed, L/t</th>
                  <th class="n">Clear, L/t</th>
                </tr>
              </thead>
              <tbody>
                <For each={answer().rows}>
                  {(row) => (
                    <>
                      <tr>
                        <th scope="row" class="first">
                          {row.block}
                        </th>
                        <td>{row.variety}</td>
                        <td>{row.vintage}</td>
                        <td>
                          <Show when={row.lots.length === 1 && row.lots[0]} fallback={`${row.lots.length} lots`}>
                            {(lot) => <LotLink lot={lot().id} label={lot().code} />}
                          </Show>
                        </td>
                        <YieldCells of={row} />
                      </tr>
                      <Show when={row.lots.length > 1}>
                        <For each={row.lots}>
                          {(lot) => (
                            <tr class="quiet">
                              <th scope="row" class="first">
                                <LotLink lot={lot.id} label={lot.code} />
                              </th>
                              <td colspan={3}>{lot.name}</td>
                              <YieldCells of={lot} />
                            </tr>
                          )}
                        </For>
                      </Show>
                    </>
                  )}
                </For>
              </tbody>
            </table>
          </Show>
        </section>
      )}
    </Ask>
  )
}

function YieldCells(props: {
  readonly of: Pick<YieldsWire['rows'][number], 'tonnes' | 'pressedL' | 'pressedLPerT' | 'clearLPerT'>
}) {
  const session = useSession()
  const format = session.format
  return (
    <>
      <td class="n" data-label="fruit">
        {format().number(props.of.tonnes, 2)} t
      </td>
      <td class="n" data-label="pressed">
        {sayLitres(format(), props.of.pressedL)}
      </td>
      <td class="n" data-label="pressed, L/t">
        {format().number(props.of.pressedLPerT)}
      </td>
      <td class="n" data-label="clear, L/t">
        {props.of.clearLPerT === null ? '–' : format().number(props.of.clearLPerT)}
      </td>
    </>
  )
}
