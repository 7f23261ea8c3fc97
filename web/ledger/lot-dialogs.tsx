import { createSignal, Show } from 'solid-js'
import type { LotRefWire } from '../../api/wire.ts'
import { post } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { Dialog } from '../parts/dialog.tsx'
import { TextField } from '../parts/field.tsx'
import { Failed, wrongAt } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { useWrite } from '../queries.ts'

const pathOf = (lot: LotRefWire, act: string) => `/api/ledger/lots/${encodeURIComponent(lot.id)}/${act}`

/** Another name for the same wine; its code and its past stay. */
export function RenameDialog(props: { readonly lot: LotRefWire; readonly close: () => void }) {
  const [name, setName] = createSignal(props.lot.name)
  const [reason, setReason] = createSignal('')
  const save = useWrite(() =>
    post(pathOf(props.lot, 'rename'), {
      opId: crypto.randomUUID(),
      name: name().trim(),
      ...(reason().trim() ? { reason: reason().trim() } : {}),
    }),
  )
  const send = async () => {
    try {
      await save.mutateAsync(undefined)
      toast(`${props.lot.code} is now called ${name().trim()}.`)
      props.close()
    } catch {
      // shown below
    }
  }
  return (
    <Dialog open onClose={props.close} title={`Rename ${props.lot.code}`}>
      <form
        class="stack"
        onSubmit={(event) => {
          event.preventDefault()
          void send()
        }}
      >
        <TextField
          label="Name"
          value={name()}
          onInput={setName}
          required
          maxLength={80}
          wrong={wrongAt(save.error, '#/name')}
        />
        <TextField label="Why" value={reason()} onInput={setReason} maxLength={500} />
        <Show when={save.error}>{(error) => <Failed error={error()} />}</Show>
        <div class="row end">
          <Button onClick={props.close}>Back</Button>
          <Button kind="main" type="submit" pending={save.isPending} disabled={name().trim() === ''}>
            Rename
          </Button>
        </div>
      </form>
    </Dialog>
  )
}

/** A barred lot tops no other until somebody lifts it; both with a reason. */
export function FlagDialog(props: {
  readonly lot: LotRefWire
  readonly isBarred: boolean
  readonly close: () => void
}) {
  const [reason, setReason] = createSignal('')
  const save = useWrite(() => post(pathOf(props.lot, 'quarantine'), { on: !props.isBarred, reason: reason().trim() }))
  const send = async () => {
    try {
      await save.mutateAsync(undefined)
      toast(props.isBarred ? `${props.lot.code} may top again.` : `${props.lot.code} is barred from topping others.`)
      props.close()
    } catch {
      // shown below
    }
  }
  return (
    <Dialog
      open
      onClose={props.close}
      title={props.isBarred ? `Let ${props.lot.code} top again` : `Bar ${props.lot.code}`}
      description={
        props.isBarred
          ? 'It may then go into other wine again.'
          : 'It may then not go into other wine, until somebody lifts it.'
      }
    >
      <form
        class="stack"
        onSubmit={(event) => {
          event.preventDefault()
          void send()
        }}
      >
        <TextField
          label="Why"
          value={reason()}
          onInput={setReason}
          required
          maxLength={500}
          wrong={wrongAt(save.error, '#/reason')}
        />
        <Show when={save.error}>{(error) => <Failed error={error()} />}</Show>
        <div class="row end">
          <Button onClick={props.close}>Back</Button>
          <Button kind="main" type="submit" pending={save.isPending} disabled={reason().trim() === ''}>
            {props.isBarred ? 'Lift it' : 'Bar it'}
          </Button>
        </div>
      </form>
    </Dialog>
  )
}
