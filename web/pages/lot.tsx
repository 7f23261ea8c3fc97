import { useParams, useSearchParams } from '@solidjs/router'
import { createMemo, createSignal, For, Show } from 'solid-js'
import { msOf } from '../format.ts'
import { Badge } from '../parts/badge.tsx'
import { Button } from '../parts/button.tsx'
import { Check } from '../parts/field.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { Ask } from '../parts/states.tsx'
import { VesselTags } from '../parts/tag.tsx'
import { TaskPanel } from '../parts/task-panel.tsx'
import { isOpen } from '../parts/task-work.tsx'
import { type LotPageWire, useLot, usePeople } from '../queries.ts'
import { readingLabel, sayReading } from '../readings.ts'
import { useSession } from '../session.tsx'
import { standsAs } from '../words.ts'
import { ConflictNotes } from './conflict-notes.tsx'
import { Curve } from './curve.tsx'
import { LotChoices } from './lot-choices.tsx'
import { LotEdit } from './lot-edit.tsx'
import { LotReadings } from './lot-readings.tsx'
import { LotSo2 } from './lot-so2.tsx'
import { LotWhere } from './lot-where.tsx'
import { TaskLedger } from './task-ledger.tsx'

/** One lot, whole: where it stands, its work, its curve, its readings, its choices, what happened to it. */
export function Lot() {
  const params = useParams<{ id: string }>()
  const [search, setSearch] = useSearchParams<{ open?: string }>()
  const lot = useLot(() => params.id)
  return (
    <>
      <Ask query={lot} what="the lot">
        {(answer) => <LotSheet answer={answer()} open={(key) => setSearch({ open: key })} />}
      </Ask>
      <Show when={search.open}>
        {(key) => (
          <TaskPanel
            taskKey={key()}
            onClose={() => setSearch({ open: undefined })}
            onOpen={(next) => setSearch({ open: next })}
          />
        )}
      </Show>
    </>
  )
}

function LotSheet(props: { readonly answer: LotPageWire; readonly open: (key: string) => void }) {
  const session = useSession()
  const format = session.format
  const lot = () => props.answer.lot
  const [all, setAll] = createSignal(false)
  const tasks = createMemo(() => props.answer.tasks.filter((task) => all() || isOpen(task)))
  return (
    <>
      <PageHead
        title={
          <>
            {lot().code} {lot().name}
          </>
        }
        lede={`${lot().variety}, ${lot().block}, ${lot().place}. Vintage ${lot().vintage}, picked ${format().dayWithYear(lot().pickOn)}.`}
      >
        <VesselTags codes={lot().vessels} most={6} huge />
        <Show when={session.leads()}>
          <LotEdit lot={lot()} />
        </Show>
      </PageHead>

      <Folio title="Stands">
        <dl class="pairs">
          <dt>Is</dt>
          <dd>{standsAs(lot(), 'Not picked yet')}</dd>
          <dt>Holds</dt>
          <dd>{format().volume(lot().volumeL)}</dd>
          <dt>Fruit</dt>
          <dd>
            {format().number(lot().fruit.tonnes, 2)} t, {format().sugar(lot().fruit.brix)}, pH{' '}
            {format().number(lot().fruit.pH, 2)}, acid {format().number(lot().fruit.acidGPerLTartaric, 1)} g/L as
            tartaric
          </dd>
          <Show when={lot().dry}>
            {(dry) => (
              <>
                <dt>{msOf(dry().latestAt) < session.nowMs() ? 'Dry since' : 'Dry about'}</dt>
                <dd>
                  <b>{format().dayMonth(dry().likelyAt)}</b>
                  <Show when={format().dayOf(dry().earliestAt) !== format().dayOf(dry().latestAt)}>
                    , {format().dayRange(dry().earliestAt, dry().latestAt)} at the outside
                  </Show>
                </dd>
              </>
            )}
          </Show>
          <Show when={lot().lateCount > 0}>
            <dt>Late</dt>
            <dd class="late-text">{lot().lateCount} tasks</dd>
          </Show>
        </dl>
        <Show when={lot().conflicts.length > 0}>
          <ConflictNotes
            found={lot().conflicts}
            signed={lot().conflicts.flatMap((found) =>
              found.signedReason ? [{ conflict: found.id, reason: found.signedReason }] : [],
            )}
          />
        </Show>
      </Folio>

      <LotWhere lot={lot().id} />

      <Show when={props.answer.forecast.length > 1 || props.answer.readings.length > 0}>
        <Folio title="Fermentation" note="Sugar left, forecast with its band, and what was measured.">
          <Curve points={props.answer.forecast} readings={fermentReadings(props.answer)} startBrix={lot().fruit.brix} />
          <WatchWords watch={props.answer.watch ?? []} />
        </Folio>
      </Show>

      <Folio
        title="Work"
        note={
          <>
            {props.answer.tasks.filter(isOpen).length} to do,{' '}
            {props.answer.tasks.filter((task) => task.state === 'done').length} done
          </>
        }
      >
        <TaskLedger tasks={tasks()} open={props.open} />
        <Check label="Show what is done, left out or cancelled" checked={all()} onInput={setAll} />
      </Folio>

      <Folio title="Readings" note="A wrong reading is corrected by a second entry, never erased.">
        <LotReadings lot={lot()} readings={props.answer.readings} />
      </Folio>

      <Show when={props.answer.so2}>{(so2) => <LotSo2 so2={so2()} />}</Show>

      <LotChoices lot={lot()} latest={props.answer.readings} versions={props.answer.choiceVersions} />

      <Folio title="History" note="Newest first. Nothing is deleted.">
        <History answer={props.answer} />
      </Folio>
    </>
  )
}

