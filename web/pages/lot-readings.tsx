import { createSignal, For, Show } from 'solid-js'
import { Temporal } from '../../api/time.ts'
import type { LotWire, ReadingWire, TaskWire } from '../../api/wire.ts'
import { post, problemOf } from '../api.ts'
import { msOf, wallOfMoment } from '../format.ts'
import { Button } from '../parts/button.tsx'
import { Select, TextField } from '../parts/field.tsx'
import { MovedList } from '../parts/moved-list.tsx'
import { ReadingStepper } from '../parts/reading-stepper.tsx'
import { Failed } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { usePeople, useWrite } from '../queries.ts'
import { kindsFor, lastReading, readingInput, readingLabel, sayReading } from '../readings.ts'
import { useSession } from '../session.tsx'

type Kind = ReadingWire['kind']

const USUAL: readonly Kind[] = [
  'density',
  'temp',
  'pH',
  'ta',
  'malic',
  'free-so2',
  'total-so2',
  'va',
  'yan',
  'glucose-fructose',
  'volume',
  'ntu',
  'alcohol',
]

interface Written {
  readonly opId: string
  readonly lot: string
  readonly kind: Kind
  readonly value: number
  readonly takenAtLocal?: string
  readonly vessel?: string
  readonly corrects?: string
  readonly note?: string
  readonly confirmed: boolean
}

interface Answer {
  readonly changed: readonly TaskWire[]
  readonly notice?: string
}

/** What was written, and what it did to the plan. */
interface Told {
  readonly what: string
  readonly changed: readonly TaskWire[]
}

/** Enter a reading; see the earlier ones; correct one by a new one. */
export function LotReadings(props: { readonly lot: LotWire; readonly readings: readonly ReadingWire[] }) {
  const session = useSession()
  const [correcting, setCorrecting] = createSignal<ReadingWire>()
  const [told, setTold] = createSignal<Told>()
  return (
    <>
      <Show when={session.works()}>
        <Show
          when={correcting()}
          keyed
          fallback={<ReadingForm lot={props.lot} readings={props.readings} tell={setTold} />}
        >
          {(wrong) => (
            <ReadingForm
              lot={props.lot}
              readings={props.readings}
              corrects={wrong}
              tell={setTold}
              close={() => setCorrecting(undefined)}
            />
          )}
        </Show>
      </Show>
      <Show when={told()}>{(now) => <MovedList changed={now().changed} what={now().what} />}</Show>
      <ReadingTable readings={props.readings} correct={session.works() ? setCorrecting : undefined} />
    </>
  )
}

