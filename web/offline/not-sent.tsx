import { createSignal, For, Show } from 'solid-js'
import { Button } from '../parts/button.tsx'
import { useSession } from '../session.tsx'
import {
  askSignOut,
  asOfMs,
  broken,
  type Choice,
  contact,
  counts,
  handOver,
  type Kept,
  pending,
  resolve,
  retry,
  signOutAsked,
  takeIn,
} from './index.ts'
import { PhoneLimits } from './limits.tsx'
import { OpState } from './op-state.tsx'
import './offline.css'

const records = (n: number) => `${n} ${n === 1 ? 'record' : 'records'}`

/** One line that is always there while something waits or the server is out of reach; behind it, everything, with its choices. */
export function NotSent(props: { readonly signOut: () => Promise<void> }) {
  const session = useSession()
  const [open, setOpen] = createSignal(false)
  const n = counts
  /** A moment of the phone's clock on the cellar's. */
  const time = (ms: number) => {
    const format = session.format()
    const at = session.nowMs() - (Date.now() - ms)
    return format.dayOf(at) === session.today() ? format.time(at) : format.moment(at)
  }
  const line = () => {
    const { waiting, refused, check } = n()
    const last = contact().lastAt
    return [
      refused > 0 ? `${records(refused)} not accepted` : '',
      waiting > 0 ? `${records(waiting)} on this phone` : refused + check === 0 ? 'Nothing waits on this phone' : '',
      check > 0 ? `${records(check)} to look at` : '',
      last ? `last contact ${time(Date.parse(last))}` : 'no contact yet',
    ]
      .filter(Boolean)
      .join(', ')
  }
  const away = () => !contact().online
  const any = () => {
    const { waiting, refused, check, others } = n()
    return waiting + refused + check + others > 0 || away() || broken() !== undefined
  }
  return (
    <Show when={any()}>
      <section class="not-sent no-print" classList={{ bad: n().refused > 0 }} aria-label="Not sent yet">
        <div class="not-sent-line">
          <p role="status">{line()}</p>
          <Button aria-expanded={open()} onClick={() => setOpen(!open())}>
            {open() ? 'Close' : 'Show'}
          </Button>
        </div>
        <Show when={broken()}>{(words) => <p>{words()}</p>}</Show>
        <Show when={contact().signedOut}>
          <p>
            You are signed out. What you told stays on this phone. <a href="/">Sign in</a> to send it.
          </p>
        </Show>
        <Show when={contact().between}>
          <p>
            This network answers in the cellar’s place: it may want its own sign-in first. Nothing is lost; it is sent
            once the way is free.
          </p>
        </Show>
        <Show when={away() && asOfMs()}>{(ms) => <p>What you see was read {time(ms())}.</p>}</Show>
        <Show when={signOutAsked()}>
          <div role="alert" class="stack">
            <p>
              <strong>{records(n().waiting)} wait here and could not be sent.</strong> Send them first, or hand them
              over as a file. Signed out, they stay on this phone and are sent when you sign in again.
            </p>
            <div class="row">
              <Button kind="main" onClick={() => askSignOut(false)}>
                Stay signed in
              </Button>
              <Button onClick={() => void retry()}>Send now</Button>
              <Button onClick={() => void saveFile()}>Hand over as a file</Button>
              <Button kind="danger" onClick={() => void props.signOut()}>
                Sign out, they stay here
              </Button>
            </div>
          </div>
        </Show>
        <Show when={open()}>
          <Waiting />
        </Show>
      </section>
    </Show>
  )
}

function Waiting() {
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
async function saveFile(): Promise<void> {
  const link = document.createElement('a')
  link.href = URL.createObjectURL(new Blob([await handOver()], { type: 'application/json' }))
  link.download = 'records-of-this-phone.json'
  link.click()
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000)
}

async function readFile(file: File | undefined): Promise<void> {
  if (!file) return
  const { toast, toastError } = await import('../parts/toast.tsx')
  try {
    const fresh = await takeIn(await file.text())
    toast(`${records(fresh)} taken in`)
    void retry()
  } catch (error) {
    toastError(error)
  }
}
