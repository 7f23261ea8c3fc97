import { createSignal, For, Show } from 'solid-js'
import type { ConflictWire } from '../../api/wire.ts'
import { Button } from '../parts/button.tsx'
import { TextField } from '../parts/field.tsx'
import { useSession } from '../session.tsx'

export type FoundConflict = Pick<ConflictWire, 'id' | 'level' | 'reason' | 'wayOut' | 'fields'>

export interface Signed {
  readonly conflict: string
  readonly reason: string
}

const LEVELS: Readonly<Record<ConflictWire['level'], string>> = {
  block: 'Stands against it',
  warn: 'Mind',
  info: 'Hint',
}

/** What stands against an answer, the way out, and for a block the reason a winemaker may sign. */
export function ConflictNotes(props: {
  readonly found: readonly FoundConflict[]
  readonly signed: readonly Signed[]
  readonly onSign?: (signed: readonly Signed[]) => void
}) {
  return (
    <For each={props.found}>
      {(found) => {
        const reason = () => props.signed.find((entry) => entry.conflict === found.id)?.reason
        return (
          <div class="note" classList={{ bad: found.level === 'block', warn: found.level === 'warn' }} data-conflict={found.id}>
            <p>
              <b>
                {found.id} {LEVELS[found.level]}:
              </b>{' '}
              {found.reason}
            </p>
            <p>
              <b>Way out:</b> {found.wayOut}
            </p>
            <Show when={reason()}>
              <p>
                <b>Signed:</b> {reason()}
              </p>
            </Show>
            <Show when={found.level === 'block' && props.onSign && !reason()}>
              <SignForm
                id={found.id}
                sign={(words) => props.onSign?.([...props.signed.filter((entry) => entry.conflict !== found.id), { conflict: found.id, reason: words }])}
              />
            </Show>
            <Show when={found.level === 'block' && props.onSign && reason()}>
              <Button kind="plain" onClick={() => props.onSign?.(props.signed.filter((entry) => entry.conflict !== found.id))}>
                Take the signature back
              </Button>
            </Show>
          </div>
        )
      }}
    </For>
  )
}

function SignForm(props: { readonly id: string; readonly sign: (reason: string) => void }) {
  const session = useSession()
  const [words, setWords] = createSignal('')
  return (
    <Show when={session.leads()}>
      <details>
        <summary>Keep it all the same, with a reason</summary>
        <div class="row">
          <TextField
            class="grow"
            label={`Reason for keeping ${props.id}`}
            hint={`Kept with your name, ${session.person().name}.`}
            value={words()}
            onInput={setWords}
          />
          <Button disabled={words().trim().length < 3} onClick={() => props.sign(words().trim())}>
            Sign
          </Button>
        </div>
      </details>
    </Show>
  )
}
