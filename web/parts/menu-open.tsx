import { DropdownMenu } from '@kobalte/core/dropdown-menu'
import { For } from 'solid-js'
import type { MenuProps } from './menu.tsx'

export interface MenuEntry {
  readonly label: string
  readonly run: () => void
}

/** Opens as it comes, since somebody has just asked for it. */
export function OpenMenu(props: MenuProps) {
  return (
    <DropdownMenu gutter={4} preventScroll={false} modal={false} defaultOpen>
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
