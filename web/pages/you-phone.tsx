import { useQueryClient } from '@tanstack/solid-query'
import { createSignal, For, Show } from 'solid-js'
import { post } from '../api.ts'
import { useLock } from '../idle.ts'
import { Button } from '../parts/button.tsx'
import { TextField } from '../parts/field.tsx'
import { Folio } from '../parts/page-head.tsx'
import { Failed, wrongAt } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { type Me, useWrite } from '../queries.ts'
import { NumberForm } from './who-works.tsx'

type Seat = NonNullable<Me['device']>['seats'][number]

/** A phone that several people use: each stays on it behind a number, and takes it over with two taps. */
export function Phone(props: { readonly me: Me }) {
  const client = useQueryClient()
  const lock = useLock()
  const [pin, setPin] = createSignal('')
  const [seat, setSeat] = createSignal<Seat>()
  const stay = useWrite(() => post<Me>('/api/device', { pin: pin() }))
  const send = async () => {
    try {
      client.setQueryData(['me'], await stay.mutateAsync(undefined))
      setPin('')
      toast('You stay on this phone, behind your number.')
    } catch {
      // shown below
    }
  }
  return (
    <Folio
      title="Shared phone"
      note="For a phone that goes from hand to hand: what is told on it stands under the right name."
    >
      <Show when={props.me.device?.mine}>
        <div class="row">
          <Button kind="main" onClick={() => void lock()}>
            Lay the phone down
          </Button>
          <span class="quiet">It also locks by itself after five minutes.</span>
        </div>
      </Show>
      <Show when={props.me.device?.seats.length}>
        <Show
          when={seat()}
          keyed
          fallback={
            <div class="row">
              <span>Also on this phone:</span>
              <For each={props.me.device?.seats}>
                {(one) => <Button onClick={() => setSeat(one)}>{one.name}</Button>}
              </For>
            </div>
          }
        >
          {(one) => <NumberForm seat={one} back={() => setSeat(undefined)} />}
        </Show>
      </Show>
      <form
        class="stack"
        onSubmit={(event) => {
          event.preventDefault()
          void send()
        }}
      >
        <TextField
          label={props.me.device?.mine ? 'Another number' : 'Your number on this phone'}
          hint="4 to 8 digits. It opens nothing but this phone; after five wrong tries you sign in anew."
          type="password"
          inputmode="numeric"
          autocomplete="off"
          value={pin()}
          onInput={setPin}
          maxLength={8}
          wrong={wrongAt(stay.error, '#/pin')}
        />
        <Show when={stay.isError}>
          <Failed error={stay.error} />
        </Show>
        <div>
          <Button type="submit" pending={stay.isPending} disabled={!/^\d{4,8}$/.test(pin())}>
            {props.me.device?.mine ? 'Change the number' : 'Stay on this phone'}
          </Button>
        </div>
      </form>
    </Folio>
  )
}
