import { createUniqueId, For, type JSX, Show } from 'solid-js'

export interface FieldWords {
  readonly label: string
  readonly hint?: string
  /** What is wrong with what was typed. */
  readonly wrong?: string
}

interface Wired {
  readonly id: string
  readonly describedBy: string | undefined
  readonly invalid: boolean
}

/** A label, the control, what helps, what is wrong: wired so that a screen reader hears all four. */
export function Field(
  props: FieldWords & { readonly class?: string; readonly children: (wired: Wired) => JSX.Element },
) {
  const id = createUniqueId()
  const wired = {
    id,
    get describedBy() {
      return [props.hint && `${id}-hint`, props.wrong && `${id}-wrong`].filter(Boolean).join(' ') || undefined
    },
    get invalid() {
      return Boolean(props.wrong)
    },
  }
  return (
    <div class={`field ${props.class ?? ''}`}>
      <label for={id}>{props.label}</label>
      {props.children(wired)}
      <Show when={props.hint}>
        <span class="hint" id={`${id}-hint`}>
          {props.hint}
        </span>
      </Show>
      <Show when={props.wrong}>
        <span class="wrong" id={`${id}-wrong`}>
          {props.wrong}
        </span>
      </Show>
    </div>
  )
}

export interface TextFieldProps extends FieldWords {
  readonly value: string
  readonly onInput: (value: string) => void
  readonly type?: 'text' | 'password' | 'date' | 'time' | 'datetime-local' | 'email'
  readonly required?: boolean
  readonly autocomplete?: string
  readonly inputmode?: 'numeric'
  readonly maxLength?: number
  readonly disabled?: boolean
  readonly class?: string
  readonly min?: string
  readonly max?: string
}

export function TextField(props: TextFieldProps) {
  return (
    <Field label={props.label} hint={props.hint} wrong={props.wrong} class={props.class}>
      {(wired) => (
        <input
          class="input"
          id={wired.id}
          aria-describedby={wired.describedBy}
          aria-invalid={wired.invalid || undefined}
          type={props.type ?? 'text'}
          value={props.value}
          required={props.required}
          disabled={props.disabled}
          autocomplete={props.autocomplete ?? 'off'}
          inputmode={props.inputmode}
          maxLength={props.maxLength}
          min={props.min}
          max={props.max}
          onInput={(event) => props.onInput(event.currentTarget.value)}
        />
      )}
    </Field>
  )
}

export function TextArea(
  props: FieldWords & { readonly value: string; readonly onInput: (value: string) => void; readonly rows?: number },
) {
  return (
    <Field label={props.label} hint={props.hint} wrong={props.wrong}>
      {(wired) => (
        <textarea
          class="input"
          id={wired.id}
          aria-describedby={wired.describedBy}
          aria-invalid={wired.invalid || undefined}
          rows={props.rows}
          value={props.value}
          onInput={(event) => props.onInput(event.currentTarget.value)}
        />
      )}
    </Field>
  )
}

export interface NumberFieldProps extends FieldWords {
  readonly value: number | undefined
  readonly onInput: (value: number | undefined) => void
  readonly unit?: string
  readonly min?: number
  readonly max?: number
  readonly step?: number | 'any'
  readonly required?: boolean
  readonly disabled?: boolean
  readonly class?: string
}

/** A number with its unit beside it. Out of range is said in words at once, before anything is sent. */
export function NumberField(props: NumberFieldProps) {
  const wrong = () => props.wrong ?? outOfRange(props.value, props.min, props.max, props.unit)
  return (
    <Field label={props.label} hint={props.hint} wrong={wrong()} class={props.class}>
      {(wired) => (
        <span class="with-unit">
          <input
            class="input"
            id={wired.id}
            aria-describedby={wired.describedBy}
            aria-invalid={wired.invalid || undefined}
            type="number"
            inputmode="decimal"
            value={props.value ?? ''}
            min={props.min}
            max={props.max}
            step={props.step ?? 'any'}
            required={props.required}
            disabled={props.disabled}
            onInput={(event) => props.onInput(numberOf(event.currentTarget.value))}
          />
          <Show when={props.unit}>
            <span class="quiet">{props.unit}</span>
          </Show>
        </span>
      )}
    </Field>
  )
}

export function numberOf(text: string): number | undefined {
  const value = Number(text.replace(',', '.'))
  return text.trim() === '' || !Number.isFinite(value) ? undefined : value
}

export function outOfRange(value: number | undefined, min?: number, max?: number, unit = ''): string | undefined {
  if (value === undefined) return undefined
  const suffix = unit && ` ${unit}`
  if (min !== undefined && value < min) return `must be at least ${min}${suffix}`
  if (max !== undefined && value > max) return `must be at most ${max}${suffix}`
  return undefined
}

export interface Option<Value extends string> {
  readonly value: Value
  readonly label: string
  readonly does?: string
}

export interface PickProps<Value extends string> extends FieldWords {
  readonly value: Value | undefined
  readonly options: readonly Option<Value>[]
  readonly onInput: (value: Value) => void
  readonly disabled?: boolean
  readonly class?: string
}

export function Select<Value extends string>(props: PickProps<Value>) {
  return (
    <Field label={props.label} hint={props.hint} wrong={props.wrong} class={props.class}>
      {(wired) => (
        <select
          class="input"
          id={wired.id}
          aria-describedby={wired.describedBy}
          aria-invalid={wired.invalid || undefined}
          disabled={props.disabled}
          onInput={(event) => props.onInput(event.currentTarget.value as Value)}
        >
          <For each={props.options}>
            {(option) => (
              <option value={option.value} selected={option.value === props.value}>
                {option.label}
              </option>
            )}
          </For>
        </select>
      )}
    </Field>
  )
}

/** Few answers, all in sight: radio buttons that look like the words they are. */
export function Options<Value extends string>(props: PickProps<Value> & { readonly hideLabel?: boolean }) {
  const name = createUniqueId()
  return (
    <fieldset class="field" disabled={props.disabled} aria-describedby={props.hint ? `${name}-hint` : undefined}>
      <legend classList={{ 'visually-hidden': props.hideLabel }}>{props.label}</legend>
      <div class="options">
        <For each={props.options}>
          {(option) => (
            <label>
              <input
                type="radio"
                name={name}
                value={option.value}
                checked={option.value === props.value}
                onChange={() => props.onInput(option.value)}
              />
              <span>{option.label}</span>
            </label>
          )}
        </For>
      </div>
      <Show when={props.hint}>
        <span class="hint" id={`${name}-hint`}>
          {props.hint}
        </span>
      </Show>
      <Show when={props.wrong}>
        <span class="wrong">{props.wrong}</span>
      </Show>
    </fieldset>
  )
}

export function Check(props: {
  readonly label: string
  readonly checked: boolean
  readonly onInput: (checked: boolean) => void
  readonly disabled?: boolean
}) {
  return (
    <label class="check">
      <input
        type="checkbox"
        checked={props.checked}
        disabled={props.disabled}
        onChange={(event) => props.onInput(event.currentTarget.checked)}
      />
      <span>{props.label}</span>
    </label>
  )
}
