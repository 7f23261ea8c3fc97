import { createUniqueId, Show } from 'solid-js'
import type { LotWire, ReadingWire } from '../../api/wire.ts'
import { Button } from '../parts/button.tsx'
import { numberOf } from '../parts/field.tsx'
import { doubt, readingInput, sayReading } from '../readings.ts'
import { useSession } from '../session.tsx'
import { say } from '../words/words.ts'
import { doubtWords, readingWord } from './floor-words.ts'

/** One reading for wet gloves: big steps, the last value beside it, and what speaks against the new one. */
export function StepperField(props: {
  readonly kind: ReadingWire['kind']
  readonly value: number | undefined
  readonly last: ReadingWire | undefined
  readonly fruit?: LotWire['fruit']
  readonly onInput: (value: number | undefined) => void
}) {
  const session = useSession()
  const id = createUniqueId()
  const input = () => readingInput(props.kind, session.format())
  const label = () => readingWord(props.kind, session.format())
  const places = () => Math.max(0, -Math.floor(Math.log10(input().step)))
  const lastShown = () => props.last && Number(input().shown(props.last.value).toFixed(input().places))
  // No thousands set off: `1,012` would be read back as one and a bit.
  const shown = () =>
    props.value === undefined
      ? ''
      : props.value.toFixed(places()).replace('.', session.format().number(0.5, 1).includes(',') ? ',' : '.')
  const move = (direction: 1 | -1) => {
    const { min, max, step } = input()
    // The first tap shows the last value; only the next one moves it.
    const next = props.value === undefined ? (lastShown() ?? min ?? 0) : props.value + direction * step
    props.onInput(Number(Math.min(max ?? next, Math.max(min ?? next, next)).toFixed(places())))
  }
  const against = () => {
    if (props.value === undefined) return ''
    const words = doubt(props.kind, input().stored(props.value), session.nowMs(), props.last, props.fruit)
    return words && doubtWords(words, props.kind, session.format())
  }
  return (
    <div class="field floor-stepper">
      <label for={id}>
        {label()} <span class="quiet">{input().unit}</span>
      </label>
      <div class="stepper">
        <Button
          aria-label={say('stepLess', { what: label(), step: input().step, unit: input().unit })}
          onClick={() => move(-1)}
        >
          −
        </Button>
        <input
          id={id}
          class="input"
          type="text"
          inputmode="decimal"
          autocomplete="off"
          data-kind={props.kind}
          value={shown()}
          aria-describedby={`${id}-last`}
          onChange={(event) => props.onInput(numberOf(event.currentTarget.value))}
        />
        <Button
          aria-label={say('stepMore', { what: label(), step: input().step, unit: input().unit })}
          onClick={() => move(1)}
        >
          +
        </Button>
      </div>
      <span class="hint" id={`${id}-last`}>
        <Show when={props.last} fallback={say('noEarlier')}>
          {(last) =>
            say('lastValue', {
              value: sayReading(last(), session.format()),
              when: session.format().moment(last().takenAt),
            })
          }
        </Show>
      </span>
      <Show when={against()}>
        <p class="small late-text" role="status">
          {against()}
        </p>
      </Show>
    </div>
  )
}
