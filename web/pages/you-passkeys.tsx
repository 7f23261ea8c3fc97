import { useQueryClient } from '@tanstack/solid-query'
import { createSignal, For, Show } from 'solid-js'
import { post } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { TextField } from '../parts/field.tsx'
import { Folio } from '../parts/page-head.tsx'
import { Ask, Failed, wrongAt } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { canPasskey, makePasskey } from '../passkeys.ts'
import { type PasskeyWire, usePasskeys } from '../queries.ts'
import { type Person, useSession } from '../session.tsx'

/** The second step of signing in, for those who change plans: a passkey, and codes on paper in its place. */
export function Passkeys(props: { readonly person: Person }) {
  const session = useSession()
  const client = useQueryClient()
  const passkeys = usePasskeys()
  const [password, setPassword] = createSignal('')
  const [name, setName] = createSignal('')
  const [codes, setCodes] = createSignal<readonly string[]>()
  const [error, setError] = createSignal<unknown>()
  const [busy, setBusy] = createSignal(false)
  const fresh = () =>
    Promise.all([client.invalidateQueries({ queryKey: ['me'] }), client.invalidateQueries({ queryKey: ['passkeys'] })])
  const run = async (work: () => Promise<void>) => {
    setBusy(true)
    setError(undefined)
    try {
      await work()
      setPassword('')
      await fresh()
    } catch (caught) {
      setError(caught)
    } finally {
      setBusy(false)
    }
  }
  const add = () =>
    run(async () => {
      await makePasskey(name().trim(), password())
      setName('')
      toast('The passkey is kept. From now on your password alone opens nothing.')
    })
  const drop = (key: PasskeyWire) =>
    run(async () => {
      await post(`/api/me/passkeys/${encodeURIComponent(key.id)}/remove`, { current: password() })
      toast(`“${key.name}” opens nothing any more.`)
    })
  const print = () =>
    run(async () => {
      const made = await post<{ codes: string[] }>('/api/me/recovery-codes', { current: password() })
      setCodes(made.codes)
    })
  return (
    <Folio
      title="Passkeys"
      note={
        session.leads()
          ? 'You change plans and doses: let a password alone not be enough.'
          : 'A second step beside your password, if you wish.'
      }
    >
      <Show
        when={props.person.hasPassword}
        fallback={<p class="note">Set a password first: a passkey stands behind it.</p>}
      >
        <Ask query={passkeys} what="your passkeys">
          {(answer) => (
            <ul class="lines">
              <For each={answer().passkeys} fallback={<li class="quiet">No passkey yet.</li>}>
                {(key) => (
                  <li class="row">
                    <span class="grow">
                      {key.name}
                      <span class="small quiet">
                        {' '}
                        since {session.format().moment(key.createdAt)}
                        {key.usedAt ? `, last used ${session.format().moment(key.usedAt)}` : ''}
                      </span>
                    </span>
                    <Button kind="danger" pending={busy()} disabled={password() === ''} onClick={() => void drop(key)}>
                      Take away
                    </Button>
                  </li>
                )}
              </For>
            </ul>
          )}
        </Ask>
        <Show when={canPasskey()} fallback={<p class="note">This browser knows no passkeys.</p>}>
          <form
            class="stack"
            onSubmit={(event) => {
              event.preventDefault()
              void add()
            }}
          >
            <input type="text" autocomplete="username" value={props.person.signInName ?? ''} readOnly hidden />
            <div class="columns">
              <TextField
                label="Your password, once more"
                hint="For each change below and above."
                type="password"
                autocomplete="current-password"
                value={password()}
                onInput={setPassword}
                wrong={wrongAt(error(), '#/current')}
              />
              <TextField
                label="Name of the new passkey"
                hint="Of the device: my phone"
                value={name()}
                onInput={setName}
                maxLength={60}
                wrong={wrongAt(error(), '#/name')}
              />
            </div>
            <Show when={error()}>
              <Failed error={error()} />
            </Show>
            <div class="row">
              <Button kind="main" type="submit" pending={busy()} disabled={password() === '' || name().trim() === ''}>
                Add a passkey
              </Button>
              <Button
                pending={busy()}
                disabled={password() === '' || props.person.passkeys === 0}
                onClick={() => void print()}
              >
                New recovery codes
              </Button>
            </div>
          </form>
        </Show>
        <p class="quiet">
          {props.person.recoveryCodes === 0
            ? 'No recovery codes: with the passkey lost, an owner has to take the second step away.'
            : `${props.person.recoveryCodes} recovery codes are left.`}
        </p>
        <Show when={codes()}>{(list) => <Codes codes={list()} name={props.person.signInName ?? ''} />}</Show>
      </Show>
    </Folio>
  )
}

/** The only time the codes are on a screen. */
function Codes(props: { readonly codes: readonly string[]; readonly name: string }) {
  return (
    <section class="note caution stack codes" role="status" aria-label="Recovery codes">
      <h3>Recovery codes of {props.name}</h3>
      <p>
        Each stands for your passkey once. They are shown <b>only now</b>: print them, and keep the sheet where you keep
        keys.
      </p>
      <ol>
        <For each={props.codes}>{(code) => <li class="code">{code}</li>}</For>
      </ol>
      <div class="no-print">
        <Button onClick={() => window.print()}>Print</Button>
      </div>
    </section>
  )
}
