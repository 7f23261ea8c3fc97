import { For, Show } from 'solid-js'
import { FateLine } from '../floor/fate-line.tsx'
import { theirsWords } from '../floor/floor-words.ts'
import { Button } from '../parts/button.tsx'
import { toast, toastError } from '../parts/toast.tsx'
import { useSession } from '../session.tsx'
import type { Word } from '../words/types.ts'
import { say } from '../words/words.ts'
import { type Choice, counts, type Kept, pending, resolve, retry, takeIn } from './index.ts'
import { OfTheGone } from './left-here.tsx'
import { PhoneLimits } from './limits.tsx'
import { records } from './records.ts'
import { saveFile } from './save-file.ts'

/** Everything that waits on this phone, each with its choices. */
export function Waiting() {
  return (
    <div class="stack">
      <ol class="ops">
        <For each={pending()}>{(op) => <Line op={op} />}</For>
      </ol>
      <OfTheGone />
      <div class="row">
        <Button onClick={() => void retry()}>{say('sendNow')}</Button>
        <Show when={counts().waiting + counts().others > 0}>
          <Button onClick={() => void saveFile()}>{say('handOverFile')}</Button>
        </Show>
        <label class="button">
          {say('takeInFile')}
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

const CHOICES: readonly { readonly choice: Choice; readonly word: Word }[] = [
  { choice: 'redo', word: 'redoAnew' },
  { choice: 'note', word: 'keepAsNote' },
  { choice: 'show', word: 'showWinemaker' },
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
      <FateLine opId={props.op.opId} />
      <Show when={props.op.state === 'refused'}>
        <Show when={props.op.theirs}>
          {(theirs) => (
            <p>
              {say('theirsYours', {
                theirs: `${theirsWords(theirs().words)}${theirs().at ? ` (${format().time(theirs().at ?? '')})` : ''}`,
                mine: props.op.label,
              })}
            </p>
          )}
        </Show>
        <fieldset class="row" aria-label={say('whatToDoWith', { what: props.op.label })}>
          <For each={CHOICES}>
            {(entry) => <Button onClick={() => void resolve(props.op.opId, entry.choice)}>{say(entry.word)}</Button>}
          </For>
        </fieldset>
      </Show>
    </li>
  )
}

async function readFile(file: File | undefined): Promise<void> {
  if (!file) return
  try {
    const fresh = await takeIn(await file.text())
    toast(say('takenIn', { records: records(fresh) }))
    void retry()
  } catch (error) {
    toastError(error)
  }
}
