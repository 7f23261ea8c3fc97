import { createSignal, For, Show } from 'solid-js'
import { beginAnew } from '../anew.ts'
import { post } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { TextField } from '../parts/field.tsx'
import { Failed } from '../parts/states.tsx'
import type { Me } from '../queries.ts'
import { doorNo, sayDoor } from '../words/door.ts'
import { say } from '../words/words.ts'
import { Alone } from './alone.tsx'

type Seat = NonNullable<Me['device']>['seats'][number]

/** A shared phone in nobody's hand: whoever takes it taps their name and gives their number. */
export function WhoWorks(props: { readonly seats: readonly Seat[]; readonly other: () => void }) {
  const [seat, setSeat] = createSignal<Seat>()
  return (
    <Alone title={sayDoor('whoWorks')} lede={sayDoor('whoWorksLede')}>
      <Show
        when={seat()}
        keyed
        fallback={
          <ul class="seats">
            <For each={props.seats}>
              {(one) => (
                <li>
                  <Button big onClick={() => setSeat(one)}>
                    {one.name}
                  </Button>
                </li>
              )}
            </For>
          </ul>
        }
      >
        {(one) => <NumberForm seat={one} back={() => setSeat(undefined)} />}
      </Show>
      <p>
        <Button kind="plain" onClick={() => props.other()}>
          {sayDoor('somebodyElse')}
        </Button>
      </p>
    </Alone>
  )
}

export function NumberForm(props: { readonly seat: Seat; readonly back: () => void }) {
  const [pin, setPin] = createSignal('')
  const [error, setError] = createSignal<unknown>()
  const [busy, setBusy] = createSignal(false)
  const send = async () => {
    setBusy(true)
    setError(undefined)
    try {
      await post<Me>('/api/device/switch', { seat: props.seat.id, pin: pin() })
      await beginAnew()
    } catch (caught) {
      setError(caught)
      setPin('')
    } finally {
      setBusy(false)
    }
  }
  return (
    <form
      class="stack"
      onSubmit={(event) => {
        event.preventDefault()
        void send()
      }}
    >
      <TextField
        label={sayDoor('numberOf', { name: props.seat.name })}
        type="password"
        inputmode="numeric"
        autocomplete="off"
        value={pin()}
        onInput={setPin}
        maxLength={8}
        required
      />
      <Show when={error()}>
        <Failed error={doorNo(error())} />
      </Show>
      <div class="row">
        <Button kind="main" big type="submit" pending={busy()} disabled={!/^\d{4,8}$/.test(pin())}>
          {sayDoor('takePhone')}
        </Button>
        <Button big onClick={() => props.back()}>
          {say('back')}
        </Button>
      </div>
    </form>
  )
}
