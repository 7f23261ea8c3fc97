import { createMemo, createSignal, For, Show } from 'solid-js'
import { Temporal } from '../../api/time.ts'
import type { LotWire, ReadingWire, TaskWire } from '../../api/wire.ts'
import { post, problemOf } from '../api.ts'
import { LabSamples } from '../floor/lab-samples.tsx'
import { momentOfWall, msOf, wallOfMoment } from '../format.ts'
import { Button } from '../parts/button.tsx'
import { Select, TextField } from '../parts/field.tsx'
import { MovedList } from '../parts/moved-list.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { ScrollX } from '../parts/scroll-x.tsx'
import { Ask, Empty, Failed } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { useAllReadings, useLots, useWrite } from '../queries.ts'
import { kindsFor, lastReading, readingInput, readingLabel, sayReading } from '../readings.ts'
import { useSession } from '../session.tsx'
import { cellKey, cellsOf, type Kind, nextCell, wrongCells } from './lab-grid.ts'

const PANELS: Readonly<Record<string, { readonly label: string; readonly kinds: readonly Kind[] }>> = {
  ferment: { label: 'Ferment round', kinds: ['density', 'temp'] },
  juice: { label: 'Juice panel', kinds: ['brix', 'pH', 'ta', 'malic', 'yan'] },
  wine: { label: 'Wine panel', kinds: ['pH', 'ta', 'free-so2', 'total-so2', 'va'] },
  malic: { label: 'Malic', kinds: ['malic'] },
  dry: { label: 'Dryness', kinds: ['density', 'glucose-fructose'] },
}
type Panel = keyof typeof PANELS

/** The bench's results of a day, lot by lot, without the mouse: Enter goes down, Tab across, Ctrl+Enter writes. */
export function Lab() {
  const lots = useLots()
  const readings = useAllReadings()
  return (
    <>
      <PageHead
        title="Lab"
        lede="Results of many lots at once. Enter goes down, Tab across, Ctrl+Enter writes all of them or none."
      />
      <LabSamples />
      <Ask query={lots} what="the lots">
        {(answer) => (
          <Show
            when={answer().lots.some((lot) => !lot.endedAt)}
            fallback={
              <Empty title="No lot to measure">
                <p>Lots appear here once they are planned.</p>
              </Empty>
            }
          >
            <Grid
              lots={answer().lots.filter((lot) => !lot.endedAt)}
              readings={(readings.dataUpdatedAt > 0 && readings.data?.readings) || []}
            />
          </Show>
        )}
      </Ask>
    </>
  )
}

interface Answer {
  readonly changed: readonly TaskWire[]
  readonly readings: readonly ReadingWire[]
}

