import { useSearchParams } from '@solidjs/router'
import { createSignal, Show } from 'solid-js'
import { beginAnew } from '../anew.ts'
import { post } from '../api.ts'
import { PhoneLimits } from '../offline/limits.tsx'
import { Button, ButtonLink } from '../parts/button.tsx'
import { Failed } from '../parts/states.tsx'
import { type Me, useMe } from '../queries.ts'
import { doorNo, sayDoor } from '../words/door.ts'
import { Alone } from './alone.tsx'

/** The one-time link: it is spent on a tap, not on arrival, so that a previewer cannot use it up. */
export function Welcome() {
  const [search] = useSearchParams<{ token?: string }>()
  const [error, setError] = createSignal<unknown>()
  const [busy, setBusy] = createSignal(false)
  const known = useMe()
  const account = () => (known.dataUpdatedAt > 0 && known.data?.person?.signInName) || undefined
  const enter = async (join = false) => {
    setBusy(true)
    setError(undefined)
    try {
      const me = await post<Me>('/api/session', { link: search.token, ...(join ? { join } : {}) })
      // The secret must not stay in the address bar or the history.
      await beginAnew(me.setup ? '/start' : '/')
    } catch (caught) {
      setError(caught)
    } finally {
      setBusy(false)
    }
  }
  return (
    <Alone title={sayDoor('welcome')} lede={sayDoor('welcomeLede')}>
      <Show when={search.token} fallback={<p class="note bad">{sayDoor('noLink')}</p>}>
        <Show when={error()}>
          <Failed error={doorNo(error())} />
          <p>
            {sayDoor('linkOnce')}{' '}
            <ButtonLink kind="plain" href="/">
              {sayDoor('withPassword')}
            </ButtonLink>
          </p>
        </Show>
        <div>
          <Button kind="main" big pending={busy()} onClick={() => void enter()}>
            {sayDoor('openBook')}
          </Button>
        </div>
        <Show when={account()}>
          {(name) => (
            <div class="stack tight">
              <p>{sayDoor('signedInAs', { name: name() })}</p>
              <div>
                <Button big pending={busy()} onClick={() => void enter(true)}>
                  {sayDoor('sameForBoth')}
                </Button>
              </div>
            </div>
          )}
        </Show>
      </Show>
      <PhoneLimits phonesOnly />
    </Alone>
  )
}
