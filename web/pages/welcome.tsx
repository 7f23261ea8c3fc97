import { useSearchParams } from '@solidjs/router'
import { createSignal, onMount, Show } from 'solid-js'
import { beginAnew } from '../anew.ts'
import { post } from '../api.ts'
import { PhoneLimits } from '../offline/limits.tsx'
import { Button, ButtonLink } from '../parts/button.tsx'
import { Failed } from '../parts/states.tsx'
import { type Me, useMe } from '../queries.ts'
import { Alone } from './alone.tsx'

/** The one-time link: it is spent on a tap, not on arrival, so that a previewer cannot use it up. */
export function Welcome() {
  const [search] = useSearchParams<{ token?: string }>()
  const [error, setError] = createSignal<unknown>()
  const [busy, setBusy] = createSignal(false)
  onMount(() => {
    document.title = 'Welcome – Leesway'
  })
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
    <Alone title="Welcome" lede="This link opens the cellar’s book once, on this device.">
      <Show
        when={search.token}
        fallback={
          <p class="note bad">
            The address holds no link. Copy it whole, as it was printed or shown, up to its last sign.
          </p>
        }
      >
        <Show when={error()}>
          <Failed error={error()} />
          <p>
            A link works once, and only for a day. Ask the winemaker for another, or{' '}
            <ButtonLink kind="plain" href="/">
              sign in with a password
            </ButtonLink>
            .
          </p>
        </Show>
        <div>
          <Button kind="main" big pending={busy()} onClick={() => void enter()}>
            Open the book
          </Button>
        </div>
        <Show when={account()}>
          {(name) => (
            <div class="stack tight">
              <p>
                You are signed in here as <b>{name()}</b>. Is this your own invitation to another cellar?
              </p>
              <div>
                <Button big pending={busy()} onClick={() => void enter(true)}>
                  Yes: the same name and password for both
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
