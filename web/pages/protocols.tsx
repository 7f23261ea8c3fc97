import { A } from '@solidjs/router'
import { createMemo, createSignal, For, Show } from 'solid-js'
import type { ChoiceKey, Choices } from '../../api/protocol/choices.ts'
import { findConflicts } from '../../api/protocol/conflicts.ts'
import { defaultsFor, differences } from '../../api/protocol/defaults.ts'
import { NOTES, STYLE_NOTES } from '../../api/protocol/notes.ts'
import { put, remove } from '../api.ts'
import { Button, ButtonLink } from '../parts/button.tsx'
import { Select, TextField } from '../parts/field.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { Ask, Empty, Failed, wrongAt } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { type ProtocolWire, useLots, useProtocols, useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'
import { ChoicesForm, StylePick } from './choices-form.tsx'
import { CopyToLot } from './copy-to-lot.tsx'
import { KeepProtocol } from './keep-protocol.tsx'
import { sayAnswer } from './say-answer.ts'

/** Sets of answers under a name: compared with the style's own, copied to a lot, changed. */
export function Protocols() {
  const session = useSession()
  const protocols = useProtocols()
  const [making, setMaking] = createSignal<Choices>()
  return (
    <>
      <PageHead
        title="Protocols"
        lede="Sets of answers kept under a name. A lot takes a copy, which then goes its own way."
      >
        <Show when={session.leads()}>
          <Button kind="main" onClick={() => setMaking(defaultsFor('crisp'))}>
            New protocol
          </Button>
        </Show>
      </PageHead>
      <Show when={making()}>
        {(choices) => (
          <Folio title="New protocol" note="Answer what differs, then keep it under a name.">
            <StylePick value={choices().style} onInput={(style) => setMaking(defaultsFor(style))} />
            <ChoicesForm choices={choices()} onChange={setMaking} conflicts={conflictsOf(choices())} signed={[]} />
            <div class="row bar">
              <KeepProtocol choices={choices()} suggested={STYLE_NOTES[choices().style].label} />
              <Button onClick={() => setMaking(undefined)}>Leave it</Button>
            </div>
          </Folio>
        )}
      </Show>
      <Ask query={protocols} what="the protocols">
        {(answer) => (
          <For
            each={answer().protocols}
            fallback={
              <Show when={!making()}>
                <Empty title="No protocol kept yet">
                  <p>
                    Keep the answers of a lot from its page, or make a set here. The seven styles below need no keeping.
                  </p>
                </Empty>
              </Show>
            }
          >
            {(protocol) => <Kept protocol={protocol} />}
          </For>
        )}
      </Ask>
      <Compare protocols={(protocols.dataUpdatedAt > 0 && protocols.data?.protocols) || []} />
    </>
  )
}

/** Without fruit only what lies in the answers themselves can be told: a mild, sound must stands in. */
const conflictsOf = (choices: Choices) =>
  findConflicts({
    choices,
    fruit: {
      tonnes: 5,
      brix: 21,
      pH: 3.3,
      acidGPerLTartaric: 7,
      malicGPerL: 2.5,
      yanMgPerL: 180,
      fruitTempC: 12,
      rotPct: 0,
      yieldLPerT: 600,
    },
    volumeL: 3000,
    latest: {},
  })

