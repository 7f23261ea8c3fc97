import { createSignal, lazy, Show, Suspense } from 'solid-js'
import { Button } from '../parts/button.tsx'
import { useSession } from '../session.tsx'
import { askSignOut, asOfMs, broken, contact, counts, retry, signOutAsked } from './index.ts'
import { records } from './records.ts'
import './offline.css'

const Waiting = lazy(async () => ({ default: (await import('./waiting.tsx')).Waiting }))
/** Hands over what waits as a file. */
const saveFile = async () => (await import('./waiting.tsx')).saveFile()

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
          <Suspense>
            <Waiting />
          </Suspense>
        </Show>
      </section>
    </Show>
  )
}
