import { For, Show } from 'solid-js'
import type { RegisterWire } from '../../api/wire.ts'
import type { Format } from '../format.ts'
import { Badge } from '../parts/badge.tsx'
import { ScrollX } from '../parts/scroll-x.tsx'
import { useSession } from '../session.tsx'
import { sayShare } from './words.ts'

type Column = RegisterWire['columns'][number]

/** A register as it is kept: its title, its period, its rows, its sums. Prints with its head on every sheet. */
export function RegisterTable(props: { readonly register: RegisterWire }) {
  const session = useSession()
  const format = session.format
  const isFigure = (column: Column) => column.kind !== 'text' && column.kind !== 'moment'
  const hasTotals = () => props.register.columns.some((column) => props.register.totals[column.key] !== undefined)
  return (
    <section class="register stack" aria-label={props.register.title}>
      <div>
        <h2>{props.register.title}</h2>
        <p class="quiet">
          {session.cellar().name}, {format().dayWithYear(props.register.fromOn)} to{' '}
          {format().dayWithYear(props.register.toOn)}. {props.register.unitNote}
        </p>
        <Show when={props.register.closes !== undefined}>
          <p role="status">
            <Show when={props.register.closes} fallback={<Badge kind="late">The balance does not close</Badge>}>
              <Badge kind="strong">The balance closes</Badge> What was there and came in is what went out and is there.
            </Show>
          </p>
        </Show>
      </div>
      <Show when={props.register.rows.length > 0} fallback={<p class="quiet">Nothing in this period.</p>}>
        <ScrollX label={`${props.register.title}, rows`}>
          <table class="ledger">
            <thead>
              <tr>
                <For each={props.register.columns}>
                  {(column) => (
                    <th scope="col" classList={{ n: isFigure(column) }}>
                      {column.title}
                    </th>
                  )}
                </For>
              </tr>
            </thead>
            <tbody>
              <For each={props.register.rows}>
                {(row) => (
                  <tr>
                    <For each={props.register.columns}>
                      {(column) => (
                        <td classList={{ n: isFigure(column), nowrap: column.kind === 'moment' }}>
                          {sayCell(format(), column, row[column.key])}
                        </td>
                      )}
                    </For>
                  </tr>
                )}
              </For>
              <Show when={hasTotals()}>
                <tr class="total">
                  <For each={props.register.columns}>
                    {(column, at) => (
                      <td classList={{ n: isFigure(column) }}>
                        {props.register.totals[column.key] === undefined
                          ? at() === 0
                            ? 'In all'
                            : ''
                          : sayCell(format(), column, props.register.totals[column.key])}
                      </td>
                    )}
                  </For>
                </tr>
              </Show>
            </tbody>
          </table>
        </ScrollX>
      </Show>
      <Show when={props.register.leftOff > 0}>
        <p class="note bad">
          {format().number(props.register.leftOff)} rows are not shown; ask for a shorter period or take the CSV.
        </p>
      </Show>
      <p class="print-only small">
        Printed {format().moment(session.nowMs())} by {session.person().name}. Signed: ______________________________
      </p>
    </section>
  )
}

/** A volume is already in the unit that was asked for, and has as many places here as in the CSV: both must add up. */
function sayCell(format: Format, column: Column, value: string | number | null | undefined): string {
  if (value === null || value === undefined || value === '') return ''
  if (typeof value === 'string') {
    return column.kind === 'moment' ? `${format.dayYear(value)} ${format.time(value)}` : value
  }
  if (column.kind === 'share') return sayShare(format, value)
  return format.number(value, 3)
}