function Kept(props: { readonly protocol: ProtocolWire }) {
  const session = useSession()
  const [draft, setDraft] = createSignal<Choices>()
  const [name, setName] = createSignal(props.protocol.name)
  const choices = () => draft() ?? props.protocol.choices
  const count = () => differences(choices(), defaultsFor(choices().style)).length
  const path = () => `/api/protocols/${encodeURIComponent(props.protocol.id)}`
  const save = useWrite(() => put(path(), { name: name().trim(), choices: choices(), version: props.protocol.version }))
  const drop = useWrite(() => remove(path()))
  const send = async () => {
    try {
      await save.mutateAsync(undefined)
      setDraft(undefined)
      toast(`Protocol “${name()}” changed. Lots that took it keep theirs.`)
    } catch {
      // shown below
    }
  }
  return (
    <Folio
      title={props.protocol.name}
      note={`${STYLE_NOTES[choices().style].label}; ${count()} answers differ from the style.`}
    >
      <Show when={draft()}>
        <TextField
          class="short"
          label="Name"
          value={name()}
          onInput={setName}
          maxLength={80}
          wrong={wrongAt(save.error, '#/name')}
        />
      </Show>
      <ChoicesForm
        choices={choices()}
        onChange={setDraft}
        conflicts={conflictsOf(choices())}
        signed={[]}
        readOnly={!draft()}
        onlyDifferent={!draft()}
      />
      <Show when={save.isError ? save.error : drop.isError ? drop.error : undefined}>
        {(error) => <Failed error={error()} />}
      </Show>
      <Show when={session.leads()}>
        <Show
          when={draft()}
          fallback={
            <div class="row">
              <ButtonLink kind="main" href={`/lots/new?protocol=${encodeURIComponent(props.protocol.id)}`}>
                New lot from it
              </ButtonLink>
              <CopyToLot protocol={props.protocol} />
              <Button onClick={() => setDraft(props.protocol.choices)}>Change</Button>
              <Button kind="plain" pending={drop.isPending} onClick={() => drop.mutate(undefined)}>
                Forget it
              </Button>
            </div>
          }
        >
          <div class="row bar">
            <Button kind="main" pending={save.isPending} onClick={() => void send()}>
              Keep the change
            </Button>
            <Button onClick={() => setDraft(undefined)}>Leave it</Button>
          </div>
        </Show>
      </Show>
    </Folio>
  )
}

/** Two sets of answers side by side, only where they differ. */
function Compare(props: { readonly protocols: readonly ProtocolWire[] }) {
  const lots = useLots()
  const sets = createMemo((): readonly { readonly id: string; readonly label: string; readonly choices: Choices }[] => [
    ...Object.entries(STYLE_NOTES).map(([style, note]) => ({
      id: `style ${style}`,
      label: `Style: ${note.label}`,
      choices: defaultsFor(style as Choices['style']),
    })),
    ...props.protocols.map((protocol) => ({
      id: `protocol ${protocol.id}`,
      label: protocol.name,
      choices: protocol.choices,
    })),
    ...((lots.dataUpdatedAt > 0 && lots.data?.lots) || []).map((lot) => ({
      id: `lot ${lot.id}`,
      label: `${lot.code} ${lot.name}`,
      choices: lot.choices,
    })),
  ])
  const [left, setLeft] = createSignal('style crisp')
  const [right, setRight] = createSignal('style textured')
  const setOf = (id: string) => sets().find((entry) => entry.id === id)?.choices ?? defaultsFor('crisp')
  const rows = () => differences(setOf(left()), setOf(right())).filter((row) => row.key !== 'style')
  const options = () => sets().map((entry) => ({ value: entry.id, label: entry.label }))
  const labelOf = (key: ChoiceKey) => NOTES.find((note) => note.keys.includes(key))?.label ?? key
  return (
    <Folio title="Compare" note="Styles, protocols and lots: where their answers differ.">
      <div class="row">
        <Select label="This" value={left()} options={options()} onInput={setLeft} />
        <Select label="with this" value={right()} options={options()} onInput={setRight} />
      </div>
      <table class="ledger folds">
        <thead>
          <tr>
            <th>Choice</th>
            <th>This</th>
            <th>with this</th>
          </tr>
        </thead>
        <tbody>
          <For
            each={rows()}
            fallback={
              <tr>
                <td colSpan={3}>Every answer is the same.</td>
              </tr>
            }
          >
            {(row) => (
              <tr>
                <th scope="row">{labelOf(row.key)}</th>
                <td>{sayAnswer(row.key, row.chosen)}</td>
                <td>{sayAnswer(row.key, row.usual)}</td>
              </tr>
            )}
          </For>
        </tbody>
      </table>
      <p class="small quiet">
        What each choice does stands beside it on <A href="/lots/new">a lot’s form</A>.
      </p>
    </Folio>
  )
}
