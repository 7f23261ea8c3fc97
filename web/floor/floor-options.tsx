import { A } from '@solidjs/router'
import { Show } from 'solid-js'
import { put } from '../api.ts'
import { ground, switchGround } from '../ground.ts'
import { Button } from '../parts/button.tsx'
import { Select } from '../parts/field.tsx'
import { useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'
import { isUnread, say, speak, TONGUES, type Tongue, tongue } from '../words/words.ts'
import { WriteHandover } from './handover.tsx'

/** What stands over the list: scan, paper, the other ground, and the language of whoever is signed in. */
export function FloorOptions(props: { readonly on: string; readonly who: string }) {
  const session = useSession()
  const write = useWrite((language: Tongue) => put('/api/me/language', { language }))
  const choose = async (language: Tongue) => {
    await speak(language)
    // Kept with the person, so that any phone speaks it; without a signal it holds on this one for now.
    write.mutate(language)
  }
  const sheet = () => `/today/sheet?${new URLSearchParams({ day: props.on, person: props.who })}`
  return (
    <section class="floor-options no-print" aria-label={say('moreOfToday')}>
      <A class="button" href="/scan">
        {say('scanTag')}
      </A>
      <Show when={session.works()}>
        <A class="button" href="/today/problem">
          {say('problem')}
        </A>
      </Show>
      <details>
        <summary>{say('moreOfToday')}</summary>
        <div class="floor-options">
          <Button onClick={() => window.print()}>{say('printSheet')}</Button>
          <Show when={session.works()}>
            <A class="button" href={sheet()}>
              {say('typeSheet')}
            </A>
          </Show>
          <A class="button" href="/tags">
            {say('tags')}
          </A>
          <Button onClick={switchGround}>{ground() === 'day' ? say('nightGround') : say('dayGround')}</Button>
          <Select label={say('language')} value={tongue()} options={TONGUES} onInput={(next) => void choose(next)} />
          <Show when={isUnread()}>
            <p class="small quiet unread-words">{say('unreadWords')}</p>
          </Show>
        </div>
        <WriteHandover />
      </details>
    </section>
  )
}
