import { DropdownMenu } from '@kobalte/core/dropdown-menu'
import { For, type JSX } from 'solid-js'

export interface MenuEntry {
  readonly label: string
  readonly run: () => void
}

/** A button that opens a short list of acts or places. */
export function Menu(props: {
  readonly label: JSX.Element
  readonly name?: string
  readonly class?: string
  readonly entries: readonly MenuEntry[]
}) {
  return (
    <DropdownMenu gutter={4} preventScroll={false} modal={false}>
      <DropdownMenu.Trigger class={props.class ?? 'button'} aria-label={props.name}>
        {props.label}
      </DropdownMenu.Trigger>
      <DropdownMenu.Portal>
        <DropdownMenu.Content class="menu">
          <For each={props.entries}>
            {(entry) => <DropdownMenu.Item onSelect={entry.run}>{entry.label}</DropdownMenu.Item>}
          </For>
        </DropdownMenu.Content>
      </DropdownMenu.Portal>
    </DropdownMenu>
  )
}
