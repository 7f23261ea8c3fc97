import { createSignal, lazy, Show, Suspense } from 'solid-js'
import { Button } from '../parts/button.tsx'
import { useSession } from '../session.tsx'
import { say, tongue } from '../words/words.ts'
import { askSignOut, asOfMs, broken, contact, counts, retry, signOutAsked } from './index.ts'
import { records } from './records.ts'
import './offline.css'

const Waiting = lazy(async () => ({ default: (await import('./waiting.tsx')).Waiting }))
/** Hands over what waits as a file. */
const saveFile = async () => (await import('./save-file.ts')).saveFile()

/** One line that is always there while something waits or the server is out of reach; behind it, everything, with its choices. */
export function NotSent(props: { readonly signOut: () => Promise<void> }) {
  const session = useSession()
  const [open, setOpen] = createSignal(false)
  const n = counts
  /** A moment of the phone's clock on the cellar's. */
  const time = (ms: number) => {
    const format = session.format()
    const at = session.onCellarClock(ms)
    return format.dayOf(at) === session.today() ? format.time(at) : format.moment(at)
  }
  const line = () => {
    const { waiting, refused, check } = n()
    const last = contact().lastAt
    return [
      refused > 0 ? say('nRefused', { records: records(refused) }) : '',
      waiting > 0 ? say('nOnPhone', { records: records(waiting) }) : refused + check === 0 ? say('nothingWaits') : '',
      check > 0 ? say('nToCheck', { records: records(check) }) : '',
      last ? say('lastContact', { time: time(Date.parse(last)) }) : say('noContactYet'),
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
      <section
        class="not-sent no-print"
        lang={tongue()}
        classList={{ bad: n().refused > 0 }}
        aria-label={say('notSentYet')}
      >
        <div class="not-sent-line">
          <p role="status">{line()}</p>
          <Button aria-expanded={open()} onClick={() => setOpen(!open())}>
            {open() ? say('close') : say('show')}
          </Button>
        </div>
        <Show when={broken()}>{(why) => <p>{say('keepsNothing', { why: why() })}</p>}</Show>
        <Show when={contact().signedOut}>
          <p>
            {say('signedOutHere')} <a href="/">{say('signInToSend')}</a>
          </p>
        </Show>
        <Show when={contact().between}>
          <p>{say('pageBetween')}</p>
        </Show>
        <Show when={away() && asOfMs()}>{(ms) => <p>{say('readWhen', { time: time(ms()) })}</p>}</Show>
        <Show when={signOutAsked()}>
          <div role="alert" class="stack">
            <p>
              <strong>{say('waitAtSignOut', { records: records(n().waiting) })}</strong> {say('waitAtSignOutHint')}
            </p>
            <div class="row">
              <Button kind="main" onClick={() => askSignOut(false)}>
                {say('staySignedIn')}
              </Button>
              <Button onClick={() => void retry()}>{say('sendNow')}</Button>
              <Button onClick={() => void saveFile()}>{say('handOverFile')}</Button>
              <Button kind="danger" onClick={() => void props.signOut()}>
                {say('signOutAnyway')}
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
