import { useQueryClient } from '@tanstack/solid-query'
import { createSignal, Show } from 'solid-js'
import { put } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { TextField } from '../parts/field.tsx'
import { Failed, wrongAt } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { useMe, useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'

/** Sets or changes one's own password; the session that does so goes on, all others end. */
export function PasswordForm() {
  const session = useSession()
  const client = useQueryClient()
  const me = useMe()
  const [current, setCurrent] = createSignal('')
  const [password, setPassword] = createSignal('')
  const person = () => (me.dataUpdatedAt > 0 && me.data?.person) || session.person()
  const save = useWrite(() =>
    put('/api/me/password', { next: password(), ...(person().hasPassword ? { current: current() } : {}) }),
  )
  const send = async () => {
    try {
      await save.mutateAsync(undefined)
      setCurrent('')
      setPassword('')
      await client.invalidateQueries({ queryKey: ['me'] })
      toast('Your password is set; everywhere else you are signed out.')
    } catch {
      // shown below
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
      <Show when={person().signInName}>
        {(name) => (
          <p>
            You sign in as <b>{name()}</b>.
          </p>
        )}
      </Show>
      <input type="text" autocomplete="username" value={person().signInName ?? person().name} readOnly hidden />
      <div class="columns">
        <Show when={person().hasPassword}>
          <TextField
            label="Password now"
            type="password"
            autocomplete="current-password"
            value={current()}
            onInput={setCurrent}
            required
            wrong={wrongAt(save.error, '#/current')}
          />
        </Show>
        <TextField
          label="New password"
          type="password"
          hint={
            person().passkeys > 0
              ? '8 signs or more, as a passkey stands behind it.'
              : '15 signs or more: a few plain words of your own.'
          }
          autocomplete="new-password"
          value={password()}
          onInput={setPassword}
          required
          wrong={wrongAt(save.error, '#/next')}
        />
      </div>
      <Show when={save.isError}>
        <Failed error={save.error} />
      </Show>
      <div>
        <Button type="submit" pending={save.isPending} disabled={password() === ''}>
          Set the password
        </Button>
      </div>
    </form>
  )
}
