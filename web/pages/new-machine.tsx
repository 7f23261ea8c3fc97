import { createSignal, Show } from 'solid-js'
import { post } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { Dialog } from '../parts/dialog.tsx'
import { NumberField, Select, TextField } from '../parts/field.tsx'
import { Failed, wrongAt } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { useWrite } from '../queries.ts'
import { optionsFrom } from '../words.ts'
import { ADDED, type AddedKind, CAPACITY } from './machine-words.ts'
import { SiteField } from './site-fields.tsx'

/** A machine that the usual set lacks: picking bins, a second pump. */
export function NewMachine(props: { readonly onClose: () => void }) {
  const [kind, setKind] = createSignal<AddedKind>('bins')
  const [code, setCode] = createSignal('')
  const [name, setName] = createSignal('')
  const [capacity, setCapacity] = createSignal<number | undefined>()
  const [site, setSite] = createSignal('')
  const means = () => CAPACITY[kind()]
  const save = useWrite(() =>
    post('/api/machines', {
      code: code().trim(),
      kind: kind(),
      name: name().trim() || ADDED[kind()],
      ...(means() ? { capacity: capacity() } : {}),
      ...(site() ? { site: site() } : {}),
    }),
  )
  const send = async () => {
    try {
      await save.mutateAsync(undefined)
      toast(`${code().trim()} is in the book.`)
      props.onClose()
    } catch {
      // shown below
    }
  }
  return (
    <Dialog open onClose={props.onClose} title="New machine">
      <form
        class="stack"
        onSubmit={(event) => {
          event.preventDefault()
          void send()
        }}
      >
        <div class="columns">
          <Select label="Kind" value={kind()} options={optionsFrom(ADDED)} onInput={setKind} />
          <TextField
            label="Code"
            hint="As painted on it"
            value={code()}
            maxLength={16}
            required
            onInput={setCode}
            wrong={wrongAt(save.error, '#/code')}
          />
          <TextField label="Name" hint={`Empty: ${ADDED[kind()]}`} value={name()} maxLength={80} onInput={setName} />
          <Show when={means()}>
            {(figure) => (
              <NumberField
                label={figure().label}
                unit={figure().unit}
                value={capacity()}
                min={0.1}
                max={1_000_000}
                required
                onInput={setCapacity}
                wrong={wrongAt(save.error, '#/capacity')}
              />
            )}
          </Show>
          <SiteField value={site()} onInput={setSite} wrong={wrongAt(save.error, '#/site')} />
        </div>
        <Show when={save.isError}>
          <Failed error={save.error} />
        </Show>
        <div class="row end">
          <Button onClick={props.onClose}>Back</Button>
          <Button
            kind="main"
            type="submit"
            pending={save.isPending}
            disabled={code().trim() === '' || (means() !== undefined && capacity() === undefined)}
          >
            Keep
          </Button>
        </div>
      </form>
    </Dialog>
  )
}
