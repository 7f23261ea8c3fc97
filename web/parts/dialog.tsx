import { Dialog as Kobalte } from '@kobalte/core/dialog'
import { type JSX, Show } from 'solid-js'

export interface DialogProps {
  readonly open: boolean
  readonly onClose: () => void
  readonly title: string
  readonly description?: string
  /** `side`: a drawer along the right edge, the page stays readable beside it. */
  readonly place?: 'middle' | 'side'
  readonly broad?: boolean
  readonly children: JSX.Element
}

export function Dialog(props: DialogProps) {
  return (
    <Kobalte open={props.open} onOpenChange={(open) => !open && props.onClose()} preventScroll={false}>
      <Kobalte.Portal>
        <Kobalte.Overlay class="overlay" classList={{ side: props.place === 'side' }} />
        <div class="dialog-place" classList={{ side: props.place === 'side' }}>
          <Kobalte.Content class="dialog" classList={{ broad: props.broad }}>
            <div class="dialog-head">
              <Kobalte.Title as="h2">{props.title}</Kobalte.Title>
              <Kobalte.CloseButton class="button plain" aria-label="Close">
                Close
              </Kobalte.CloseButton>
            </div>
            <Show when={props.description}>
              <Kobalte.Description as="p" class="quiet">
                {props.description}
              </Kobalte.Description>
            </Show>
            {props.children}
          </Kobalte.Content>
        </div>
      </Kobalte.Portal>
    </Kobalte>
  )
}
