import { createUniqueId, Show } from 'solid-js'
import type { TaskWire } from '../../api/wire.ts'
import { PEG_PATHS } from '../timeline/shape.ts'

export type PegState = 'planned' | 'due' | 'underway' | 'done' | 'late' | 'blocked' | 'conflict'

export const FAMILY_WORDS: Readonly<Record<TaskWire['family'], string>> = {
  juice: 'Fruit and juice',
  ferment: 'Ferment',
  check: 'Check',
  move: 'Move',
  lees: 'Lees',
  protect: 'Protect',
}

/** State is fill, never hue: late and conflict win over the rest. */
export function pegState(task: Pick<TaskWire, 'state' | 'late' | 'broken'>): PegState {
  if (task.state === 'done' || task.state === 'skipped' || task.state === 'cancelled') return 'done'
  if (task.broken.some((entry) => entry.strength === 'hard')) return 'conflict'
  if (task.late) return 'late'
  return task.state
}

/** Decoration beside words that say the same; hidden from screen readers unless it is given a name. */
export function PegMark(props: {
  readonly family: TaskWire['family']
  readonly state?: PegState
  readonly name?: string
  readonly size?: string
}) {
  const id = createUniqueId()
  const state = () => props.state ?? 'planned'
  const hue = () => `var(--${props.family})`
  const pale = () => `var(--${props.family}-pale)`
  const solid = () => state() === 'due' || state() === 'late' || state() === 'conflict'
  const stroke = () => {
    if (state() === 'planned') return hue()
    if (state() === 'conflict') return 'var(--late)'
    return state() === 'done' ? 'var(--done)' : 'var(--ink)'
  }
  return (
    <svg
      class="peg"
      viewBox="-9 -9 18 18"
      role={props.name ? 'img' : undefined}
      aria-label={props.name}
      aria-hidden={props.name ? undefined : true}
      style={props.size ? { width: props.size, height: props.size } : undefined}
    >
      <path
        d={PEG_PATHS[props.family]}
        fill={state() === 'done' ? 'none' : solid() ? hue() : pale()}
        stroke={stroke()}
        stroke-width={state() === 'conflict' ? 2.4 : 1.5}
        transform={state() === 'done' ? 'scale(.75)' : undefined}
      />
      <Show when={state() === 'underway'}>
        <clipPath id={id}>
          <rect x="-9" y="-9" width="9" height="18" />
        </clipPath>
        <path d={PEG_PATHS[props.family]} fill={hue()} clip-path={`url(#${id})`} />
      </Show>
      <Show when={state() === 'blocked'}>
        <clipPath id={id}>
          <path d={PEG_PATHS[props.family]} />
        </clipPath>
        <path
          d="M-10 2L2-10M-10 8L8-10M-8 12L12-8M-2 12L12-2"
          stroke="var(--ink)"
          stroke-width="1.6"
          clip-path={`url(#${id})`}
        />
      </Show>
      <Show when={state() === 'done'}>
        <path d="M-8 6L8-6" stroke="var(--done)" stroke-width="1.4" />
      </Show>
      <Show when={state() === 'late'}>
        <rect x="-9" y="7.2" width="18" height="2.4" fill="var(--late)" />
      </Show>
    </svg>
  )
}
