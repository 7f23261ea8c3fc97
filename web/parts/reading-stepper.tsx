import { Show } from 'solid-js'
import type { LotWire, ReadingWire } from '../../api/wire.ts'
import { doubt, readingInput, sayReading } from '../readings.ts'
import { useSession } from '../session.tsx'
import { Stepper } from './stepper.tsx'

/** One reading with its unit, its last value and what speaks against the new one. */
export function ReadingStepper(props: {
  readonly kind: ReadingWire['kind']
  readonly value: number | undefined
  readonly last: ReadingWire | undefined
  /** Of the lot: it cannot hold more than its fruit gave. */
  readonly fruit?: LotWire['fruit']
  readonly onInput: (value: number | undefined) => void
}) {
  const session = useSession()
  const input = () => readingInput(props.kind, session.format())
  const last = () =>
    props.last && `${sayReading(props.last, session.format())}, ${session.format().moment(props.last.takenAt)}`
  const against = () =>
    props.value === undefined
      ? ''
      : doubt(props.kind, input().stored(props.value), session.nowMs(), props.last, props.fruit)
  return (
    <div>
      <Stepper
        label={input().label}
        unit={input().unit}
        step={input().step}
        min={input().min}
        max={input().max}
        value={props.value}
        from={props.last && Number(input().shown(props.last.value).toFixed(input().places))}
        last={last()}
        onInput={props.onInput}
      />
      <Show when={against()}>
        <p class="small late-text" role="status">
          {against()}
        </p>
      </Show>
    </div>
  )
}
