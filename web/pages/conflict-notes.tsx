import { createSignal, For, Show } from 'solid-js'
import type { ConflictWire } from '../../api/wire.ts'
import { Button } from '../parts/button.tsx'
import { TextField } from '../parts/field.tsx'
import { useSession } from '../session.tsx'

export type FoundConflict = Readonly<Pick<ConflictWire, 'id' | 'level' | 'reason' | 'wayOut'>> & {
  readonly fields: readonly string[]
}

export interface Signed {
  readonly conflict: string
  readonly reason: string
}

/** What we know at once, and what only the server knows of the other lots; gravest first, each once. */
export function allFound(here: readonly FoundConflict[], there: readonly FoundConflict[]): readonly FoundConflict[] {
  const known = new Set(here.map((found) => found.id))
  // The day's sums (vessel, cold, press) are the server's alone; the rest is asked here as one types.
  return [...here, ...there.filter((found) => !known.has(found.id) && DAY_SUMS.includes(found.id))].sort(
    (a, b) => GRAVITY[a.level] - GRAVITY[b.level],
  )
}

export const unsigned = (found: readonly FoundConflict[], signed: readonly Signed[]): readonly FoundConflict[] =>
  found.filter(
    (entry) =>
      entry.level === 'block' && !signed.some((sign) => sign.conflict === entry.id && sign.reason.trim() !== ''),
  )

const DAY_SUMS = ['K34', 'K35', 'K36']
const GRAVITY = { block: 0, warn: 1, info: 2 } as const

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
          <div
            class="note"
            classList={{ bad: found.level === 'block', warn: found.level === 'warn' }}
            data-conflict={found.id}
          >
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
                sign={(words) =>
                  props.onSign?.([
                    ...props.signed.filter((entry) => entry.conflict !== found.id),
                    { conflict: found.id, reason: words },
                  ])
                }
              />
            </Show>
            <Show when={found.level === 'block' && props.onSign && reason()}>
              <Button
                kind="plain"
                onClick={() => props.onSign?.(props.signed.filter((entry) => entry.conflict !== found.id))}
              >
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
