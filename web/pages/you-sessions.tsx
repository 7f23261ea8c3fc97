import { For, Show } from 'solid-js'
import { remove } from '../api.ts'
import { deviceWords } from '../device-words.ts'
import { Button } from '../parts/button.tsx'
import { Ask, Failed } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { useSessions, useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'

const BY = { link: 'by link', password: 'by password', passkey: 'by passkey' } as const

/** Where one is signed in, each to be ended, or all but this one. */
export function Sessions() {
  const session = useSession()
  const sessions = useSessions()
  const end = useWrite((id: string) => remove(`/api/me/sessions${id && `/${encodeURIComponent(id)}`}`))
  const stop = async (id: string, words: string) => {
    try {
      await end.mutateAsync(id)
      toast(words)
    } catch {
      // shown below
    }
  }
  return (
    <>
      <Ask query={sessions} what="where you are signed in">
        {(answer) => (
          <>
            <table class="ledger folds">
              <thead>
                <tr>
                  <th>Device</th>
                  <th>Since</th>
                  <th>Last seen</th>
                  <th>
                    <span class="visually-hidden">What can be done</span>
                  </th>
                </tr>
              </thead>
              <tbody>
                <For each={answer().sessions}>
                  {(one) => (
                    <tr>
                      <th scope="row">
                        {deviceWords(one.client)}
                        <div class="small quiet">
                          {BY[one.proof]}
                          {one.shared ? ', on a shared phone' : ''}
                        </div>
                      </th>
                      <td>{session.format().moment(one.createdAt)}</td>
                      <td>{one.here ? 'here, now' : session.format().moment(one.seenAt)}</td>
                      <td>
                        <Show when={!one.here}>
                          <Button
                            kind="danger"
                            pending={end.isPending}
                            onClick={() => void stop(one.id, 'Signed out there.')}
                          >
                            End
                          </Button>
                        </Show>
                      </td>
                    </tr>
                  )}
                </For>
              </tbody>
            </table>
            <Show when={answer().sessions.length > 1}>
              <div>
                <Button pending={end.isPending} onClick={() => void stop('', 'Signed out everywhere else.')}>
                  Sign out everywhere else
                </Button>
              </div>
            </Show>
          </>
        )}
      </Ask>
      <Show when={end.isError}>
        <Failed error={end.error} />
      </Show>
    </>
  )
}
