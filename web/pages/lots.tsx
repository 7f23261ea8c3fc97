import { A } from '@solidjs/router'
import { createMemo, createSignal, For, Show } from 'solid-js'
import type { LotWire, TaskWire } from '../../api/wire.ts'
import { msOf, startOfDay } from '../format.ts'
import { Badge } from '../parts/badge.tsx'
import { ButtonLink } from '../parts/button.tsx'
import { Check } from '../parts/field.tsx'
import { PageHead } from '../parts/page-head.tsx'
import { PegMark, pegState } from '../parts/peg-mark.tsx'
import { Ask, Empty } from '../parts/states.tsx'
import { VesselTags } from '../parts/tag.tsx'
import { useLots, useTasks } from '../queries.ts'
import { useSession } from '../session.tsx'
import { startWords } from '../when.ts'
import { standsAs } from '../words.ts'

/** Every lot on one sheet: where it is, what it does by itself, when it will be dry, what comes next. */
export function Lots() {
  const session = useSession()
  const lots = useLots()
  const [ended, setEnded] = createSignal(false)
  const tasks = useTasks(() => ({
    from: startOfDay(session.dayFromNow(-30), session.cellar().zone),
    to: startOfDay(session.dayFromNow(120), session.cellar().zone),
  }))
  const byKey = createMemo(
    () => new Map(((tasks.dataUpdatedAt > 0 && tasks.data?.tasks) || []).map((task) => [task.key, task])),
  )
  return (
    <>
      <PageHead title="Lots" lede="Where each lot is, what it is doing, and what comes next.">
        <Show when={session.leads()}>
          <ButtonLink kind="main" href="/lots/new">
            New lot
          </ButtonLink>
        </Show>
      </PageHead>
      <Ask query={lots} what="the lots">
        {(answer) => {
          const shown = () => answer().lots.filter((lot) => ended() || !lot.endedAt)
          return (
            <Show
              when={answer().lots.length > 0}
              fallback={
                <Empty title="No lot yet">
                  <p>A lot is fruit with its own choices. Enter the first, and its dated work appears at once.</p>
                  <p>
                    <ButtonLink kind="main" href="/lots/new">
                      New lot
                    </ButtonLink>
                  </p>
                </Empty>
              }
            >
              <table class="ledger folds">
                <thead>
                  <tr>
                    <th>Lot</th>
                    <th>Is</th>
                    <th>In</th>
                    <th class="n">Holds</th>
                    <th>Dry</th>
                    <th>Next</th>
                    <th>Mind</th>
                  </tr>
                </thead>
                <tbody>
                  <For each={shown()}>
                    {(lot) => <LotRow lot={lot} next={lot.nextTaskKey ? byKey().get(lot.nextTaskKey) : undefined} />}
                  </For>
                </tbody>
              </table>
              <Show when={answer().lots.some((lot) => lot.endedAt)}>
                <Check label="Show lots that have ended" checked={ended()} onInput={setEnded} />
              </Show>
            </Show>
          )
        }}
      </Ask>
    </>
  )
}

function LotRow(props: { readonly lot: LotWire; readonly next: TaskWire | undefined }) {
  const session = useSession()
  const format = session.format
  const count = (level: 'block' | 'warn') =>
    props.lot.conflicts.filter((found) => found.level === level && !found.signedReason).length
  return (
    <tr>
      <th scope="row" class="first">
        <A href={`/lots/${props.lot.id}`}>
          {props.lot.code} {props.lot.name}
        </A>
        <div class="small quiet">
          {props.lot.variety}, {props.lot.block}, pick {format().day(props.lot.pickOn)}
        </div>
      </th>
      <td>{standsAs(props.lot, 'Not picked')}</td>
      <td>
        <VesselTags codes={props.lot.vessels} most={3} />
      </td>
      <td class="n">{format().volume(props.lot.volumeL)}</td>
      <td data-label={props.lot.dry ? 'dry' : undefined}>
        <Show when={props.lot.dry}>
          {(dry) => (
            <>
              <span class="nowrap">
                {msOf(dry().latestAt) < session.nowMs() ? 'since ' : ''}
                {format().dayMonth(dry().likelyAt)}
              </span>
              <Show when={msOf(dry().latestAt) >= session.nowMs()}>
                <div class="small quiet nowrap">{format().dayRange(dry().earliestAt, dry().latestAt)}</div>
              </Show>
            </>
          )}
        </Show>
      </td>
      <td>
        <Show when={props.next}>
          {(next) => (
            <>
              <PegMark family={next().family} state={pegState(next())} /> {next().name}
              <div class="small quiet">{startWords(next(), format())}</div>
            </>
          )}
        </Show>
      </td>
      <td>
        <span class="row">
          <Show when={props.lot.lateCount > 0}>
            <Badge kind="late">{props.lot.lateCount} late</Badge>
          </Show>
          <Show when={count('block') > 0}>
            <Badge kind="late">
              {count('block')} {count('block') === 1 ? 'conflict' : 'conflicts'}
            </Badge>
          </Show>
          <Show when={count('warn') > 0}>
            <Badge>{count('warn')} to mind</Badge>
          </Show>
        </span>
      </td>
    </tr>
  )
}
