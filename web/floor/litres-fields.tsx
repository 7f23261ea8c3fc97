import { For, Show, untrack } from 'solid-js'
import type { TaskWire } from '../../api/wire.ts'
import { numberOf, TextField } from '../parts/field.tsx'
import { useVessels } from '../queries.ts'
import { useSession } from '../session.tsx'
import { say } from '../words/words.ts'
import { isTopping, OWN_FIELDS, offPlan } from './litres.ts'

/** What arrived, measured, beside what was planned; for topping also where it came from. */
export function LitresFields(props: {
  readonly task: TaskWire
  readonly arrivedL: Readonly<Record<string, number | undefined>>
  readonly source: string
  readonly onArrived: (code: string, volumeL: number | undefined) => void
  readonly onSource: (code: string) => void
}) {
  const session = useSession()
  const format = session.format
  const codes = () =>
    !isTopping(props.task) && props.task.toVessels.length > 1 && props.task.toVessels.length <= OWN_FIELDS
      ? props.task.toVessels
      : ['']
  const sumL = () => Object.values(props.arrivedL).reduce<number>((sum, volumeL) => sum + (volumeL ?? 0), 0)
  const vessels = useVessels()
  const off = () =>
    isTopping(props.task) || !props.task.volumeL
      ? undefined
      : offPlan(
          sumL(),
          props.task.volumeL,
          props.task.toVessels.map((code) => vessels.data?.vessels.find((v) => v.code === code)?.kind),
        )
  const shown = (volumeL: number | undefined) =>
    volumeL === undefined ? '' : Number(format().volumeShown(volumeL).toFixed(1))
  return (
    <>
      <div class="row top">
        <Show when={isTopping(props.task)}>
          <TextField class="short" label={say('toppedFrom')} value={props.source} onInput={props.onSource} />
        </Show>
        <For each={codes()}>
          {(code) => (
            <label class="field short">
              <span class="label">
                {isTopping(props.task) ? say('toppedWith') : say('litresArrived')} {code}{' '}
                <span class="quiet">{format().volumeUnit}</span>
              </span>
              <input
                class="input"
                inputmode="decimal"
                autocomplete="off"
                data-litres={code}
                // As it was when the field came: what is being typed must not be written over.
                value={untrack(() => shown(props.arrivedL[code]))}
                onInput={(event) => {
                  const typed = numberOf(event.currentTarget.value)
                  props.onArrived(code, typed === undefined ? undefined : format().volumeL(typed))
                }}
              />
            </label>
          )}
        </For>
      </div>
      <Show when={off()}>
        {(off) => (
          <>
            <p class="hint">
              {say('plannedLitres', {
                volume: format().volume(props.task.volumeL ?? 0),
                tolerance: format().volume(off().toleranceL),
              })}
            </p>
            <p class="late-text" role="status">
              <Show when={off().overL}>{(overL) => say('overPlan', { volume: format().volume(overL()) })}</Show>
              <Show when={off().underL}>{(underL) => say('underPlan', { volume: format().volume(underL()) })}</Show>
            </p>
          </>
        )}
      </Show>
    </>
  )
}
