import { For, Show } from 'solid-js'
import type { TaskWire } from '../../api/wire.ts'
import { asOfMs } from '../offline/index.ts'
import { OLD_AFTER_H, oldOf } from '../offline/kept.ts'
import { useSession } from '../session.tsx'
import { say, sayDoseWhy, sayThing } from '../words/words.ts'

/** What to weigh, in how many litres, with the arithmetic under it; amber where the volume or reading changed since. */
export function DoseBlock(props: { readonly task: TaskWire; readonly short?: boolean }) {
  const session = useSession()
  const format = session.format
  /** When it was read, where that was too long ago to weigh by. */
  const oldSince = () => {
    const readMs = asOfMs()
    return readMs === undefined ? undefined : oldOf(readMs, Date.now(), session.nowMs())
  }
  const perVessel = () => props.task.fromVessels.length || props.task.toVessels.length
  return (
    <>
      <For each={props.task.doses}>
        {(dose) => (
          <div class="dose-block">
            <p>
              <span class="dose">{format().dose(dose.amount, dose.unit)}</span> {sayThing(dose.product)}{' '}
              <span class="quiet">{say('inVolume', { volume: format().volume(dose.volumeL) })}</span>
            </p>
            <Show when={!props.short}>
              <p class="small quiet">{sayDoseWhy(dose, format().number)}</p>
              <Show when={perVessel() > 1}>
                <p class="small">
                  {say('eachVessel', { n: perVessel(), dose: format().dose(dose.amount / perVessel(), dose.unit) })}
                </p>
              </Show>
            </Show>
          </div>
        )}
      </For>
      <Show when={props.task.doses.length > 0 && oldSince()}>
        {(readMs) => (
          <p class="note fresh" role="status">
            <b>{say('lookAgain')}</b> {say('doseOld', { when: format().moment(readMs()), hours: OLD_AFTER_H })}
          </p>
        )}
      </Show>
      <Show when={props.task.doseWas}>
        {(was) => (
          <p class="note fresh" role="status">
            <b>{say('lookAgain')}</b> {say('doseChanged', { when: format().moment(was().at) })}
          </p>
        )}
      </Show>
    </>
  )
}
