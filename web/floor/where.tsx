import { Show } from 'solid-js'
import type { TaskWire } from '../../api/wire.ts'
import { VesselTags } from '../parts/tag.tsx'
import { say } from '../words/words.ts'
import { movesWine, placesOf } from './walk.ts'

/** Vessels first, huge: from and to as two big numbers. Work on fruit that is in none yet says the lot. */
export function Where(props: { readonly task: TaskWire; readonly huge: boolean; readonly most?: number }) {
  const most = () => props.most ?? 3
  return (
    <div class="where" classList={{ moves: movesWine(props.task) }}>
      <Show
        when={placesOf(props.task).length > 0}
        fallback={
          <Show when={props.task.lotId}>
            <span class="tag plain" classList={{ huge: props.huge }}>
              {props.task.lotCode}
            </span>
          </Show>
        }
      >
        <Show when={movesWine(props.task)}>
          <span class="visually-hidden">{say('from')}</span>
        </Show>
        <VesselTags codes={placesOf(props.task)} huge={props.huge} most={most()} />
      </Show>
      <Show when={movesWine(props.task)}>
        <span class="arrow" aria-hidden="true">
          →
        </span>
        <span class="visually-hidden">{say('to')}</span>
        <VesselTags codes={props.task.toVessels} huge={props.huge} most={most()} />
      </Show>
    </div>
  )
}
