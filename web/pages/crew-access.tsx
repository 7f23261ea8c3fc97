/** Ways in of the crew: links that are open, people who left, a lost phone. */
import { createSignal, For, Show } from 'solid-js'
import type { PersonWire } from '../../api/wire.ts'
import { post, remove } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { Select } from '../parts/field.tsx'
import { Folio } from '../parts/page-head.tsx'
import { QrCode } from '../parts/qr-code.tsx'
import { Ask, Failed } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { useInvitations, useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'

const personPath = (id: string, act: string) => `/api/people/${encodeURIComponent(id)}/${act}`

/** A code for the camera of the phone that is to come in; or a link to send. */
export function LinkMaker(props: { readonly person: PersonWire }) {
  const session = useSession()
  const [hours, setHours] = createSignal<'1' | '24'>('1')
  const make = useWrite(() =>
    post<{ link: string; expiresAt: string }>(personPath(props.person.id, 'link'), { hours: Number(hours()) }),
  )
  return (
    <section class="stack">
      <h3>Sign-in link</h3>
      <p class="quiet">
        Let {props.person.name} point a phone’s camera at the code: it signs in once, without typing. It is shown only
        now.
      </p>
      <Show
        when={make.data}
        fallback={
          <div class="row end-line">
            <Select
              label="Works for"
              value={hours()}
              options={[
                { value: '1', label: 'An hour, to scan here' },
                { value: '24', label: 'A day, to send' },
              ]}
              onInput={setHours}
            />
            <Button pending={make.isPending} onClick={() => make.mutate(undefined)}>
              Make a link
            </Button>
          </div>
        }
      >
        {(made) => (
          <div class="row top">
            <QrCode text={made().link} label={`QR code that signs ${props.person.name} in`} />
            <div class="grow stack tight">
              <p class="code">{made().link}</p>
              <p class="quiet">Until {session.format().moment(made().expiresAt)}.</p>
            </div>
          </div>
        )}
      </Show>
      <Show when={make.isError}>
        <Failed error={make.error} />
      </Show>
    </section>
  )
}

/** Signs a person out everywhere, takes a lost second step away, takes the person out of the cellar. */
export function WaysOut(props: { readonly person: PersonWire; readonly close: () => void }) {
  const session = useSession()
  const [sure, setSure] = createSignal(false)
  const act = useWrite((work: () => Promise<unknown>) => work())
  const run = async (work: () => Promise<unknown>, words: string) => {
    try {
      await act.mutateAsync(work)
      toast(words)
      props.close()
    } catch {
      // shown below
    }
  }
  const held = () => ({ version: props.person.version })
  const name = () => props.person.name
  return (
    <section class="stack">
      <h3>Ways in</h3>
      <Show
        when={!props.person.removedAt}
        fallback={
          <div class="row">
            <span>{name()} is not here any more; what they did stays in the book.</span>
            <Button
              pending={act.isPending}
              onClick={() => void run(() => post(personPath(props.person.id, 'return'), held()), `${name()} is back.`)}
            >
              Bring back
            </Button>
          </div>
        }
      >
        <div class="row">
          <Button
            pending={act.isPending}
            onClick={() =>
              void run(() => remove(personPath(props.person.id, 'sessions')), `${name()} is signed out everywhere.`)
            }
          >
            Sign out everywhere
          </Button>
          <Show when={session.person().role === 'owner'}>
            <Button
              pending={act.isPending}
              onClick={() =>
                void run(
                  () => remove(personPath(props.person.id, 'second-step')),
                  `${name()} signs in with the password alone until there is a new passkey.`,
                )
              }
            >
              Passkey lost: take the second step away
            </Button>
          </Show>
          <Show
            when={sure()}
            fallback={
              <Button kind="danger" onClick={() => setSure(true)}>
                Remove from the cellar
              </Button>
            }
          >
            <Button
              kind="danger"
              pending={act.isPending}
              onClick={() =>
                void run(
                  () => post(personPath(props.person.id, 'remove'), held()),
                  `${name()} is out; the work is dealt anew.`,
                )
              }
            >
              Yes, {name()} leaves: signed out now, no more work
            </Button>
            <Button onClick={() => setSure(false)}>No</Button>
          </Show>
        </div>
      </Show>
      <Show when={act.isError}>
        <Failed error={act.error} />
      </Show>
    </section>
  )
}

/** Links that still sign somebody in. */
export function OpenLinks(props: { readonly people: readonly PersonWire[] }) {
  const session = useSession()
  const open = useInvitations()
  const revoke = useWrite((id: string) => remove(`/api/invitations/${encodeURIComponent(id)}`))
  const nameOf = (id: string) => props.people.find((person) => person.id === id)?.name ?? id
  const kill = async (id: string) => {
    try {
      await revoke.mutateAsync(id)
      toast('The link is dead.')
    } catch {
      // shown below
    }
  }
  return (
    <Folio title="Open links" note="Each signs one person in, once. What you did not mean to give, revoke.">
      <Ask query={open} what="the open links">
        {(answer) => (
          <ul class="lines">
            <For each={answer().invitations} fallback={<li class="quiet">None.</li>}>
              {(one) => (
                <li class="row">
                  <span class="grow">
                    {nameOf(one.personId)}
                    <span class="small quiet">
                      {' '}
                      until {session.format().moment(one.expiresAt)}, made by{' '}
                      {one.madeBy ? nameOf(one.madeBy) : 'the server at its start'}
                    </span>
                  </span>
                  <Button kind="danger" pending={revoke.isPending} onClick={() => void kill(one.id)}>
                    Revoke
                  </Button>
                </li>
              )}
            </For>
          </ul>
        )}
      </Ask>
      <Show when={revoke.isError}>
        <Failed error={revoke.error} />
      </Show>
    </Folio>
  )
}
