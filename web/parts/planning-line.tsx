import { Show } from 'solid-js'
import { say, tongue } from '../words/words.ts'

export interface PlanningLineProps {
  /** How much of the plan is made, 0 to 1; `waits` while that is not known. */
  readonly far: number | 'waits'
}

/** One line while a plan is made: people see that what they told is being worked at. */
export function PlanningLine(props: PlanningLineProps) {
  const percent = () => (props.far === 'waits' ? undefined : Math.round(props.far * 100))
  return (
    <p class="planning" role="status" lang={tongue()}>
      <Show
        when={percent() !== undefined}
        fallback={
          <>
            <span>{say('planMaking')}</span>
            <progress aria-hidden="true" />
          </>
        }
      >
        <span>{say('planMakingFar', { n: percent() ?? 0 })}</span>
        <progress max={100} value={percent() ?? 0} aria-hidden="true" />
      </Show>
    </p>
  )
}
