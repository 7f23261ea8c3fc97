import { A } from '@solidjs/router'
import { createSignal, For, Match, Show, Switch } from 'solid-js'
import { createStore, reconcile } from 'solid-js/store'
import { post } from '../api.ts'
import { Badge } from '../parts/badge.tsx'
import { Button } from '../parts/button.tsx'
import { Check, NumberField, Select, TextArea } from '../parts/field.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { Failed, wrongAt } from '../parts/states.tsx'
import { useSession } from '../session.tsx'
import { forget, remember, remembered } from './bench-memory.ts'

export interface FieldSchema {
  readonly type?: string
  readonly enum?: readonly string[]
  readonly minimum?: number
  readonly maximum?: number
  readonly description?: string
  readonly example?: unknown
  readonly default?: unknown
  readonly unit?: string
  readonly items?: FieldSchema & {
    readonly properties?: Readonly<Record<string, FieldSchema>>
    readonly required?: readonly string[]
  }
}

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
                    <Input
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

function Input(props: {
  readonly name: string
  readonly field: FieldSchema
  readonly required: boolean
  readonly value: unknown
  readonly wrong: string | undefined
  readonly set: (value: unknown) => void
}) {
  const label = () => `${props.field.description ?? props.name}${props.required ? '' : ' (optional)'}`
  return (
    <Switch fallback={<ListInput {...props} label={label()} />}>
      <Match when={props.field.enum}>
        {(options) => (
          <Select
            label={label()}
            value={String(props.value ?? '')}
            wrong={props.wrong}
            options={[
              ...(props.required ? [] : [{ value: '', label: '–' }]),
              ...options().map((value) => ({ value, label: value })),
            ]}
            onInput={(value) => props.set(value === '' ? undefined : value)}
          />
        )}
      </Match>
      <Match when={props.field.type === 'boolean'}>
        <Check label={label()} checked={props.value === true} onInput={props.set} />
      </Match>
      <Match when={props.field.type === 'number' || props.field.type === 'integer'}>
        <NumberField
          label={label()}
          unit={props.field.unit}
          min={props.field.minimum}
          max={props.field.maximum}
          value={props.value as number | undefined}
          required={props.required}
          wrong={props.wrong}
          onInput={props.set}
        />
      </Match>
    </Switch>
  )
}

/** Lists are typed a line each, with the columns in the order that the hint names. */
function ListInput(props: {
  readonly label: string
  readonly field: FieldSchema
  readonly value: unknown
  readonly wrong: string | undefined
  readonly set: (value: unknown) => void
}) {
  const columns = () => Object.entries(props.field.items?.properties ?? {})
  const [text, setText] = createSignal(
    linesOf(
      props.value,
      columns().map(([key]) => key),
    ),
  )
  return (
    <TextArea
      label={props.label}
      hint={
        columns().length
          ? `A line each: ${columns()
              .map(([key, field]) => `${key}${field.unit ? ` (${field.unit})` : ''}`)
              .join(', ')}`
          : 'A line each'
      }
      wrong={props.wrong}
      rows={5}
      value={text()}
      onInput={(next) => {
        setText(next)
        props.set(parseLines(next, columns()))
      }}
    />
  )
}

export const linesOf = (value: unknown, keys: readonly string[]): string =>
  Array.isArray(value)
    ? value
        .map((row) =>
          typeof row === 'object' && row !== null
            ? keys.map((key) => (row as Values)[key] ?? '').join(', ')
            : String(row),
        )
        .join('\n')
    : ''

export function parseLines(text: string, columns: readonly (readonly [string, FieldSchema])[]): unknown[] {
  return text
    .split('\n')
    .filter((line) => line.trim() !== '')
    .map((line) => {
      if (columns.length === 0) return line.trim()
      const cells = line.split(/[,;\t]/).map((cell) => cell.trim())
      return Object.fromEntries(
        columns.flatMap(([key, field], at) => {
          const cell = cells[at]
          if (cell === undefined || cell === '') return []
          return [[key, field.type === 'string' ? cell : Number(cell)]]
        }),
      )
    })
}

function Figure(props: { readonly value: unknown; readonly unit: string }) {
  const session = useSession()
  return (
    <Switch fallback={<span>{String(props.value)}</span>}>
      <Match when={typeof props.value === 'number'}>
        <b>{session.format().number(props.value as number, 3)}</b> {props.unit}
      </Match>
      <Match when={typeof props.value === 'boolean'}>
        <b>{props.value ? 'yes' : 'no'}</b>
      </Match>
      <Match when={Array.isArray(props.value)}>
        <ul>
          <For each={props.value as readonly unknown[]}>
            {(entry) => (
              <li>
                {typeof entry === 'object' && entry !== null
                  ? Object.entries(entry)
                      .map(
                        ([key, value]) =>
                          `${key} ${typeof value === 'number' ? session.format().number(value, 3) : String(value)}`,
                      )
                      .join(', ')
                  : String(entry)}
              </li>
            )}
          </For>
        </ul>
      </Match>
    </Switch>
  )
}
