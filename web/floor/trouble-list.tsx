import { A } from '@solidjs/router'
import { For, Show } from 'solid-js'
import type { PersonWire } from '../../api/wire.ts'
import { post } from '../api.ts'
import { taskHref } from '../format.ts'
import { Button } from '../parts/button.tsx'
import { useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'
import { say } from '../words/words.ts'
import { useTroubles } from './floor-queries.ts'
import { namesOf, troubleWord } from './floor-words.ts'

/** Reports that no winemaker has settled, on top of the day for whoever decides; others see that they were seen. */
export function TroubleList(props: { readonly people: ReadonlyMap<string, PersonWire>; readonly vessel?: string }) {
  const session = useSession()
  const troubles = useTroubles()
  const open = () =>
    ((troubles.dataUpdatedAt > 0 && troubles.data?.troubles) || []).filter(
      (trouble) =>
        !trouble.answers.some((answer) => answer.kind === 'settled') &&
        (props.vessel === undefined || trouble.vesselCode === props.vessel),
    )
  const answer = useWrite((told: { readonly id: string; readonly kind: 'seen' | 'settled' }) =>
    post(`/api/troubles/${encodeURIComponent(told.id)}/answers`, { id: crypto.randomUUID(), kind: told.kind }),
  )
  const isSeen = (trouble: ReturnType<typeof open>[number]) => trouble.answers.length > 0
  return (
    <Show when={open().length > 0}>
      <section class="stack no-print" aria-label={say('reports')}>
        <h2>{say('reports')}</h2>
        <For each={open().slice(0, 20)}>
          {(trouble) => (
            <div class="note bad" data-trouble={trouble.id}>
              <p>
                <b>
                  {troubleWord(trouble.kind)} {trouble.vesselCode ?? ''} {trouble.lotCode ?? ''}
                </b>
              </p>
              <Show when={trouble.words}>
                <p class="as-written">{trouble.words}</p>
              </Show>
              <p class="small quiet">
                {namesOf([trouble.personId], props.people)}, {session.format().moment(trouble.at)}.{' '}
                {isSeen(trouble)
                  ? say('seenBy', {
                      names: namesOf(
                        trouble.answers.map((a) => a.personId),
                        props.people,
                      ),
                    })
                  : say('notSeen')}{' '}
                <Show when={trouble.taskKey}>{(key) => <A href={taskHref(key())}>{say('theTask')}</A>}</Show>
              </p>
              <Show when={session.leads()}>
                <div class="row">
                  <Show when={!isSeen(trouble)}>
                    <Button pending={answer.isPending} onClick={() => answer.mutate({ id: trouble.id, kind: 'seen' })}>
                      {say('haveSeen')}
                    </Button>
                  </Show>
                  <Button pending={answer.isPending} onClick={() => answer.mutate({ id: trouble.id, kind: 'settled' })}>
                    {say('settled')}
                  </Button>
                </div>
              </Show>
            </div>
          )}
        </For>
      </section>
    </Show>
  )
}
