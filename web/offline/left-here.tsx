import { createSignal, For, onMount, Show } from 'solid-js'
import { Button } from '../parts/button.tsx'
import { toast, toastError } from '../parts/toast.tsx'
import { usePeople } from '../queries.ts'
import { useSession } from '../session.tsx'
import { say, tongue } from '../words/words.ts'
import { keepInWords, look, type Others, others } from './index.ts'
import { records } from './records.ts'
import { saveFile } from './save-file.ts'

/** Before anybody is signed in: what waits on this phone is kept and can be read out, whoever told it. */
export function LeftHere() {
  const [open, setOpen] = createSignal(false)
  onMount(() => void look())
  const when = (op: Others) =>
    new Date(op.occurredAt).toLocaleString(tongue(), { dateStyle: 'short', timeStyle: 'short' })
  return (
    <Show when={others().length > 0}>
      <section class="note stack" lang={tongue()} aria-label={say('notSentYet')}>
        <p>
          <b>{say('waitAtSignOut', { records: records(others().length) })}</b> {say('leftHereHint')}
        </p>
        <Show when={open()}>
          <Labels ops={others()} when={when} />
        </Show>
        <div class="row">
          <Button big aria-expanded={open()} onClick={() => setOpen(!open())}>
            {open() ? say('close') : say('show')}
          </Button>
          <Button big onClick={() => void saveFile()}>
            {say('handOverFile')}
          </Button>
        </div>
      </section>
    </Show>
  )
}

/** Of people who are not here any more: nobody else will send it, so whoever is here keeps it in words. */
export function OfTheGone() {
  const session = useSession()
  const people = usePeople()
  const byId = () => new Map(((people.dataUpdatedAt > 0 && people.data?.people) || []).map((p) => [p.id, p]))
  const isGone = (op: Others) => op.cellar === session.cellar().id && Boolean(byId().get(op.author)?.removedAt)
  const gone = () => others().filter(isGone)
  const nameOf = (id: string) => byId().get(id)?.name ?? id
  const names = () => [...new Set(gone().map((op) => nameOf(op.author)))].join(', ')
  const keep = async () => {
    try {
      const line = (op: Others) => `${session.format().moment(op.occurredAt)} ${nameOf(op.author)}: ${op.label}`
      const n = gone().length
      await keepInWords(gone(), say('toldByGone'), line)
      toast(say('keptInWords', { records: records(n) }))
    } catch (error) {
      toastError(error)
    }
  }
  return (
    <>
      <Show when={others().length - gone().length > 0}>
        <p>{say('othersWait', { records: records(others().length - gone().length) })}</p>
      </Show>
      <Show when={gone().length > 0}>
        <section class="note fresh stack" data-gone>
          <p>
            <b>{say('goneWait', { records: records(gone().length), names: names() })}</b>
          </p>
          <Labels ops={gone()} when={(op) => session.format().moment(op.occurredAt)} />
          <Show when={session.works()}>
            <Button kind="main" onClick={() => void keep()}>
              {say('keepInWords')}
            </Button>
          </Show>
        </section>
      </Show>
    </>
  )
}

function Labels(props: { readonly ops: readonly Others[]; readonly when: (op: Others) => string }) {
  return (
    <ol class="ops">
      <For each={props.ops}>
        {(op) => (
          <li>
            <b>{op.label}</b> <span class="quiet">{props.when(op)}</span>
          </li>
        )}
      </For>
    </ol>
  )
}