function ReadingForm(props: {
  readonly lot: LotWire
  readonly readings: readonly ReadingWire[]
  readonly corrects?: ReadingWire
  readonly tell: (told: Told | undefined) => void
  readonly close?: () => void
}) {
  const session = useSession()
  const kinds = () => kindsFor(USUAL, session.format())
  const [kind, setKind] = createSignal<Kind>(props.corrects?.kind ?? kinds()[0] ?? 'density')
  const [value, setValue] = createSignal<number>()
  const [vessel, setVessel] = createSignal(
    props.corrects?.vesselCode ?? (props.lot.vessels.length === 1 ? (props.lot.vessels[0] ?? '') : ''),
  )
  const now = () =>
    wallOfMoment(Temporal.Instant.fromEpochMilliseconds(session.nowMs()).toString(), session.cellar().zone)
  const [wall, setWall] = createSignal(
    props.corrects ? wallOfMoment(props.corrects.takenAt, session.cellar().zone) : '',
  )
  const [note, setNote] = createSignal('')
  const write = useWrite((reading: Written) => post<Answer>('/api/readings', { readings: [reading] }))

  const isDoubtful = () => write.isError && problemOf(write.error).type.endsWith('measure-again')

  const send = async (confirmed = false) => {
    const shown = value()
    if (shown === undefined) return
    props.tell(undefined)
    try {
      const told = await write.mutateAsync({
        opId: crypto.randomUUID(),
        lot: props.lot.id,
        kind: kind(),
        value: readingInput(kind(), session.format()).stored(shown),
        ...(wall() ? { takenAtLocal: wall() } : {}),
        ...(vessel() ? { vessel: vessel() } : {}),
        ...(props.corrects ? { corrects: props.corrects.id } : {}),
        ...(note() ? { note: note() } : {}),
        confirmed,
      })
      const what = `${readingLabel(kind())} written down for ${props.lot.code}.`
      toast(what)
      props.tell({ what, changed: told.changed })
      setValue(undefined)
      setNote('')
      props.close?.()
    } catch {
      // shown below the form, with each field
    }
  }

  return (
    <form
      class="stack"
      aria-label={props.corrects ? 'Correct a reading' : 'New reading'}
      onSubmit={(event) => {
        event.preventDefault()
        void send()
      }}
    >
      <div class="row top">
        <Select
          label="Measured"
          value={kind()}
          options={kinds().map((entry) => ({ value: entry, label: readingLabel(entry) }))}
          disabled={props.corrects !== undefined}
          onInput={(next) => {
            setKind(next)
            setValue(undefined)
          }}
        />
        <ReadingStepper
          kind={kind()}
          value={value()}
          last={props.corrects ?? lastReading(props.readings, kind())}
          fruit={props.lot.fruit}
          onInput={(next) => {
            write.reset()
            setValue(next)
          }}
        />
        <TextField
          label="Taken"
          type="datetime-local"
          hint="Empty: now, cellar time"
          value={wall()}
          max={now()}
          onInput={setWall}
        />
        <Show when={props.lot.vessels.length > 1}>
          <Select
            label="From"
            value={vessel()}
            options={[
              { value: '', label: 'The whole lot' },
              ...props.lot.vessels.map((code) => ({ value: code, label: code })),
            ]}
            onInput={setVessel}
          />
        </Show>
        <Show when={props.corrects}>
          <TextField label="Why it was wrong" value={note()} onInput={setNote} required />
        </Show>
      </div>
      <Show when={write.isError}>
        <Failed error={write.error} />
      </Show>
      <div class="row">
        <Show when={isDoubtful()}>
          <Button kind="main" pending={write.isPending} onClick={() => void send(true)}>
            It stands: write it down
          </Button>
        </Show>
        <Button
          kind={isDoubtful() ? undefined : 'main'}
          type="submit"
          pending={write.isPending}
          disabled={value() === undefined || isDoubtful()}
        >
          {props.corrects ? 'Write the correction' : 'Write it down'}
        </Button>
        <Show when={props.close}>
          <Button onClick={() => props.close?.()}>Back</Button>
        </Show>
      </div>
    </form>
  )
}

const FIRST = 12

function ReadingTable(props: {
  readonly readings: readonly ReadingWire[]
  readonly correct?: (reading: ReadingWire) => void
}) {
  const session = useSession()
  const people = usePeople()
  const [all, setAll] = createSignal(false)
  const corrected = () => new Set(props.readings.flatMap((entry) => (entry.correctsId ? [entry.correctsId] : [])))
  const inOrder = () => [...props.readings].sort((a, b) => msOf(b.takenAt) - msOf(a.takenAt))
  const nameOf = (id: string | undefined) =>
    id && ((people.dataUpdatedAt > 0 && people.data?.people.find((person) => person.id === id)?.name) || id)
  return (
    <Show when={props.readings.length > 0} fallback={<p class="quiet">Nothing measured yet.</p>}>
      <table class="ledger folds">
        <thead>
          <tr>
            <th>Taken</th>
            <th>Measured</th>
            <th class="n">Value</th>
            <th>From</th>
            <th>Who</th>
            <th>
              <span class="visually-hidden">Correct</span>
            </th>
          </tr>
        </thead>
        <tbody>
          <For each={all() ? inOrder() : inOrder().slice(0, FIRST)}>
            {(reading) => (
              <tr classList={{ struck: corrected().has(reading.id) }}>
                <td class="nowrap">{session.format().moment(reading.takenAt)}</td>
                <td>{readingLabel(reading.kind)}</td>
                <td class="n">{sayReading(reading, session.format())}</td>
                <td>{reading.vesselCode}</td>
                <td>
                  {nameOf(reading.personId)}
                  <Show when={reading.note}>
                    <span class="quiet"> {reading.note}</span>
                  </Show>
                </td>
                <td>
                  <Show when={props.correct && !corrected().has(reading.id)}>
                    <button
                      type="button"
                      class="link small"
                      aria-label={`Correct ${readingLabel(reading.kind)} of ${session.format().moment(reading.takenAt)}`}
                      onClick={() => props.correct?.(reading)}
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
      <Show when={!all() && props.readings.length > FIRST}>
        <div>
          <Button onClick={() => setAll(true)}>All {props.readings.length} readings</Button>
        </div>
      </Show>
    </Show>
  )
}
