import { createUniqueId, Show } from 'solid-js'
import { Button } from './button.tsx'
import { numberOf, outOfRange } from './field.tsx'

export interface StepperProps {
  readonly label: string
  readonly unit: string
  readonly step: number
  readonly value: number | undefined
  readonly onInput: (value: number | undefined) => void
  readonly min?: number
  readonly max?: number
  /** Where the first tap starts from. */
  readonly from?: number
  /** The last value in words: `1.042, yesterday 16:00`. */
  readonly last?: string
}

/** For wet gloves: no typing in the usual case, the last value beside it. */
export function Stepper(props: StepperProps) {
  const id = createUniqueId()
  const move = (direction: 1 | -1) => {
    const now = props.value ?? props.from ?? props.min ?? 0
    // The first tap shows the last value; only the next one moves it.
    const next = props.value === undefined ? now : now + direction * props.step
    const places = Math.max(0, -Math.floor(Math.log10(props.step)))
    const held = Math.min(props.max ?? next, Math.max(props.min ?? next, next))
    props.onInput(Number(held.toFixed(places)))
  }
  const wrong = () => outOfRange(props.value, props.min, props.max, props.unit)
  return (
    <div class="field">
      <label for={id}>
        {props.label} <span class="quiet">{props.unit}</span>
      </label>
      <div class="stepper">
        <Button aria-label={`${props.label}: ${props.step} ${props.unit} less`} onClick={() => move(-1)}>
          −
        </Button>
        <input
          id={id}
          class="input"
          type="text"
          inputmode="decimal"
          autocomplete="off"
          value={props.value ?? ''}
          aria-invalid={wrong() ? true : undefined}
          aria-describedby={`${id}-last`}
          onChange={(event) => props.onInput(numberOf(event.currentTarget.value))}
        />
        <Button aria-label={`${props.label}: ${props.step} ${props.unit} more`} onClick={() => move(1)}>
          +
        </Button>
      </div>
      <span class="hint" id={`${id}-last`}>
        {props.last ? `Last: ${props.last}` : 'No earlier value'}
      </span>
      <Show when={wrong()}>
        <span class="wrong">{wrong()}</span>
      </Show>
    </div>
  )
}
