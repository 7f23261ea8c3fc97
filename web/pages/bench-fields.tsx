import { createSignal, For, Match, Switch } from 'solid-js'
import { Check, NumberField, Select, TextArea } from '../parts/field.tsx'
import { useSession } from '../session.tsx'

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

type Values = Record<string, unknown>

/** One given figure: a choice, a tick, a number with its unit, or a list. */
export function BenchField(props: {
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

/** A figure of the answer, whatever its shape. */
export function Figure(props: { readonly value: unknown; readonly unit: string }) {
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
