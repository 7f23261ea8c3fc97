import { useSearchParams } from '@solidjs/router'
import { useQuery } from '@tanstack/solid-query'
import { For, Show } from 'solid-js'
import type { RecordCheckWire, UnsettledWire, WorkLogWire } from '../../api/wire.ts'
import { get, query } from '../api.ts'
import { addDays } from '../format.ts'
import { Button } from '../parts/button.tsx'
import { TextField } from '../parts/field.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { ScrollX } from '../parts/scroll-x.tsx'
import { Ask, Empty } from '../parts/states.tsx'
import { usePeople } from '../queries.ts'
import { useSession } from '../session.tsx'

interface Asked {
  readonly from?: string
  readonly to?: string
  readonly lot?: string
  readonly vessel?: string
}

/** Who did what and when, as it was told, in the order it happened; and whether nobody changed it since. */
export function Records() {
  const session = useSession()
  const [params, setParams] = useSearchParams<{ from?: string; to?: string; lot?: string; vessel?: string }>()
  const asked = (): Asked => ({
    from: params.from ?? addDays(session.today(), -7),
    to: params.to ?? session.today(),
    lot: params.lot || undefined,
    vessel: params.vessel || undefined,
  })
  const log = useQuery(() => ({
    queryKey: ['record', asked()],
    queryFn: ({ signal }) => get<WorkLogWire>(`/api/record${query({ ...asked() })}`, signal),
    enabled: session.leads(),
  }))
  return (
    <Show
      when={session.leads()}
      fallback={
        <Empty title="The records are read by owners and winemakers">
          <p>What you told yourself stands at each task and lot.</p>
        </Empty>
      }
    >
      <PageHead title="Records" lede="Who did what and when. Nothing here is ever changed: a correction is a new line.">
        <a class="button no-print" href={`/api/record/csv${query({ ...asked() })}`} download="">
          CSV
        </a>
        <a class="button no-print" href={`/api/record${query({ ...asked() })}`} download="work-log.json">
          JSON
        </a>
        <Button class="desk-only no-print" onClick={() => window.print()}>
          Print
        </Button>
      </PageHead>
      <form class="row top no-print" onSubmit={(event) => event.preventDefault()}>
        <TextField label="From" type="date" value={asked().from ?? ''} onInput={(from) => setParams({ from })} />
        <TextField label="To" type="date" value={asked().to ?? ''} onInput={(to) => setParams({ to })} />
        <TextField label="Lot" value={params.lot ?? ''} maxLength={16} onInput={(lot) => setParams({ lot })} />
        <TextField
          label="Vessel"
          value={params.vessel ?? ''}
          maxLength={16}
          onInput={(vessel) => setParams({ vessel })}
        />
      </form>
      <Unsettled />
      <Folio title="Work log" note={`${asked().from} to ${asked().to}`}>
        <Ask query={log} what="the work log">
          {(answer) => <Log log={answer()} />}
        </Ask>
      </Folio>
      <Chain />
    </Show>
  )
}

function Log(props: { readonly log: WorkLogWire }) {
  const session = useSession()
  const format = session.format
  /** Later than this between doing and writing says so: it was told without a signal, or entered late. */
  const isLate = (line: WorkLogWire['lines'][number]) => Date.parse(line.writtenAt) - Date.parse(line.at) > 60 * 60_000
  return (
    <Show
      when={props.log.lines.length > 0}
      fallback={
        <Empty title="Nothing was recorded in these days">
          <p>Choose other days, another lot or another vessel.</p>
        </Empty>
      }
    >
      <Show when={props.log.more}>
        <p class="note bad">These days hold more than can be shown at once: ask for fewer.</p>
      </Show>
      <ScrollX label="Work log">
        <table class="ledger">
          <thead>
            <tr>
              <th class="n">No.</th>
              <th>When</th>
              <th>Written</th>
              <th>Who</th>
              <th>Lot</th>
              <th>Vessel</th>
              <th>Task</th>
              <th>What</th>
            </tr>
          </thead>
          <tbody>
            <For each={props.log.lines}>
              {(line) => (
                <tr data-entry={line.entry}>
                  <td class="n">{line.entry}</td>
                  <td class="nowrap">{format().moment(line.at)}</td>
                  <td class="nowrap quiet">{isLate(line) ? format().moment(line.writtenAt) : ''}</td>
                  <td>{line.person ?? ''}</td>
                  <td>{line.lot ?? ''}</td>
                  <td>{line.vessel ?? ''}</td>
                  <td>{line.task ?? ''}</td>
                  <td>{line.words}</td>
                </tr>
              )}
            </For>
          </tbody>
        </table>
      </ScrollX>
    </Show>
  )
}

/** What phones sent that was not accepted, or that somebody should look at. */
function Unsettled() {
  const session = useSession()
  const people = usePeople()
  const unsettled = useQuery(() => ({
    queryKey: ['operations'],
    queryFn: ({ signal }) => get<UnsettledWire>('/api/operations', signal),
  }))
  const nameOf = (id: string) =>
    (people.dataUpdatedAt > 0 && people.data?.people.find((person) => person.id === id)?.name) || id
  const rows = () => (unsettled.dataUpdatedAt > 0 && unsettled.data?.operations) || []
  return (
    <Show when={rows().length > 0}>
      <Folio title="From the floor, to look at" note={`${rows().length}`}>
        <ul class="stack tight">
          <For each={rows()}>
            {(op) => (
              <li data-op={op.opId}>
                <b>{op.state === 'refused' ? 'Not accepted' : 'Stored, check'}</b> {nameOf(op.personId)}, {op.kind}
                {op.taskKey ? ` at ${op.taskKey}` : ''}, {session.format().moment(op.writtenAt)}. {op.words}
              </li>
            )}
          </For>
        </ul>
      </Folio>
    </Show>
  )
}

function Chain() {
  const session = useSession()
  const check = useQuery(() => ({
    queryKey: ['record', 'check'],
    queryFn: ({ signal }) => get<RecordCheckWire>('/api/record/check', signal),
    enabled: false,
  }))
  return (
    <Folio title="Has anybody changed it?">
      <p class="prose">
        Each line carries a hash of the line before it. A line that was changed, taken out or put in, or a reading,
        addition or movement that no longer says what its line says, is found here.
      </p>
      <Button class="no-print" pending={check.isFetching} onClick={() => void check.refetch()}>
        Check the whole record
      </Button>
      <Show when={check.dataUpdatedAt > 0 && check.data}>
        {(found) => (
          <div role="status" class="note" classList={{ bad: found().faults.length > 0 }}>
            <p>
              <strong>
                {found().faults.length === 0
                  ? `All ${found().entries} lines fit.`
                  : `${found().faults.length} of ${found().entries} lines do not fit.`}
              </strong>{' '}
              Checked {session.format().moment(found().checkedAt)}.
            </p>
            <p class="small">
              Hash of the last line, to be written down outside: <code class="hash">{found().head}</code>
            </p>
            <ul>
              <For each={found().faults}>
                {(fault) => (
                  <li>
                    Line {fault.entry}: {fault.words}
                  </li>
                )}
              </For>
            </ul>
          </div>
        )}
      </Show>
    </Folio>
  )
}
