import { createSignal, Show } from 'solid-js'
import type { Choices } from '../../api/protocol/choices.ts'
import { post } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { Dialog } from '../parts/dialog.tsx'
import { TextField } from '../parts/field.tsx'
import { Failed } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'

/** Keeps a set of answers under a name, to be copied to other lots. */
export function KeepProtocol(props: { readonly choices: Choices; readonly suggested: string }) {
  const session = useSession()
  const [open, setOpen] = createSignal(false)
  const [name, setName] = createSignal('')
  const save = useWrite((given: string) => post('/api/protocols', { name: given, choices: props.choices }))
  const send = async () => {
    try {
      await save.mutateAsync(name().trim())
      toast(`Kept as protocol “${name().trim()}”.`)
      setOpen(false)
    } catch {
      // shown in the dialog
    }
  }
  return (
    <Show when={session.leads()}>
      <Button
        onClick={() => {
          setName(props.suggested)
          setOpen(true)
        }}
      >
        Keep as protocol
      </Button>
      <Dialog
        open={open()}
        onClose={() => setOpen(false)}
        title="Keep as protocol"
        description="Its answers can then be copied to any lot."
      >
        <form
          class="stack"
          onSubmit={(event) => {
            event.preventDefault()
            void send()
          }}
        >
          <TextField label="Name" value={name()} onInput={setName} required maxLength={80} />
          <Show when={save.isError}>
            <Failed error={save.error} />
          </Show>
          <div class="row end">
            <Button onClick={() => setOpen(false)}>Back</Button>
            <Button kind="main" type="submit" pending={save.isPending} disabled={name().trim() === ''}>
              Keep
            </Button>
          </div>
        </form>
      </Dialog>
    </Show>
  )
}
