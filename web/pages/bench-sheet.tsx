import { A } from '@solidjs/router'
import { createSignal, For, Show } from 'solid-js'
import { createStore, reconcile } from 'solid-js/store'
import { post } from '../api.ts'
import { Badge } from '../parts/badge.tsx'
import { Button } from '../parts/button.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { Failed, wrongAt } from '../parts/states.tsx'
import { BenchField, type FieldSchema, Figure } from './bench-fields.tsx'
import { forget, remember, remembered } from './bench-memory.ts'

export interface ObjectSchema {
  readonly properties?: Readonly<Record<string, FieldSchema>>
  readonly required?: readonly string[]
}

export interface Calculation {
  readonly name: string
  readonly title: string
  readonly topic: 'sugar' | 'fermentation' | 'sulfur' | 'additions' | 'volumes' | 'air' | 'readings'
  readonly source: string
  readonly status: 'source' | 'derived' | 'common-practice' | 'memory'
  /** Where to read its sources. */
  readonly documents: readonly { readonly cite: string; readonly address: string }[]
  /** Some of it was recalled, not read. */
  readonly hasMemory: boolean
  readonly caution?: string
  readonly input: ObjectSchema
  readonly output: ObjectSchema
}

interface Answer {
  readonly result: Readonly<Record<string, unknown>>
  readonly steps: readonly string[]
  readonly warnings: readonly string[]
}

export const TOPIC_WORDS: Readonly<Record<Calculation['topic'], string>> = {
  sugar: 'Sugar and alcohol',
  fermentation: 'Fermentation',
  sulfur: 'SO2',
  additions: 'Additions',
  volumes: 'Volumes and vessels',
  air: 'Air and gas',
  readings: 'Readings',
}

const STATUS_WORDS: Readonly<Record<Calculation['status'], string>> = {
  source: 'As in its source',
  derived: 'Derived from its source',
  'common-practice': 'Common practice',
  memory: 'From memory, to be verified',
}

type Values = Record<string, unknown>

/** A form made from the calculation's own schema, the figures, and how they came about. */
export function BenchSheet(props: { readonly calculation: Calculation }) {
  const fields = () => Object.entries(props.calculation.input.properties ?? {})
  const usual = (): Values =>
    Object.fromEntries(
      fields().map(([key, field]) => [
        key,
        props.calculation.input.required?.includes(key) ? field.example : field.default,
      ]),
    )
  const [values, setValues] = createStore<Values>({
    ...usual(),
    ...remembered(
      props.calculation.name,
      fields().map(([key]) => key),
    ),
  })
  // Lists keep their own text: a new round draws the fields anew.
  const [round, setRound] = createSignal(1)
  const [answer, setAnswer] = createSignal<Answer>()
  const [error, setError] = createSignal<unknown>()
  const [busy, setBusy] = createSignal(false)
  const send = async () => {
    setBusy(true)
    setError(undefined)
    remember(props.calculation.name, values)
    try {
      setAnswer(await post<Answer>(`/api/calc/${props.calculation.name}`, { ...values }))
    } catch (caught) {
      setAnswer(undefined)
      setError(caught)
    } finally {
      setBusy(false)
    }
  }
  return (
    <>
      <PageHead
        title={props.calculation.title}
        lede={
          <>
            <A href="/bench">Bench</A>, {TOPIC_WORDS[props.calculation.topic]}. {props.calculation.source}.{' '}
            <Badge kind={props.calculation.status === 'memory' ? 'strong' : undefined}>
              {STATUS_WORDS[props.calculation.status]}
            </Badge>
          </>
        }
      >
        <Button class="no-print" onClick={() => window.print()}>
          Print
        </Button>
      </PageHead>
      <Show when={props.calculation.hasMemory}>
        <div class="note fresh">
          <p>
            <b>MEMORY.</b> {props.calculation.status === 'memory' ? 'This was' : 'A part of this was'} recalled, not
            read in its source. Verify it before wine or people depend on it.
          </p>
        </div>
      </Show>
      <Show when={props.calculation.caution}>
        <p class="note caution">{props.calculation.caution}</p>
      </Show>
      <form
        onSubmit={(event) => {
          event.preventDefault()
          void send()
        }}
      >
        <Folio title="Given">
          <div class="columns">
            <Show when={round()} keyed>
              {(_) => (
                <For each={fields()}>
                  {([key, field]) => (
                    <BenchField
                      name={key}
                      field={field}
                      required={props.calculation.input.required?.includes(key) ?? false}
                      value={values[key]}
                      wrong={wrongAt(error(), `#/${key}`)}
                      set={(value) => setValues(key, value)}
                    />
                  )}
                </For>
              )}
            </Show>
          </div>
          <div class="row">
            <Button kind="main" type="submit" class="no-print" pending={busy()}>
              Work it out
            </Button>
            <Button
              class="no-print"
              onClick={() => {
                forget(props.calculation.name)
                setValues(reconcile(usual()))
                setAnswer(undefined)
                setRound((now) => now + 1)
              }}
            >
              Start over
            </Button>
            <span class="quiet small no-print">What you type is remembered on this device.</span>
          </div>
          <Show when={error()}>
            <Failed error={error()} />
          </Show>
        </Folio>
      </form>
      <Show when={answer()}>
        {(worked) => (
          <Folio title="Comes to">
            <div class="stack" role="status">
              <For each={worked().warnings}>{(words) => <p class="note warn">{words}</p>}</For>
              <dl class="pairs figures">
                <For each={Object.entries(worked().result)}>
                  {([key, value]) => (
                    <>
                      <dt>{props.calculation.output.properties?.[key]?.description ?? key}</dt>
                      <dd>
                        <Figure value={value} unit={props.calculation.output.properties?.[key]?.unit ?? ''} />
                      </dd>
                    </>
                  )}
                </For>
              </dl>
              <details open>
                <summary>How it came about</summary>
                <ol class="stack tight">
                  <For each={worked().steps}>{(step) => <li>{step}</li>}</For>
                </ol>
              </details>
            </div>
          </Folio>
        )}
      </Show>
      <Folio title="Source">
        <p>{props.calculation.source}.</p>
        <Show
          when={props.calculation.documents.length > 0}
          fallback={
            <p class="quiet">No document to open: it follows from definitions or from practice, as said above.</p>
          }
        >
          <ul>
            <For each={props.calculation.documents}>
              {(document) => (
                <li>
                  <a href={document.address} target="_blank" rel="noreferrer">
                    {document.cite}
                  </a>{' '}
                  <span class="quiet small print-only">{document.address}</span>
                </li>
              )}
            </For>
          </ul>
        </Show>
      </Folio>
    </>
  )
}