/** Before the ferment a hydrometer reads the fruit, not what is left of it. */
function fermentReadings(answer: LotPageWire): LotPageWire['readings'] {
  const starts = [
    ...answer.phases
      .filter((phase) => phase.kind === 'ferment' || phase.kind === 'macerate')
      .map((phase) => phase.startAt),
    ...answer.forecast.slice(0, 1).map((point) => point.at),
  ]
  const fromMs = starts.length ? Math.min(...starts.map(msOf)) - 43_200_000 : Number.NEGATIVE_INFINITY
  return answer.readings.filter((reading) => msOf(reading.takenAt) >= fromMs)
}

const FIRST = 15

function History(props: { readonly answer: LotPageWire }) {
  const session = useSession()
  const people = usePeople()
  const [all, setAll] = createSignal(false)
  const nameOf = (id: string | undefined) =>
    id && ((people.dataUpdatedAt > 0 && people.data?.people.find((person) => person.id === id)?.name) || id)
  const readings = createMemo(() => new Map(props.answer.readings.map((reading) => [reading.id, reading])))
  const wordsOf = (entry: LotPageWire['history'][number]) => {
    const reading = entry.readingId === undefined ? undefined : readings().get(entry.readingId)
    if (!reading) return entry.words
    const value = sayReading(reading, session.format())
    return `${readingLabel(reading.kind)} ${value}${reading.note ? `. ${reading.note}` : ''}`
  }
  const shown = () => (all() ? props.answer.history : props.answer.history.slice(0, FIRST))
  return (
    <>
      <table class="ledger folds">
        <thead>
          <tr>
            <th>When</th>
            <th>What</th>
            <th>Who</th>
          </tr>
        </thead>
        <tbody>
          <For
            each={shown()}
            fallback={
              <tr>
                <td colSpan={3}>Nothing yet.</td>
              </tr>
            }
          >
            {(entry) => (
              <tr>
                <td class="nowrap">{session.format().moment(entry.at)}</td>
                <td>{wordsOf(entry)}</td>
                <td>{nameOf(entry.personId)}</td>
              </tr>
            )}
          </For>
        </tbody>
      </table>
      <Show when={!all() && props.answer.history.length > FIRST}>
        <div>
          <Button onClick={() => setAll(true)}>All {props.answer.history.length} entries</Button>
        </div>
      </Show>
    </>
  )
}

const WATCH_LEVEL = { note: 'Note', warn: 'Look', act: 'Act now' } as const

/** What the ferment asks people to look at: its risk, then what its readings say. */
function WatchWords(props: { readonly watch: NonNullable<LotPageWire['watch']> }) {
  return (
    <Show when={props.watch.length > 0}>
      <ul aria-label="What this ferment asks for">
        <For each={props.watch}>
          {(one) => (
            <li>
              <Badge kind={one.level === 'act' ? 'late' : undefined}>{WATCH_LEVEL[one.level]}</Badge> {one.words}
            </li>
          )}
        </For>
      </ul>
    </Show>
  )
}
