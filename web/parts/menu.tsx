import { createSignal, type JSX, lazy, Show, Suspense } from 'solid-js'
import type { MenuEntry } from './menu-open.tsx'

export type { MenuEntry } from './menu-open.tsx'

/** Its weight comes with the first opening: a page opens without it. */
const Opened = lazy(async () => ({ default: (await import('./menu-open.tsx')).OpenMenu }))

export interface MenuProps {
  readonly label: JSX.Element
  readonly name?: string
  readonly class?: string
  readonly entries: readonly MenuEntry[]
}

/** A button that opens a short list of acts or places. */
export function Menu(props: MenuProps) {
  const [wanted, setWanted] = createSignal(false)
  const Closed = () => (
    <button
      type="button"
      class={props.class ?? 'button'}
      aria-label={props.name}
      aria-haspopup="menu"
      aria-expanded={false}
      onClick={() => setWanted(true)}
      onKeyDown={(event) => {
        if (event.key === 'ArrowDown') setWanted(true)
      }}
    >
      {props.label}
    </button>
  )
  return (
    <Show when={wanted()} fallback={<Closed />}>
      <Suspense fallback={<Closed />}>
        <Opened {...props} />
      </Suspense>
    </Show>
  )
}
