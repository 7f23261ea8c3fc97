import { createSignal, Show } from 'solid-js'
import { Temporal } from '../../api/time.ts'
import type { LotWire } from '../../api/wire.ts'
import { put } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { Dialog } from '../parts/dialog.tsx'
import { TextField } from '../parts/field.tsx'
import { Failed, wrongAt } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'
import { FruitFields } from './fruit-fields.tsx'

type Fruit = LotWire['fruit']

/** Names, picking day and fruit of a lot; or its end. Everything hangs on them, so everything is planned anew. */
export function LotEdit(props: { readonly lot: LotWire }) {
  const session = useSession()
  const [open, setOpen] = createSignal(false)
  const [names, setNames] = createSignal({ name: '', variety: '', block: '', place: '', pickOn: '' })
  const [fruit, setFruit] = createSignal<Partial<Fruit>>({})
  const begin = () => {
    const { name, variety, block, place, pickOn } = props.lot
    setNames({ name, variety, block, place, pickOn })
    setFruit({ ...props.lot.fruit })
    save.reset()
    setOpen(true)
  }
  const save = useWrite((ended: string | null | undefined) =>
    put(`/api/lots/${encodeURIComponent(props.lot.id)}`, {
      ...names(),
      vintage: props.lot.vintage,
      fruit: fruit(),
      ...(ended === undefined ? {} : { endedAt: ended }),
      version: props.lot.version,
    }),
  )
  const send = async (ended?: string | null) => {
    try {
      await save.mutateAsync(ended)
      toast(`${props.lot.code} is changed; its work is planned anew.`)
      setOpen(false)
    } catch {
      // shown in the dialog
    }
  }
  const now = () => Temporal.Instant.fromEpochMilliseconds(Math.floor(session.nowMs())).toString()
  return (
    <>
      <Button onClick={begin}>Change</Button>
      <Dialog open={open()} onClose={() => setOpen(false)} broad title={`${props.lot.code} ${props.lot.name}`}>
        <form
          class="stack"
          onSubmit={(event) => {
            event.preventDefault()
            void send()
          }}
        >
          <div class="columns">
            <TextField
              label="Name"
              value={names().name}
              onInput={(name) => setNames((was) => ({ ...was, name }))}
              required
              maxLength={80}
              wrong={wrongAt(save.error, '#/name')}
            />
            <TextField
              label="Variety"
              value={names().variety}
              onInput={(variety) => setNames((was) => ({ ...was, variety }))}
              required
              maxLength={80}
            />
            <TextField
              label="Block"
              value={names().block}
              onInput={(block) => setNames((was) => ({ ...was, block }))}
              maxLength={80}
            />
            <TextField
              label="Place"
              value={names().place}
              onInput={(place) => setNames((was) => ({ ...was, place }))}
              maxLength={80}
            />
            <TextField
              label="Picked on"
              type="date"
              value={names().pickOn}
              onInput={(pickOn) => setNames((was) => ({ ...was, pickOn }))}
              required
              wrong={wrongAt(save.error, '#/pickOn')}
            />
          </div>
          <FruitFields fruit={fruit()} change={(part) => setFruit((was) => ({ ...was, ...part }))} error={save.error} />
          <Show when={save.isError}>
            <Failed error={save.error} />
          </Show>
          <div class="row end">
            <Show
              when={props.lot.endedAt}
              fallback={
                <Button kind="danger" pending={save.isPending} onClick={() => void send(now())}>
                  The lot has ended
                </Button>
              }
            >
              <Button pending={save.isPending} onClick={() => void send(null)}>
                It has not ended
              </Button>
            </Show>
            <Button onClick={() => setOpen(false)}>Back</Button>
            <Button kind="main" type="submit" pending={save.isPending}>
              Keep
            </Button>
          </div>
        </form>
      </Dialog>
    </>
  )
}
