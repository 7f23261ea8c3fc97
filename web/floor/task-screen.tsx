import { A, useParams } from '@solidjs/router'
import { createMemo, Show } from 'solid-js'
import { standing } from '../offline/index.ts'
import { Ask } from '../parts/states.tsx'
import { taskReadMs, useLots, usePeople, useReadings, useTask } from '../queries.ts'
import { say, tongue } from '../words/words.ts'
import { OneTask } from './one-task.tsx'

/** One task a screen: where, what, how much, what can hurt, and one thing to press. */
export function TaskScreen() {
  const params = useParams<{ lot: string; step: string; count: string }>()
  // From one task to the next nothing goes along: neither a vessel found right nor a caution read.
  return (
    <Show when={`${params.lot}/${params.step}/${params.count}`} keyed>
      {(key) => <TaskOf taskKey={key} lot={params.lot} />}
    </Show>
  )
}

function TaskOf(props: { readonly taskKey: string; readonly lot: string }) {
  const asked = useTask(() => props.taskKey)
  const people = usePeople()
  const lots = useLots()
  const readings = useReadings(() => (props.lot === 'house' ? undefined : props.lot))
  return (
    <section class="floor" lang={tongue()}>
      <p class="floor-back">
        <A href="/today" class="button plain">
          ‹ {say('today')}
        </A>
      </p>
      <Ask query={asked} what={say('theTask')}>
        {(row) => {
          // Once a change, not once for each place on the screen that reads of it.
          const task = createMemo(() => standing(row(), taskReadMs(props.taskKey, asked)))
          return (
            <OneTask
              task={task()}
              plain={row()}
              people={(people.dataUpdatedAt > 0 && people.data?.people) || []}
              readings={(readings.dataUpdatedAt > 0 && readings.data?.readings) || []}
              lot={(lots.dataUpdatedAt > 0 && lots.data?.lots.find((lot) => lot.id === row().lotId)) || undefined}
            />
          )
        }}
      </Ask>
    </section>
  )
}
