import { useNavigate } from '@solidjs/router'
import { createMemo, createSignal, For, Show } from 'solid-js'
import type { ContentWire, LotsEnteredWire, StockWire } from '../../api/wire.ts'
import { Button } from '../parts/button.tsx'
import { Dialog } from '../parts/dialog.tsx'
import { Check, NumberField, Select, TextField } from '../parts/field.tsx'
import { Failed, wrongAt } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'
import { LotsNote } from './entered-note.tsx'
import { type Sent, sendEntry } from './queries.ts'
import { mergeBody, mergeFaults, type Part } from './split-merge.ts'
import { sayContent, sayLitres } from './words.ts'

/** Several lots become one. Their plans end; the new lot starts with what is still owed. */
export function MergeDialog(props: {
  readonly stock: StockWire
  /** Lots that are in it to begin with, by id. */
  readonly lots?: readonly string[]
  readonly close: () => void
}) {
  const session = useSession()
  const navigate = useNavigate()
  const format = session.format
  const [lots, setLots] = createSignal<readonly string[]>(props.lots ?? [])
  const [parts, setParts] = createSignal<ReadonlyMap<string, Part>>(new Map())
  const [code, setCode] = createSignal('')
  const [name, setName] = createSignal('')
  const [planFrom, setPlanFrom] = createSignal('')
  const [wall, setWall] = createSignal('')
  const [tried, setTried] = createSignal(false)
  const look = useWrite((sent: Sent) => sendEntry<LotsEnteredWire>(sent))
  const write = useWrite((sent: Sent) => sendEntry<LotsEnteredWire>(sent))
  const error = () => look.error ?? write.error
  const forget = () => {
    look.reset()
    write.reset()
  }
  const chosen = createMemo(() =>
    props.stock.contents.filter((content) => content.lot !== null && lots().includes(content.lot.id)),
  )
  const partOf = (content: ContentWire): Part =>
    parts().get(content.vessel.code) ?? { vessel: content.vessel.code, goes: '', volumeL: undefined, lossL: undefined }
  const used = () => chosen().map(partOf)
  const change = (content: ContentWire, part: Partial<Part>) => {
    forget()
    setParts((now) => new Map(now).set(content.vessel.code, { ...partOf(content), ...part }))
  }
  /** The new lot goes on with the plan of one of them: the one chosen, or the one with most litres in it. */
  const parents = () => {
    const into = props.stock.lots
      .filter((held) => lots().includes(held.lot.id))
      .map((held) => ({
        lot: held.lot,
        volumeL: sumOf(
          chosen().filter((content) => content.lot?.id === held.lot.id),
          partOf,
        ),
      }))
      .filter((one) => one.volumeL > 0)
    const most = [...into].sort((a, b) => b.volumeL - a.volumeL)[0]?.lot.id
    return into.map(({ lot }) => ({ lot, goesOn: lot.id === (planFrom() || most) }))
  }
  const faults = () => mergeFaults(code(), name(), used())
  const send = async (preview: boolean) => {
    setTried(true)
    if (faults().length > 0) return
    const sent = { path: '/lots/merge', body: mergeBody(code(), name(), planFrom(), used(), wall()), preview }
    try {
      if (preview) await look.mutateAsync(sent)
      else {
        const told = await write.mutateAsync(sent)
        toast(`${code()} is in the book.`)
        props.close()
        const [made] = told.lots
        if (made) navigate(`/ledger/lots/${encodeURIComponent(made.id)}`)
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
      title="Merge lots"
      description="A new lot that keeps every parent’s share. Plans of lots that are used up end."
    >
      <form
        class="stack"
        onSubmit={(event) => {
          event.preventDefault()
          void send(false)
        }}
      >
        <div class="columns">
          <TextField
            label="Code of the new lot"
            value={code()}
            onInput={(next) => {
              forget()
              setCode(next)
            }}
            maxLength={16}
            wrong={wrongAt(error(), '#/code')}
          />
          <TextField
            label="Name"
            value={name()}
            onInput={(next) => {
              forget()
              setName(next)
            }}
            maxLength={80}
            wrong={wrongAt(error(), '#/name')}
          />
        </div>
        <fieldset class="field">
          <legend>Lots that go in</legend>
          <div class="entry-people">
            <For each={props.stock.lots}>
              {(held) => (
                <Check
                  label={`${held.lot.code}, ${sayLitres(format(), held.volumeL)}`}
                  checked={lots().includes(held.lot.id)}
                  onInput={(isOn) => {
                    forget()
                    setLots((now) => (isOn ? [...now, held.lot.id] : now.filter((id) => id !== held.lot.id)))
                  }}
                />
              )}
            </For>
          </div>
        </fieldset>
        <For each={chosen()}>
          {(content) => (
            <PartRow
              content={content}
              part={partOf(content)}
              stock={props.stock}
              change={(part) => change(content, part)}
            />
          )}
        </For>
        <Show when={lots().length > 0}>
          <div class="columns">
            <Select
              label="Goes on with the choices of"
              value={planFrom()}
              options={[
                { value: '', label: 'the one with most litres in it' },
                ...props.stock.lots
                  .filter((held) => lots().includes(held.lot.id))
                  .map((held) => ({ value: held.lot.id, label: `${held.lot.code} ${held.lot.name}` })),
              ]}
              onInput={(next) => {
                forget()
                setPlanFrom(next)
              }}
            />
            <TextField
              label="When it happened"
              type="datetime-local"
              hint="Empty: now, cellar time"
              value={wall()}
              onInput={(next) => {
                forget()
                setWall(next)
              }}
              wrong={wrongAt(error(), '#/atLocal')}
            />
          </div>
        </Show>
        <Show when={tried() && faults().length > 0}>
          <div class="note bad" role="alert">
            <For each={faults()}>{(words) => <p>{words}</p>}</For>
          </div>
        </Show>
        <Show when={look.data}>{(entered) => <LotsNote entered={entered()} parents={parents()} />}</Show>
        <Show when={error()}>{(wrong) => <Failed error={wrong()} />}</Show>
        <div class="row end">
          <Button onClick={props.close}>Back</Button>
          <Button kind={look.data ? undefined : 'main'} pending={look.isPending} onClick={() => void send(true)}>
            Look first
          </Button>
          <Button kind="main" type="submit" pending={write.isPending} disabled={!look.data}>
            Merge the lots
          </Button>
        </div>
      </form>
    </Dialog>
  )
}

const sumOf = (contents: readonly ContentWire[], partOf: (content: ContentWire) => Part): number =>
  contents.reduce((sum, content) => {
    const part = partOf(content)
    return part.goes === '' ? sum : sum + (part.volumeL ?? content.volumeL - (part.lossL ?? 0))
  }, 0)

function PartRow(props: {
  readonly content: ContentWire
  readonly part: Part
  readonly stock: StockWire
  readonly change: (part: Partial<Part>) => void
}) {
  const session = useSession()
  const format = session.format
  const code = () => props.content.vessel.code
  const moves = () => props.part.goes !== '' && props.part.goes !== 'stays'
  const stored = (shown: number | undefined) => (shown === undefined ? undefined : format().volumeL(shown))
  const shown = (volumeL: number | undefined) => (volumeL === undefined ? undefined : format().volumeShown(volumeL))
  return (
    <div class="columns">
      <Select
        label={sayContent(format(), props.content)}
        value={props.part.goes}
        options={[
          { value: '', label: 'left out' },
          { value: 'stays', label: `in it, stays in ${code()}` },
          ...props.stock.contents
            .filter((other) => other.vessel.code !== code() && other.state !== 'out-of-service')
            .map((other) => ({ value: other.vessel.code, label: `to ${sayContent(format(), other)}` })),
        ]}
        onInput={(goes) => props.change({ goes })}
      />
      <Show when={moves()}>
        <NumberField
          label={`Arrives from ${code()}`}
          unit={format().volumeUnit}
          hint="Empty: all of it"
          min={0}
          value={shown(props.part.volumeL)}
          onInput={(next) => props.change({ volumeL: stored(next) })}
        />
        <NumberField
          label={`Lost on the way from ${code()}`}
          unit={format().volumeUnit}
          min={0}
          value={shown(props.part.lossL)}
          onInput={(next) => props.change({ lossL: stored(next) })}
        />
      </Show>
    </div>
  )
}
