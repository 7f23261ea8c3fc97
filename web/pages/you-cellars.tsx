import { createSignal, For, Show } from 'solid-js'
import { beginAnew } from '../anew.ts'
import { post } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { TextField } from '../parts/field.tsx'
import { Folio } from '../parts/page-head.tsx'
import { Failed } from '../parts/states.tsx'
import { type Me, useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'
import { ROLE_WORDS } from '../words.ts'

/** Goes to another cellar: everything on screen belongs to the one before. */
async function goTo(cellar: string): Promise<void> {
  await post<Me>('/api/me/cellar', { cellar })
  await beginAnew()
}

/** The cellars one works in, and one more beside them for an owner. */
export function Cellars(props: { readonly me: Me }) {
  const session = useSession()
  const [name, setName] = createSignal('')
  const go = useWrite((cellar: string) => goTo(cellar))
  const make = useWrite(async () => {
    const { hemisphere, vintage, zone, units, sugarUnit, language } = session.cellar()
    const made = await post<{ id: string }>('/api/cellars', {
      ...{ hemisphere, vintage, zone, units, sugarUnit, language },
      name: name().trim(),
    })
    await goTo(made.id)
  })
  const others = () => props.me.cellars.filter((one) => one.id !== props.me.cellar?.id)
  const isOwner = () => props.me.person?.role === 'owner'
  return (
    <Show when={others().length > 0 || isOwner()}>
      <Folio title="Cellars" note="One name and password for all you work in.">
        <Show when={others().length > 0}>
          <div class="row">
            <For each={others()}>
              {(one) => (
                <Button pending={go.isPending} onClick={() => go.mutate(one.id)}>
                  Go to {one.name}, as {ROLE_WORDS[one.role].toLowerCase()}
                </Button>
              )}
            </For>
          </div>
        </Show>
        <Show when={isOwner()}>
          <form
            class="row end-line"
            onSubmit={(event) => {
              event.preventDefault()
              make.mutate(undefined)
            }}
          >
            <TextField
              label="Name of another cellar"
              hint="A book of its own, with the settings of this one to begin with."
              value={name()}
              onInput={setName}
              maxLength={80}
            />
            <Button type="submit" pending={make.isPending} disabled={name().trim() === ''}>
              Make it
            </Button>
          </form>
        </Show>
        <Show when={go.error ?? make.error}>{(error) => <Failed error={error()} />}</Show>
      </Folio>
    </Show>
  )
}
