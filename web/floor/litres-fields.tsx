import { For, Show } from 'solid-js'
import type { TaskWire } from '../../api/wire.ts'
import { numberOf, TextField } from '../parts/field.tsx'
import { useSession } from '../session.tsx'
import { say } from '../words/words.ts'
import { isFarFromPlan, isTopping, OWN_FIELDS } from './litres.ts'

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
  const isFar = () =>
    !isTopping(props.task) &&
    props.task.volumeL !== undefined &&
    sumL() > 0 &&
    isFarFromPlan(sumL(), props.task.volumeL, props.task.toVessels.length)
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
                value={
                  props.arrivedL[code] === undefined
                    ? ''
                    : Number(
                        format()
                          .volumeShown(props.arrivedL[code] ?? 0)
                          .toFixed(1),
                      )
                }
                onChange={(event) => {
                  const shown = numberOf(event.currentTarget.value)
                  props.onArrived(code, shown === undefined ? undefined : format().volumeL(shown))
                }}
              />
            </label>
          )}
        </For>
      </div>
      <Show when={!isTopping(props.task) && props.task.volumeL}>
        {(planned) => <p class="hint">{say('plannedLitres', { volume: format().volume(planned()) })}</p>}
      </Show>
      <Show when={isFar()}>
        <p class="late-text" role="status">
          {say('farFromPlan')}
        </p>
      </Show>
    </>
  )
}
