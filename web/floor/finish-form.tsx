import { createMemo, createSignal, For, Show } from 'solid-js'
import type { LotWire, PersonWire, ReadingWire, TaskWire } from '../../api/wire.ts'
import { wallOfMoment } from '../format.ts'
import { Button } from '../parts/button.tsx'
import { numberOf, TextArea, TextField } from '../parts/field.tsx'
import { doubt, kindsFor, lastReading, readingInput } from '../readings.ts'
import { useSession } from '../session.tsx'
import { say, sayThing } from '../words/words.ts'
import { doubtWords, inWords } from './floor-words.ts'
import { isTopping, litresBody, movesLitres } from './litres.ts'
import { LitresFields } from './litres-fields.tsx'
import { StepperField } from './stepper-field.tsx'

/** What was measured, put in and moved; and where it was otherwise: the real time, people, vessel and amount. */
export function FinishForm(props: {
  readonly task: TaskWire
  readonly readings: readonly ReadingWire[]
  readonly fruit?: LotWire['fruit']
  readonly people: readonly PersonWire[]
  readonly busy: boolean
  readonly onDone: (body: Readonly<Record<string, unknown>>) => void
  readonly onBack: () => void
}) {
  const session = useSession()
  const format = session.format
  const [values, setValues] = createSignal<Readonly<Record<string, number | undefined>>>({})
  const [amounts, setAmounts] = createSignal<readonly (number | undefined)[]>(props.task.doses.map((d) => d.amount))
  const [batches, setBatches] = createSignal<readonly string[]>(props.task.doses.map(() => ''))
  const [arrivedL, setArrivedL] = createSignal<Readonly<Record<string, number | undefined>>>({})
  const [source, setSource] = createSignal('')
  const [note, setNote] = createSignal('')
  const [otherwise, setOtherwise] = createSignal(false)
  const [wall, setWall] = createSignal('')
  const [began, setBegan] = createSignal('')
  const [vessels, setVessels] = createSignal('')
  const [who, setWho] = createSignal<readonly string[]>([])
  /** Asked once whether what is hard to believe stands. */
  const [isAsked, setAsked] = createSignal(false)
  const zone = () => session.cellar().zone
  const kinds = createMemo(() => kindsFor(props.task.records, format()))
  const asksLitres = () => movesLitres(props.task) || isTopping(props.task)
  const measures = () => kinds().filter((kind) => !(kind === 'volume' && asksLitres()))
  const scaleOf = (dose: TaskWire['doses'][number]) => format().doseScale(dose.amount, dose.unit)
  const shownAmount = (at: number) => {
    const dose = props.task.doses[at]
    const amount = amounts()[at]
    return dose && amount !== undefined ? Number((amount / scaleOf(dose).per).toPrecision(6)) : undefined
  }
  const nowWall = () => wallOfMoment(session.nowMs(), zone())

  const doubts = () =>
    measures().flatMap((kind) => {
      const shown = values()[kind]
      if (shown === undefined) return []
      const value = readingInput(kind, format()).stored(shown)
      const words = doubt(kind, value, session.nowMs(), lastReading(props.readings, kind), props.fruit)
      return words ? [doubtWords(words, kind, format())] : []
    })

  const bodyOf = () => {
    const measured = measures().flatMap((kind) => {
      const shown = values()[kind]
      return shown === undefined ? [] : [{ kind, value: readingInput(kind, format()).stored(shown), confirmed: true }]
    })
    // Work of the house belongs to no lot: what is measured there is part of the words.
    const readings = props.task.lotId === null ? [] : measured
    const words = [note().trim(), ...(props.task.lotId === null ? measured.map((one) => inWords(one, format())) : [])]
    const additions = props.task.doses.flatMap((dose, at) => {
      const amount = amounts()[at]
      const batchNo = batches()[at]?.trim()
      if (amount === undefined || amount === 0) return []
      return [
        { product: dose.product, amount, unit: dose.unit, treatedL: dose.volumeL, ...(batchNo ? { batchNo } : {}) },
      ]
    })
    const otherCodes = otherwise()
      ? vessels()
          .split(/[\s,;]+/)
          .filter(Boolean)
      : []
    return {
      ...(otherwise() && wall() ? { atLocal: wall() } : {}),
      ...(otherwise() && began() ? { startAtLocal: began() } : {}),
      ...(otherwise() && who().length > 0 ? { people: who() } : {}),
      ...(readings.length > 0 ? { readings } : {}),
      ...(additions.length > 0 ? { additions } : {}),
      ...litresBody(props.task, { arrivedL: arrivedL(), sourceCode: source().trim(), otherCodes }),
      ...(words.some(Boolean) ? { note: words.filter(Boolean).join('; ') } : {}),
    }
  }

  return (
    <form
      class="stack finish"
      onSubmit={(event) => {
        event.preventDefault()
        // Whatever is hard to believe is asked about here, so that it is asked without a signal too.
        if (doubts().length > 0 && !isAsked()) setAsked(true)
        else props.onDone(bodyOf())
      }}
    >
      <For each={props.task.doses}>
        {(dose, at) => (
          <div class="row top">
            <label class="field short">
              <span class="label">
                {say('putIn', { product: sayThing(dose.product) })} <span class="quiet">{scaleOf(dose).unit}</span>
              </span>
              <input
                class="input"
                inputmode="decimal"
                autocomplete="off"
                data-dose={dose.product}
                value={shownAmount(at()) ?? ''}
                onChange={(event) => {
                  const shown = numberOf(event.currentTarget.value)
                  setAmounts((now) => now.with(at(), shown === undefined ? undefined : shown * scaleOf(dose).per))
                }}
              />
            </label>
            <TextField
              class="short"
              label={say('batchNo')}
              value={batches()[at()] ?? ''}
              maxLength={60}
              onInput={(batch) => setBatches((now) => now.with(at(), batch))}
            />
          </div>
        )}
      </For>
      <Show when={asksLitres()}>
        <LitresFields
          task={props.task}
          arrivedL={arrivedL()}
          source={source()}
          onArrived={(code, volumeL) => setArrivedL((now) => ({ ...now, [code]: volumeL }))}
          onSource={setSource}
        />
      </Show>
      <For each={measures()}>
        {(kind) => (
          <StepperField
            kind={kind}
            value={values()[kind]}
            last={lastReading(props.readings, kind)}
            fruit={props.fruit}
            onInput={(value) => {
              setAsked(false)
              setValues((now) => ({ ...now, [kind]: value }))
            }}
          />
        )}
      </For>
      <Button kind="plain" aria-expanded={otherwise()} onClick={() => setOtherwise((now) => !now)}>
        {say('wasOtherwise')}
      </Button>
      <Show when={otherwise()}>
        <div class="note stack">
          <div class="row top">
            <TextField
              class="short"
              type="datetime-local"
              label={say('beganAt')}
              value={began()}
              max={nowWall()}
              onInput={setBegan}
            />
            <TextField
              class="short"
              type="datetime-local"
              label={say('doneAt')}
              hint={say('emptyIsNow')}
              value={wall()}
              max={nowWall()}
              onInput={setWall}
            />
          </div>
          <TextField
            class="short"
            label={say('otherVessel')}
            hint={say('otherVesselHint')}
            value={vessels()}
            onInput={setVessels}
          />
          <fieldset>
            <legend>{say('doneBy')}</legend>
            <div class="options">
              <For each={props.people}>
                {(person) => (
                  <label>
                    <input
                      type="checkbox"
                      checked={who().includes(person.id)}
                      onChange={(event) =>
                        setWho((now) =>
                          event.currentTarget.checked ? [...now, person.id] : now.filter((id) => id !== person.id),
                        )
                      }
                    />
                    <span>{person.name}</span>
                  </label>
                )}
              </For>
            </div>
          </fieldset>
        </div>
      </Show>
      <TextArea label={say('note')} hint={say('noteHint')} rows={2} value={note()} onInput={setNote} />
      <Show when={isAsked() && doubts().length > 0}>
        <div class="note fresh" role="alert">
          <p>
            <b>{say('measureAgain')}</b>
          </p>
          <For each={doubts()}>{(words) => <p>{words}</p>}</For>
        </div>
      </Show>
      <div class="floor-acts">
        <Button kind="main" big type="submit" pending={props.busy}>
          {isAsked() && doubts().length > 0 ? say('standsDone') : say('done')}
        </Button>
        <Button onClick={props.onBack}>{say('back')}</Button>
      </div>
    </form>
  )
}

/** Whether anything is to be written down: else one tap is enough. */
export const needsForm = (task: TaskWire): boolean =>
  task.records.length > 0 || task.doses.length > 0 || movesLitres(task)
