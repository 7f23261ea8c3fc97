import { For } from 'solid-js'
import type { TaskWire } from '../../api/wire.ts'
import { kindsFor } from '../readings.ts'
import { useSession } from '../session.tsx'
import { say, sayStep } from '../words/words.ts'
import { readingWord } from './floor-words.ts'
import { placesOf } from './walk.ts'

/** One label a sample: lot and vessel large, what to measure, when it was taken. For paper only. */
export function SampleLabels(props: { readonly samples: readonly TaskWire[] }) {
  const session = useSession()
  return (
    <ul class="print-only sample-labels sheet" aria-hidden="true">
      <For each={props.samples}>
        {(task, at) => (
          <li>
            <b class="tag-code">
              {task.lotCode} {placesOf(task).slice(0, 2).join(' ')}
            </b>
            <span>
              {at() + 1} · {sayStep(task)}
            </span>
            <span class="small">
              {kindsFor(task.records, session.format())
                .map((kind) => readingWord(kind, session.format()))
                .join(', ')}
            </span>
            <span class="small">
              {session.format().dayWithYear(session.today())} {say('takenAt')} __:__
            </span>
          </li>
        )}
      </For>
    </ul>
  )
}
