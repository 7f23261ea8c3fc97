import { createSignal, For, Show } from 'solid-js'
import type { PersonWire } from '../../api/wire.ts'
import { post } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { TextArea } from '../parts/field.tsx'
import { useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'
import { say } from '../words/words.ts'
import { createTelling } from './acting.ts'
import { useHandovers } from './floor-queries.ts'
import { namesOf } from './floor-words.ts'
import { tell } from './send.ts'

/** What the last shift left for this one, until it is read; and whether anybody has read one's own. */
export function Handover(props: { readonly people: ReadonlyMap<string, PersonWire> }) {
  const session = useSession()
  const notes = useHandovers()
  const all = () => (notes.dataUpdatedAt > 0 && notes.data?.handovers) || []
  const me = () => session.person().id
  const unread = () =>
    all().filter((note) => note.personId !== me() && !note.readBy.some((read) => read.personId === me()))
  const read = useWrite((id: string) => post(`/api/handovers/${encodeURIComponent(id)}/read`))
  const mine = () => all().filter((note) => note.personId === me())
  return (
    <section class="stack handover no-print" aria-label={say('handover')}>
      <For each={unread()}>
        {(note) => (
          <div class="note fresh" data-handover={note.id}>
            <p>
              <b>
                {say('handoverFrom', {
                  name: namesOf([note.personId], props.people),
                  when: session.format().moment(note.at),
                })}
              </b>
            </p>
            <p class="as-written">{note.words}</p>
            <Show when={session.works()}>
              <Button pending={read.isPending} onClick={() => read.mutate(note.id)}>
                {say('haveRead')}
              </Button>
            </Show>
          </div>
        )}
      </For>
      <For each={mine().slice(0, 1)}>
        {(note) => (
          <p class="small quiet">
            {say('handoverMine', { when: session.format().moment(note.at) })}{' '}
            {note.readBy.length > 0
              ? say('readBy', {
                  names: namesOf(
                    note.readBy.map((r) => r.personId),
                    props.people,
                  ),
                })
              : say('readByNobody')}
          </p>
        )}
      </For>
    </section>
  )
}

/** What this shift leaves for the next. */
export function WriteHandover() {
  const session = useSession()
  const telling = createTelling()
  const [isWriting, setWriting] = createSignal(false)
  const [words, setWords] = createSignal('')
  return (
    <Show when={session.works()}>
      <Show when={isWriting()} fallback={<Button onClick={() => setWriting(true)}>{say('writeHandover')}</Button>}>
        <form
          class="stack"
          onSubmit={async (event) => {
            event.preventDefault()
            if (
              !(await telling.tell(
                () => tell('handover', { words: words().trim() }, `${say('handover')}: ${words().trim().slice(0, 40)}`),
                say('handoverKept'),
              ))
            )
              return
            setWords('')
            setWriting(false)
          }}
        >
          <TextArea label={say('handover')} hint={say('handoverHint')} rows={3} value={words()} onInput={setWords} />
          <Show when={telling.refused()}>
            <p class="late-text" role="alert">
              {telling.refusedWords()}
            </p>
          </Show>
          <div class="row">
            <Button kind="main" type="submit" pending={telling.busy()} disabled={words().trim() === ''}>
              {say('keep')}
            </Button>
            <Button onClick={() => setWriting(false)}>{say('back')}</Button>
          </div>
        </form>
      </Show>
    </Show>
  )
}
