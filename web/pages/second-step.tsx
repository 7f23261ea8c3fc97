import { useQueryClient } from '@tanstack/solid-query'
import { createSignal, Show } from 'solid-js'
import { post, remove } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { TextField } from '../parts/field.tsx'
import { Failed } from '../parts/states.tsx'
import { showPasskey } from '../passkeys.ts'
import type { Me } from '../queries.ts'
import { doorNo, sayDoor } from '../words/door.ts'
import { Alone } from './alone.tsx'

/** The password was right; a passkey, or a code on paper in its place, opens the book. */
export function SecondStep(props: { readonly second: NonNullable<Me['second']> }) {
  const client = useQueryClient()
  const [code, setCode] = createSignal('')
  const [error, setError] = createSignal<unknown>()
  const [busy, setBusy] = createSignal(false)
  const take = async (way: () => Promise<Me>) => {
    setBusy(true)
    setError(undefined)
    try {
      client.setQueryData(['me'], await way())
    } catch (caught) {
      setError(caught)
    } finally {
      setBusy(false)
    }
  }
  const anew = async () => {
    await remove('/api/session').catch(() => undefined)
    client.setQueryData<Me>(['me'], (me) => me && { ...me, second: undefined })
  }
  return (
    <Alone title={sayDoor('secondStep')} lede={sayDoor('secondLede')}>
      <Show when={props.second.passkey} fallback={<p class="note">{sayDoor('noPasskeyHere')}</p>}>
        {(passkey) => (
          <div>
            <Button kind="main" big pending={busy()} onClick={() => void take(() => showPasskey(passkey()))}>
              {sayDoor('usePasskey')}
            </Button>
          </div>
        )}
      </Show>
      <form
        class="stack"
        onSubmit={(event) => {
          event.preventDefault()
          void take(() => post<Me>('/api/session/second', { code: code() }))
        }}
      >
        <TextField
          label={sayDoor('orCode')}
          hint={sayDoor('orCodeHint')}
          autocomplete="one-time-code"
          value={code()}
          onInput={setCode}
          maxLength={60}
        />
        <div class="row">
          <Button type="submit" pending={busy()} disabled={code().trim() === ''}>
            {sayDoor('useCode')}
          </Button>
          <Button kind="plain" onClick={() => void anew()}>
            {sayDoor('beginAgain')}
          </Button>
        </div>
      </form>
      <Show when={error()}>
        <Failed error={doorNo(error())} />
      </Show>
    </Alone>
  )
}
