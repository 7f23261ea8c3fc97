import { A } from '@solidjs/router'
import { createSignal, For, Show } from 'solid-js'
import type { MovementEndWire, MovementWire } from '../../api/wire.ts'
import { Badge } from '../parts/badge.tsx'
import { useSession } from '../session.tsx'
import { CorrectDialog } from './correct-dialog.tsx'
import { OUTSIDE_WORDS, sayCause, sayLitres } from './words.ts'

/** Movements, the newest first. A wrong one is taken back by a second entry; both stay in the book. */
export function MovementTable(props: { readonly movements: readonly MovementWire[]; readonly none?: string }) {
  const session = useSession()
  const format = session.format
  const [correcting, setCorrecting] = createSignal<MovementWire>()
  return (
    <Show when={props.movements.length > 0} fallback={<p class="quiet">{props.none ?? 'Nothing was moved.'}</p>}>
      <table class="ledger folds">
        <caption class="visually-hidden">Movements, newest first</caption>
        <thead>
          <tr>
            <th>When</th>
            <th>From</th>
            <th>To</th>
            <th class="n">Moved</th>
            <th>Why</th>
            <th>Who</th>
            <th>
              <span class="visually-hidden">Correct</span>
            </th>
          </tr>
        </thead>
        <tbody>
          <For each={props.movements}>
            {(movement) => (
              <tr classList={{ struck: movement.reversedById !== undefined }} data-movement={movement.id}>
                <td class="nowrap first">
                  {format().dayYear(movement.at)} {format().time(movement.at)}
                  <Show when={movement.late}>
                    <div class="small quiet">written {format().dayYear(movement.writtenAt)}</div>
                  </Show>
                </td>
                <td data-label="from">
                  <End end={movement.from} />
                </td>
                <td data-label="to">
                  <End end={movement.to} />
                </td>
                <td class="n">
                  {sayLitres(format(), movement.volumeL)}
                  <Planned movement={movement} />
                </td>
                <td>
                  {sayCause(movement.cause)}
                  <Show when={movement.reversesId}>
                    {' '}
                    <Badge>takes back</Badge>
                  </Show>
                  <Show when={movement.reason}>
                    <div class="small quiet">{movement.reason}</div>
                  </Show>
                  <Show when={movement.taskKey}>
                    {(key) => (
                      <div class="small">
                        <A href={`/lots/${key().split('/')[0]}?open=${encodeURIComponent(key())}`}>its task</A>
                      </div>
                    )}
                  </Show>
                </td>
                <td>{movement.people.map((person) => person.name).join(', ')}</td>
                <td>
                  <Show
                    when={session.leads() && movement.reversedById === undefined && movement.reversesId === undefined}
                  >
                    <button
                      type="button"
                      class="link small no-print"
                      aria-label={`Correct ${sayLitres(format(), movement.volumeL)} of ${format().moment(movement.at)}`}
                      onClick={() => setCorrecting(movement)}
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
      <Show when={correcting()} keyed>
        {(movement) => <CorrectDialog movement={movement} close={() => setCorrecting(undefined)} />}
      </Show>
    </Show>
  )
}

function End(props: { readonly end: MovementEndWire }) {
  const session = useSession()
  const say = (volumeL: number) => sayLitres(session.format(), volumeL)
  return (
    <Show when={props.end.kind === 'vessel'} fallback={OUTSIDE_WORDS[props.end.kind as keyof typeof OUTSIDE_WORDS]}>
      <A href={`/ledger/vessels/${encodeURIComponent(props.end.vessel?.id ?? '')}`}>{props.end.vessel?.code}</A>{' '}
      <Show when={props.end.lot}>
        {(lot) => <A href={`/ledger/lots/${encodeURIComponent(lot().id)}`}>{lot().code}</A>}
      </Show>
      <Show when={props.end.afterL !== undefined}>
        <div class="small quiet nowrap">
          {say(props.end.beforeL ?? 0)} → {say(props.end.afterL ?? 0)}
        </div>
      </Show>
    </Show>
  )
}

/** Measured against planned, where a task planned it. */
function Planned(props: { readonly movement: MovementWire }) {
  const session = useSession()
  return (
    <Show when={props.movement.plannedL}>
      {(plannedL) => (
        <div
          class="small"
          classList={{
            quiet: props.movement.withinTolerance !== false,
            'late-text': props.movement.withinTolerance === false,
          }}
        >
          planned {sayLitres(session.format(), plannedL())}
          {props.movement.withinTolerance === false ? ', off by more than usual' : ''}
        </div>
      )}
    </Show>
  )
}
