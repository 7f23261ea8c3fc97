import { createSignal, Show } from 'solid-js'
import type { MovementWire } from '../../api/wire.ts'
import { wallOfMoment } from '../format.ts'
import { Button } from '../parts/button.tsx'
import { Dialog } from '../parts/dialog.tsx'
import { Options, TextField } from '../parts/field.tsx'
import { Failed, wrongAt } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'
import { EnteredNote } from './entered-note.tsx'
import { BLANK_ENTRY, bodyOf, type Entry, type EntryKind, wrongOf } from './entry.ts'
import { EntryFields } from './entry-fields.tsx'
import { type Sent, sendEntry, useStock } from './queries.ts'
import { sayLitres, sayMovement } from './words.ts'

/** Takes a wrong entry back by one against it, and writes what truly happened. Both stay in the book. */
export function CorrectDialog(props: { readonly movement: MovementWire; readonly close: () => void }) {
  const session = useSession()
  const format = session.format
  const [reason, setReason] = createSignal('')
  const [how, setHow] = createSignal<'never' | 'otherwise'>('otherwise')
  const [entry, setEntry] = createSignal<Entry>(entryFrom(props.movement, session.cellar().zone))
  const [tried, setTried] = createSignal(false)
  const stock = useStock()
  const held = () => (stock.dataUpdatedAt > 0 ? stock.data : undefined)
  const look = useWrite((sent: Sent) => sendEntry(sent))
  const write = useWrite((sent: Sent) => sendEntry(sent))
  const change = (part: Partial<Entry>) => {
    look.reset()
    write.reset()
    setEntry((now) => ({ ...now, ...part }))
  }
  // What the vessels hold now says nothing of what they held then, so only what is missing stands in the way.
  const isReady = () =>
    reason().trim() !== '' &&
    (how() === 'never' ||
      Object.keys(wrongOf(entry(), undefined, (volumeL) => sayLitres(format(), volumeL))).length === 0)
  const sent = (preview: boolean): Sent => ({
    path: `/movements/${props.movement.id}/correct`,
    body: { reason: reason().trim(), ...(how() === 'otherwise' ? { instead: bodyOf(entry(), true) } : {}) },
    preview,
  })
  const send = async (preview: boolean) => {
    setTried(true)
    if (!isReady()) return
    try {
      if (preview) await look.mutateAsync(sent(true))
      else {
        await write.mutateAsync(sent(false))
        toast('Corrected. The wrong entry stays in the book, struck through.')
        props.close()
      }
    } catch {
      // shown below
    }
  }
  return (
    <Dialog
      open
      broad
      onClose={props.close}
      title="Correct a movement"
      description={`${format().moment(props.movement.at)}: ${sayMovement(format(), props.movement)}`}
    >
      <form
        class="stack"
        onSubmit={(event) => {
          event.preventDefault()
          void send(false)
        }}
      >
        <TextField
          label="Why it was wrong"
          value={reason()}
          onInput={setReason}
          maxLength={500}
          wrong={
            wrongAt(look.error ?? write.error, '#/reason') ??
            (tried() && reason().trim() === '' ? 'say why' : undefined)
          }
        />
        <Options
          label="What is true"
          value={how()}
          options={[
            { value: 'otherwise', label: 'It happened otherwise' },
            { value: 'never', label: 'It never happened' },
          ]}
          onInput={(next) => {
            look.reset()
            setHow(next)
          }}
        />
        <Show when={how() === 'otherwise'}>
          <EntryFields
            entry={entry()}
            change={change}
            stock={held()}
            isAnotherTime
            error={look.error ?? write.error}
            tried={tried()}
            at="/instead"
          />
        </Show>
        <Show when={look.data}>{(entered) => <EnteredNote entered={entered()} />}</Show>
        <Show when={look.error ?? write.error}>{(error) => <Failed error={error()} />}</Show>
        <div class="row end">
          <Button onClick={props.close}>Back</Button>
          <Button pending={look.isPending} onClick={() => void send(true)}>
            Look first
          </Button>
          <Button kind="main" type="submit" pending={write.isPending}>
            Write the correction
          </Button>
        </div>
      </form>
    </Dialog>
  )
}

export function entryFrom(movement: MovementWire, zone: string): Entry {
  const kind = kindOf(movement)
  return {
    ...BLANK_ENTRY,
    kind,
    from: movement.from.vessel?.code ?? '',
    to: movement.to.vessel?.code ?? '',
    lot: kind === 'receive' ? (movement.to.lot?.code ?? '') : '',
    volumeL: movement.volumeL,
    ...(kind === 'move' ? { cause: movement.cause } : {}),
    ...(kind === 'loss' ? { lossCause: movement.cause } : {}),
    ...(kind === 'gain' ? { gainCause: movement.cause } : {}),
    wall: wallOfMoment(movement.at, zone),
    people: movement.people.map((person) => person.id),
    bought: movement.from.kind === 'bought',
  }
}

function kindOf(movement: MovementWire): EntryKind {
  const { from, to, cause } = movement
  if (from.kind === 'gain') return 'gain'
  if (from.kind !== 'vessel') return 'receive'
  if (to.kind === 'vessel') return cause === 'top' || cause === 'blend' ? cause : 'move'
  return to.kind as EntryKind
}
