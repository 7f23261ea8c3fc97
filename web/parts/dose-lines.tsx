import { For, Show } from 'solid-js'
import type { TaskWire } from '../../api/wire.ts'
import { useSession } from '../session.tsx'
import { Button } from './button.tsx'
import { createTaskActs } from './task-acts.ts'

/** What to weigh, in what volume, and the arithmetic. Amber when volume or reading changed since somebody looked. */
export function DoseLines(props: { readonly task: TaskWire }) {
  const session = useSession()
  const format = session.format
  const { act, write } = createTaskActs()
  const wasOf = (product: string) => props.task.doseWas?.doses.find((dose) => dose.product === product)
  const gone = () =>
    (props.task.doseWas?.doses ?? []).filter((was) => !props.task.doses.some((dose) => dose.product === was.product))
  return (
    <>
      <For each={props.task.doses}>
        {(dose) => (
          <div>
            <span class="dose">{format().dose(dose.amount, dose.unit)}</span> {dose.product} in{' '}
            {format().volume(dose.volumeL)}
            <p class="small quiet">
              {format().units === 'us' ? 'In metric: ' : ''}
              {dose.arithmetic} ({dose.basis})
            </p>
          </div>
        )}
      </For>
      <Show when={props.task.doseWas}>
        {(was) => (
          <div class="note fresh" role="status">
            <p>
              <b>Look again.</b> The volume or reading under {props.task.doses.length > 1 ? 'these doses' : 'this dose'}{' '}
              changed, {format().moment(was().at)}.
            </p>
            <For each={props.task.doses}>
              {(dose) => (
                <Show when={wasOf(dose.product)} fallback={<p class="small">New: {dose.product}</p>}>
                  {(seen) => (
                    <Show when={seen().arithmetic !== dose.arithmetic || seen().amount !== dose.amount}>
                      <p class="small">
                        Was {format().dose(seen().amount, seen().unit)} {dose.product} in{' '}
                        {format().volume(seen().volumeL)}: {seen().arithmetic}
                      </p>
                    </Show>
                  )}
                </Show>
              )}
            </For>
            <For each={gone()}>{(dose) => <p class="small">No longer: {dose.product}</p>}</For>
            <Show when={session.works()}>
              <Button class="no-print" pending={write.isPending} onClick={() => void act(props.task, 'acknowledge')}>
                I have looked
              </Button>
            </Show>
          </div>
        )}
      </Show>
    </>
  )
}
