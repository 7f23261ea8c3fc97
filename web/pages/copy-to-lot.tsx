import { createSignal, Show } from 'solid-js'
import { defaultsFor, differences } from '../../api/protocol/defaults.ts'
import { put } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { Dialog } from '../parts/dialog.tsx'
import { Select } from '../parts/field.tsx'
import { Failed } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { type ProtocolWire, useLots, useWrite } from '../queries.ts'

/** Gives a lot this protocol's answers, except the day its finish is booked for. */
export function CopyToLot(props: { readonly protocol: ProtocolWire }) {
  const lots = useLots()
  const [open, setOpen] = createSignal(false)
  const [chosen, setChosen] = createSignal('')
  const living = () => ((lots.dataUpdatedAt > 0 && lots.data?.lots) || []).filter((lot) => !lot.endedAt)
  const lot = () => living().find((entry) => entry.id === chosen())
  const copied = () => ({
    ...props.protocol.choices,
    finishOn: lot()?.choices.finishOn ?? props.protocol.choices.finishOn,
  })
  const count = () => {
    const target = lot()
    return target ? differences(copied(), { ...defaultsFor(target.choices.style), ...target.choices }).length : 0
  }
  const save = useWrite(() =>
    put(`/api/lots/${encodeURIComponent(chosen())}/choices`, {
      choices: copied(),
      signed: [],
      version: lot()?.choicesVersion,
    }),
  )
  const send = async () => {
    try {
      await save.mutateAsync(undefined)
      toast(`${lot()?.code} now follows a copy of “${props.protocol.name}”.`)
      setOpen(false)
    } catch {
      // shown in the dialog
    }
  }
  return (
    <>
      <Button onClick={() => setOpen(true)}>Copy to a lot</Button>
      <Dialog
        open={open()}
        onClose={() => setOpen(false)}
        title={`Copy “${props.protocol.name}” to a lot`}
        description="What is done stays done; what is still to do is planned anew."
      >
        <form
          class="stack"
          onSubmit={(event) => {
            event.preventDefault()
            void send()
          }}
        >
          <Select
            label="Lot"
            value={chosen()}
            options={[
              { value: '', label: 'Choose' },
              ...living().map((entry) => ({ value: entry.id, label: `${entry.code} ${entry.name}` })),
            ]}
            onInput={setChosen}
          />
          <Show when={lot()}>
            <p>{count()} answers would change.</p>
          </Show>
          <Show when={save.isError}>
            <Failed error={save.error} />
          </Show>
          <div class="row end">
            <Button onClick={() => setOpen(false)}>Back</Button>
            <Button kind="main" type="submit" pending={save.isPending} disabled={!lot()}>
              Copy
            </Button>
          </div>
        </form>
      </Dialog>
    </>
  )
}
