import { useQueryClient } from '@tanstack/solid-query'
import { createSignal, Match, Show, Switch } from 'solid-js'
import { post } from '../api.ts'
import { LeftHere } from '../offline/left-here.tsx'
import { PhoneLimits } from '../offline/limits.tsx'
import { Button } from '../parts/button.tsx'
import { TextField } from '../parts/field.tsx'
import { Failed } from '../parts/states.tsx'
import { type Me, useMe } from '../queries.ts'
import { doorNo, sayDoor } from '../words/door.ts'
import { Alone } from './alone.tsx'
import { SecondStep } from './second-step.tsx'
import { WhoWorks } from './who-works.tsx'

/** The way in: the second step where the first is done, who is on a shared phone, else name and password. */
export function SignIn() {
  const me = useMe()
  const [other, setOther] = createSignal(false)
  const now = () => (me.dataUpdatedAt > 0 ? me.data : undefined)
  const seats = () => now()?.device?.seats ?? []
  return (
    <Switch fallback={<NameAndPassword />}>
      <Match when={now()?.second}>{(second) => <SecondStep second={second()} />}</Match>
      <Match when={!other() && seats().length > 0}>
        <WhoWorks seats={seats()} other={() => setOther(true)} />
      </Match>
    </Switch>
  )
}

/** Name and password; or how to get in without one. */
function NameAndPassword() {
  const client = useQueryClient()
  const [name, setName] = createSignal('')
  const [password, setPassword] = createSignal('')
  const [error, setError] = createSignal<unknown>()
  const [busy, setBusy] = createSignal(false)
  const send = async () => {
    setBusy(true)
    setError(undefined)
    try {
      client.setQueryData(['me'], await post<Me>('/api/session', { name: name(), password: password() }))
    } catch (caught) {
      setError(caught)
    } finally {
      setBusy(false)
    }
  }
  return (
    <Alone title={sayDoor('signIn')} lede={sayDoor('signInLede')}>
      <form
        class="stack"
        onSubmit={(event) => {
          event.preventDefault()
          void send()
        }}
      >
        <TextField label={sayDoor('name')} value={name()} onInput={setName} autocomplete="username" required />
        <TextField
          label={sayDoor('password')}
          type="password"
          value={password()}
          onInput={setPassword}
          autocomplete="current-password"
          required
        />
        <Show when={error()}>
          <Failed error={doorNo(error())} />
        </Show>
        <div>
          <Button kind="main" big type="submit" pending={busy()} disabled={name() === '' || password() === ''}>
            {sayDoor('signIn')}
          </Button>
        </div>
      </form>
      <p class="prose quiet">{sayDoor('noPassword')}</p>
      <LeftHere />
      <PhoneLimits phonesOnly />
    </Alone>
  )
}
