import { For, Show } from 'solid-js'
import { Button } from '../parts/button.tsx'
import { toast, toastError } from '../parts/toast.tsx'
import { useSession } from '../session.tsx'
import { type Choice, counts, handOver, type Kept, pending, resolve, retry, takeIn } from './index.ts'
import { PhoneLimits } from './limits.tsx'
import { OpState } from './op-state.tsx'
import { records } from './records.ts'

/** Everything that waits on this phone, each with its choices. */
export function Waiting() {
  return (
    <div class="stack">
      <ol class="ops">
        <For each={pending()}>{(op) => <Line op={op} />}</For>
      </ol>
      <Show when={counts().others > 0}>
        <p>
          {records(counts().others)} of another person wait here. They are sent once that person signs in on this phone.
        </p>
      </Show>
      <div class="row">
        <Button onClick={() => void retry()}>Send now</Button>
        <Show when={counts().waiting + counts().others > 0}>
          <Button onClick={() => void saveFile()}>Hand over as a file</Button>
        </Show>
        <label class="button">
          Take in a file
          <input
            class="visually-hidden"
            type="file"
            accept="application/json"
            onChange={(event) => void readFile(event.currentTarget.files?.[0])}
          />
        </label>
      </div>
      <PhoneLimits />
    </div>
  )
}

const CHOICES: readonly { readonly choice: Choice; readonly words: string }[] = [
  { choice: 'redo', words: 'Do it anew on the plan as it is now' },
  { choice: 'note', words: 'Keep as a note' },
  { choice: 'show', words: 'Show to the winemaker' },
]

function Line(props: { readonly op: Kept }) {
  const session = useSession()
  const format = session.format
  return (
    <li data-op={props.op.opId} data-state={props.op.state}>
      <p>
        <strong>{props.op.label}</strong>{' '}
        <span class="quiet">
          {format().dayMonth(props.op.occurredAt)} {format().time(props.op.occurredAt)}
        </span>
      </p>
      <OpState op={props.op} />
      <Show when={props.op.state === 'refused'}>
        <Show when={props.op.theirs}>
          {(theirs) => (
            <p>
              Theirs: {theirs().words}
              {theirs().at ? ` (${format().time(theirs().at ?? '')})` : ''}. Yours: {props.op.label}.
            </p>
          )}
        </Show>
        <fieldset class="row" aria-label={`What to do with ${props.op.label}`}>
          <For each={CHOICES}>
            {(entry) => <Button onClick={() => void resolve(props.op.opId, entry.choice)}>{entry.words}</Button>}
          </For>
        </fieldset>
      </Show>
    </li>
  )
}

/** So that nothing hangs on one phone: read in on another, it is sent by whoever told it. */
export async function saveFile(): Promise<void> {
  const link = document.createElement('a')
  link.href = URL.createObjectURL(new Blob([await handOver()], { type: 'application/json' }))
  link.download = 'records-of-this-phone.json'
  link.click()
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000)
}

async function readFile(file: File | undefined): Promise<void> {
  if (!file) return
  try {
    const fresh = await takeIn(await file.text())
    toast(`${records(fresh)} taken in`)
    void retry()
  } catch (error) {
    toastError(error)
  }
}