function Grid(props: { readonly lots: readonly LotWire[]; readonly readings: readonly ReadingWire[] }) {
  const session = useSession()
  const format = session.format
  const [panel, setPanel] = createSignal<Panel>('ferment')
  const [typed, setTyped] = createSignal<Readonly<Record<string, string>>>({})
  const [wall, setWall] = createSignal('')
  const [told, setTold] = createSignal<Answer>()
  const kinds = createMemo(() => kindsFor(PANELS[panel()]?.kinds ?? [], format()))
  // What was typed in another panel is sent with the rest, not lost.
  const allKinds = createMemo(() =>
    kindsFor(
      Object.values(PANELS).flatMap((entry) => entry.kinds),
      format(),
    ),
  )
  const zone = () => session.cellar().zone
  const takenMs = () => (wall() ? msOf(momentOfWall(wall(), zone())) : session.nowMs())
  const sheet = () => ({
    lots: props.lots,
    kinds: allKinds(),
    typed: typed(),
    readings: props.readings,
    format: format(),
    takenMs: takenMs(),
  })
  const cells = createMemo(() => cellsOf(sheet()))
  const doubts = createMemo(() => new Map(cells().map((cell) => [cellKey(cell.lot.id, cell.kind), cell.doubt])))
  const wrong = createMemo(() => new Set(wrongCells(sheet())))
  const write = useWrite((readings: readonly Record<string, unknown>[]) => post<Answer>('/api/readings', { readings }))
  const elsewhere = () => cells().filter((cell) => !kinds().includes(cell.kind)).length
  const isDoubtful = () => write.isError && problemOf(write.error).type.endsWith('measure-again')

  const type = (key: string, text: string) => {
    write.reset()
    setTyped((now) => ({ ...now, [key]: text }))
  }
  const send = async (confirmed = false) => {
    if (cells().length === 0 || wrong().size > 0) return
    setTold(undefined)
    try {
      const answer = await write.mutateAsync(
        cells().map((cell) => ({
          opId: crypto.randomUUID(),
          lot: cell.lot.id,
          kind: cell.kind,
          value: cell.value,
          confirmed,
          ...(wall() ? { takenAtLocal: wall() } : {}),
        })),
      )
      toast(`${answer.readings.length} results written down.`)
      setTold(answer)
      setTyped({})
    } catch {
      // shown below the sheet, cell by cell
    }
  }

  let table: HTMLTableElement | undefined
  const keyed = (event: KeyboardEvent, row: number, column: number) => {
    if (event.key === 'Enter' && (event.ctrlKey || event.metaKey)) {
      event.preventDefault()
      void send()
      return
    }
    const next = nextCell({ row, column }, event.key, props.lots.length, kinds().length)
    if (!next) return
    event.preventDefault()
    const input = table?.querySelector<HTMLInputElement>(`[data-cell="${next.row}/${next.column}"]`)
    input?.focus()
    input?.select()
  }

  return (
    <Folio
      title="Sheet"
      note={
        <>
          {cells().length} filled
          <Show when={elsewhere() > 0}>, {elsewhere()} of them in other panels</Show>
        </>
      }
    >
      <div class="row top no-print">
        <Select
          label="Panel"
          value={panel()}
          options={Object.entries(PANELS).map(([value, entry]) => ({ value, label: entry.label }))}
          onInput={setPanel}
        />
        <TextField
          label="Taken"
          type="datetime-local"
          hint="Empty: now, cellar time"
          value={wall()}
          max={wallOfMoment(Temporal.Instant.fromEpochMilliseconds(session.nowMs()).toString(), zone())}
          onInput={setWall}
        />
      </div>
      <ScrollX label="Results by lot and kind">
        <table class="ledger lab-sheet" ref={table}>
          <thead>
            <tr>
              <th>Lot</th>
              <For each={kinds()}>
                {(kind) => (
                  <th class="n">
                    {readingInput(kind, format()).label}{' '}
                    <span class="quiet nowrap">{readingInput(kind, format()).unit}</span>
                  </th>
                )}
              </For>
            </tr>
          </thead>
          <tbody>
            <For each={props.lots}>
              {(lot, row) => (
                <tr>
                  <th scope="row">
                    {lot.code} <span class="quiet lab-name">{lot.name}</span>
                  </th>
                  <For each={kinds()}>
                    {(kind, column) => {
                      const key = cellKey(lot.id, kind)
                      const last = () =>
                        lastReading(
                          props.readings.filter((reading) => reading.lotId === lot.id),
                          kind,
                        )
                      return (
                        <td class="n">
                          <input
                            class="input"
                            inputmode="decimal"
                            autocomplete="off"
                            data-cell={`${row()}/${column()}`}
                            aria-label={`${lot.code} ${readingLabel(kind)}`}
                            aria-describedby={`${key.replaceAll(' ', '-')}-beside`}
                            aria-invalid={wrong().has(key) || undefined}
                            disabled={!session.works()}
                            value={typed()[key] ?? ''}
                            onInput={(event) => type(key, event.currentTarget.value)}
                            onKeyDown={(event) => keyed(event, row(), column())}
                          />
                          <span class="hint" id={`${key.replaceAll(' ', '-')}-beside`}>
                            <Show when={doubts().get(key)} fallback={<LastWords last={last()} />}>
                              {(words) => <span class="amber-text">{words()}</span>}
                            </Show>
                            <Show when={wrong().has(key)}>
                              <span class="late-text">no number</span>
                            </Show>
                          </span>
                        </td>
                      )
                    }}
                  </For>
                </tr>
              )}
            </For>
          </tbody>
        </table>
      </ScrollX>
      <Show when={write.isError}>
        <Failed error={write.error} />
      </Show>
      <Show when={told()}>
        {(answer) => (
          <MovedList changed={answer().changed} what={`${answer().readings.length} results written down.`} />
        )}
      </Show>
      <div class="row no-print">
        <Show when={isDoubtful()}>
          <Button kind="main" pending={write.isPending} onClick={() => void send(true)}>
            They stand: write all down
          </Button>
        </Show>
        <Button
          kind={isDoubtful() ? undefined : 'main'}
          pending={write.isPending}
          disabled={cells().length === 0 || wrong().size > 0 || isDoubtful() || !session.works()}
          onClick={() => void send()}
        >
          Write {cells().length || ''} down
        </Button>
      </div>
    </Folio>
  )
}

function LastWords(props: { readonly last: ReadingWire | undefined }) {
  const session = useSession()
  return (
    <Show when={props.last} fallback="–">
      {(last) => `${sayReading(last(), session.format())}, ${session.format().dayMonth(last().takenAt)}`}
    </Show>
  )
}
