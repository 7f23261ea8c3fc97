import { Show } from 'solid-js'
import { Button } from '../parts/button.tsx'
import { counts } from './index.ts'
import { newer, takeNewer } from './install.ts'

/** Offered, never forced; not while records of this phone wait to be sent. */
export function Newer() {
  return (
    <Show when={newer() && counts().waiting === 0}>
      <section class="not-sent no-print" aria-label="A newer Leesway">
        <div class="not-sent-line">
          <p role="status">A newer edition of these pages is here.</p>
          <Button onClick={takeNewer}>Load it</Button>
        </div>
      </section>
    </Show>
  )
}
