import { Show } from 'solid-js'
import { Button } from '../parts/button.tsx'
import { say, tongue } from '../words/words.ts'
import { counts } from './index.ts'
import { newer, takeNewer } from './install.ts'

/** Offered, never forced; not while records of this phone wait to be sent. */
export function Newer() {
  return (
    <Show when={newer() && counts().waiting === 0}>
      <section class="not-sent no-print" lang={tongue()} aria-label={say('newerEdition')}>
        <div class="not-sent-line">
          <p role="status">{say('newerEdition')}</p>
          <Button onClick={takeNewer}>{say('loadIt')}</Button>
        </div>
      </section>
    </Show>
  )
}
