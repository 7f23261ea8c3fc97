import { useNavigate } from '@solidjs/router'
import { createSignal, For, Index, Show } from 'solid-js'
import type { LotLedgerWire, LotsEnteredWire } from '../../api/wire.ts'
import { Button } from '../parts/button.tsx'
import { Dialog } from '../parts/dialog.tsx'
import { Check, NumberField, Select, TextField } from '../parts/field.tsx'
import { Failed, wrongAt } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'
import { LotsNote } from './entered-note.tsx'
import { type Sent, sendEntry, useStock } from './queries.ts'
import { type Child, type ChildMove, childOf, splitBody, splitFaults } from './split-merge.ts'
import { sayContent } from './words.ts'

/** One lot becomes several. What is left of its plan is copied to each; each may then change its choices. */
export function SplitDialog(props: { readonly ledger: LotLedgerWire; readonly close: () => void }) {
  const session = useSession()
  const navigate = useNavigate()
  const format = session.format
  const lot = () => props.ledger.lot
  const stock = useStock()
  const [children, setChildren] = createSignal<readonly Child[]>([childOf(lot().code, 0), childOf(lot().code, 1)])
  const [wall, setWall] = createSignal('')
  const [tried, setTried] = createSignal(false)
  const look = useWrite((sent: Sent) => sendEntry<LotsEnteredWire>(sent))
  const write = useWrite((sent: Sent) => sendEntry<LotsEnteredWire>(sent))
  const error = () => look.error ?? write.error
  const change = (at: number, part: Partial<Child>) => {
    look.reset()
    write.reset()
    setChildren((now) => now.map((child, i) => (i === at ? { ...child, ...part } : child)))
  }
  const faults = () => splitFaults(children())
  const blank = { value: '', label: 'Choose …' }
  const own = () => [
    blank,
    ...props.ledger.where.map((content) => ({ value: content.vessel.code, label: sayContent(format(), content) })),
  ]
  const empty = () => [
    blank,
    ...((stock.dataUpdatedAt > 0 && stock.data?.contents) || [])
      .filter((content) => content.volumeL === 0 && content.state !== 'out-of-service')
      .map((content) => ({ value: content.vessel.code, label: sayContent(format(), content) })),
  ]
  const send = async (preview: boolean) => {
    setTried(true)
    if (faults().length > 0) return
    const sent = { path: '/lots/split', body: splitBody(lot().code, children(), wall()), preview }
    try {
      if (preview) await look.mutateAsync(sent)
      else {
        const told = await write.mutateAsync(sent)
        toast(`${lot().code} is split into ${told.lots.map((child) => child.code).join(', ')}.`)
        props.close()
        const [first] = told.lots
        if (first) navigate(`/ledger/lots/${encodeURIComponent(first.id)}`)
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
      title={`Split ${lot().code} ${lot().name}`}
      description="Each child takes its share of everything, and a copy of what is left of the plan."
    >
      <form
        class="stack"
        onSubmit={(event) => {
          event.preventDefault()
          void send(false)
        }}
      >
        <Index each={children()}>
          {(child, at) => (
            <fieldset class="stack tight">
              <legend>
                Child {at + 1} {child().code}
              </legend>
              <div class="columns">
                <TextField
                  label="Code"
                  value={child().code}
                  onInput={(code) => change(at, { code })}
                  maxLength={16}
                  wrong={wrongAt(error(), `#/children/${at}/code`)}
                />
                <TextField
                  label="Name"
                  value={child().name}
                  onInput={(name) => change(at, { name })}
                  maxLength={80}
                  wrong={wrongAt(error(), `#/children/${at}/name`)}
                />
              </div>
              <fieldset class="row">
                <legend class="small quiet">{child().code} keeps, where it lies</legend>
                <For each={props.ledger.where}>
                  {(content) => (
                    <Check
                      label={content.vessel.code}
                      checked={child().vessels.includes(content.vessel.code)}
                      onInput={(isOn) =>
                        change(at, {
                          vessels: isOn
                            ? [...child().vessels, content.vessel.code]
                            : child().vessels.filter((code) => code !== content.vessel.code),
                        })
                      }
                    />
                  )}
                </For>
              </fieldset>
              <Index each={child().moves}>
                {(move, i) => (
                  <MoveRow
                    move={move()}
                    own={own()}
                    empty={empty()}
                    change={(part) =>
                      change(at, { moves: child().moves.map((other, j) => (j === i ? { ...other, ...part } : other)) })
                    }
                    remove={() => change(at, { moves: child().moves.filter((_, j) => j !== i) })}
                  />
                )}
              </Index>
              <div class="row">
                <Button
                  onClick={() => change(at, { moves: [...child().moves, { from: '', to: '', volumeL: undefined }] })}
                >
                  Move wine for {child().code || 'it'}
                </Button>
                <Show when={children().length > 1}>
                  <Button kind="plain" onClick={() => setChildren((now) => now.filter((_, i) => i !== at))}>
                    Leave out
                  </Button>
                </Show>
              </div>
            </fieldset>
          )}
        </Index>
        <div class="row">
          <Button onClick={() => setChildren((now) => [...now, childOf(lot().code, now.length)])}>
            One more child
          </Button>
        </div>
        <TextField
          label="When it happened"
          type="datetime-local"
          hint="Empty: now, cellar time"
          value={wall()}
          onInput={setWall}
          class="short"
          wrong={wrongAt(error(), '#/atLocal')}
        />
        <Show when={tried() && faults().length > 0}>
          <div class="note bad" role="alert">
            <For each={faults()}>{(words) => <p>{words}</p>}</For>
          </div>
        </Show>
        <Show when={look.data}>
          {(entered) => <LotsNote entered={entered()} parents={[{ lot: lot(), goesOn: true }]} />}
        </Show>
        <Show when={error()}>{(wrong) => <Failed error={wrong()} />}</Show>
        <div class="row end">
          <Button onClick={props.close}>Back</Button>
          <Button kind={look.data ? undefined : 'main'} pending={look.isPending} onClick={() => void send(true)}>
            Look first
          </Button>
          <Button kind="main" type="submit" pending={write.isPending} disabled={!look.data}>
            Split the lot
          </Button>
        </div>
      </form>
    </Dialog>
  )
}

function MoveRow(props: {
  readonly move: ChildMove
  readonly own: readonly { readonly value: string; readonly label: string }[]
  readonly empty: readonly { readonly value: string; readonly label: string }[]
  readonly change: (part: Partial<ChildMove>) => void
  readonly remove: () => void
}) {
  const session = useSession()
  const format = session.format
  return (
    <div class="columns">
      <Select label="From" value={props.move.from} options={props.own} onInput={(from) => props.change({ from })} />
      <Select label="To" value={props.move.to} options={props.empty} onInput={(to) => props.change({ to })} />
      <NumberField
        label="How much"
        unit={format().volumeUnit}
        hint="Empty: all of it"
        min={0}
        value={props.move.volumeL === undefined ? undefined : format().volumeShown(props.move.volumeL)}
        onInput={(shown) => props.change({ volumeL: shown === undefined ? undefined : format().volumeL(shown) })}
      />
      <div>
        <Button kind="plain" onClick={props.remove}>
          Without this move
        </Button>
      </div>
    </div>
  )
}
