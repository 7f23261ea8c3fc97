import { isByDay, NEARER_WORDS } from '../when.ts'
import type { Hit } from './hit.ts'
import type { Model } from './model.ts'
import { lengthWords, type Words } from './words.ts'

/** What lies under the mouse, in words. */
export function HoverLabel(props: {
  readonly hit: Hit
  readonly model: Model
  readonly words: Words
  readonly widthPx: number
}) {
  const lines = () => {
    const { members } = props.hit
    if (members.length > 1) {
      const names = members.slice(0, 5).map((ix) => props.model.plan.tasks[ix]?.name ?? '')
      return [`${members.length} tasks`, ...names, ...(members.length > 5 ? [`and ${members.length - 5} more`] : [])]
    }
    const ix = members[0] as number
    const task = props.model.plan.tasks[ix]
    if (!task) return []
    const startMs = props.model.startMs[ix] as number
    const vessels = [task.fromVessels.join(' '), task.toVessels.join(' ')].filter(Boolean).join(' \u2192 ')
    return [
      `${task.name}${task.late ? ', late' : ''}`,
      isByDay(task)
        ? `${props.words.dayShort(startMs)}, ${NEARER_WORDS}`
        : `${props.words.moment(startMs)}, ${lengthWords((props.model.endMs[ix] as number) - startMs)}`,
      [task.lotId === null ? '' : `${task.lotCode} ${task.lotName}`, vessels].filter(Boolean).join(', '),
    ]
  }
  const right = () => props.hit.x > props.widthPx - 280
  return (
    <div
      class="chart-hover"
      aria-hidden="true"
      style={{
        top: `${props.hit.y + 18}px`,
        left: right() ? undefined : `${props.hit.x + 4}px`,
        right: right() ? `${props.widthPx - props.hit.x + 4}px` : undefined,
      }}
    >
      <strong>{lines()[0]}</strong>
      {lines()
        .slice(1)
        .filter(Boolean)
        .map((line) => (
          <span>{line}</span>
        ))}
    </div>
  )
}
