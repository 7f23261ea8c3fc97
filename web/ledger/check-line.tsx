import { A } from '@solidjs/router'
import { Show } from 'solid-js'
import { useSession } from '../session.tsx'
import { useChecks } from './queries.ts'

/** In one line: whether the book held when it was last checked. */
export function CheckLine() {
  const session = useSession()
  const checks = useChecks()
  const last = () => (checks.dataUpdatedAt > 0 ? checks.data?.checks[0] : undefined)
  return (
    <Show when={last()}>
      {(check) => (
        <p class="note" classList={{ bad: !check().ok }} role="status">
          <Show
            when={check().ok}
            fallback={
              <>
                <b class="late-text">
                  The nightly check found {check().faults.length} {check().faults.length === 1 ? 'fault' : 'faults'}
                </b>{' '}
                on {session.format().dayYear(check().at)}. <A href="/ledger/checks">Look at them</A>
              </>
            }
          >
            The book holds: checked {session.format().dayYear(check().at)} {session.format().time(check().at)},{' '}
            {session.format().number(check().movements)} movements
            {check().accepted.length > 0 ? `; differences accepted: ${check().accepted.length}` : ''}.{' '}
            <A href="/ledger/checks">Checks</A>
          </Show>
        </p>
      )}
    </Show>
  )
}
