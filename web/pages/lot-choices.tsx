import { createMemo, createSignal, Show } from 'solid-js'
import type { Choices } from '../../api/protocol/choices.ts'
import { findConflicts } from '../../api/protocol/conflicts.ts'
import type { ConflictContext } from '../../api/protocol/types.ts'
import type { LotWire, ReadingWire } from '../../api/wire.ts'
import { put } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { Check } from '../parts/field.tsx'
import { Folio } from '../parts/page-head.tsx'
import { Failed } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { type LotPageWire, useWrite } from '../queries.ts'
import { lastReading } from '../readings.ts'
import { useSession } from '../session.tsx'
import { ChoicesForm, StylePick } from './choices-form.tsx'
import { allFound, type FoundConflict, type Signed, unsigned } from './conflict-notes.tsx'
import { KeepProtocol } from './keep-protocol.tsx'
import { MainDates } from './main-dates.tsx'

/** What the rules are asked with before anything is sent; the server asks again with all it knows. */
export function contextOf(
  lot: Pick<LotWire, 'fruit' | 'volumeL'>,
  choices: Choices,
  readings: readonly ReadingWire[],
): ConflictContext {
  const kinds = new Set(readings.map((reading) => reading.kind))
  const latest = Object.fromEntries([...kinds].map((kind) => [kind, lastReading(readings, kind)?.value]))
  return { choices, fruit: lot.fruit, volumeL: lot.volumeL, latest }
}

/** The lot's 25 answers: read, compare with the style, change, with what stands against them as one types. */
export function LotChoices(props: {
  readonly lot: LotWire
  readonly latest: readonly ReadingWire[]
  readonly versions: LotPageWire['choiceVersions']
}) {
  const session = useSession()
  const [draft, setDraft] = createSignal<Choices>()
  const [signed, setSigned] = createSignal<readonly Signed[]>([])
  const [everything, setEverything] = createSignal(false)
  const choices = () => draft() ?? props.lot.choices
  const [there, setThere] = createSignal<readonly FoundConflict[]>(props.lot.conflicts)
  const found = createMemo(() => allFound(findConflicts(contextOf(props.lot, choices(), props.latest)), there()))
  const kept = (): readonly Signed[] =>
    props.lot.conflicts.flatMap((entry) =>
      entry.signedReason ? [{ conflict: entry.id, reason: entry.signedReason }] : [],
    )
  const blocks = () => unsigned(found(), signed())
  const save = useWrite((next: Choices) =>
    put(`/api/lots/${encodeURIComponent(props.lot.id)}/choices`, {
      choices: next,
      signed: signed(),
      version: props.lot.choicesVersion,
    }),
  )
  const begin = () => {
    setDraft(props.lot.choices)
    setSigned(kept())
    setEverything(true)
  }
  const send = async () => {
    const next = draft()
    if (!next) return
    try {
      await save.mutateAsync(next)
      setDraft(undefined)
      toast(`Choices of ${props.lot.code} kept; its work is planned anew.`)
    } catch {
      // shown beside the button
    }
  }
  return (
    <Folio title="Choices" note={`Version ${props.lot.choicesVersion}. Beside each answer: what it does.`}>
      <div class="row">
        <Show when={!draft()}>
          <Show when={session.leads() && !props.lot.endedAt}>
            <Button onClick={begin}>Change the choices</Button>
          </Show>
          <KeepProtocol choices={props.lot.choices} suggested={`${props.lot.name} ${props.lot.vintage}`} />
        </Show>
        <Check label="Show all 25" checked={everything()} onInput={setEverything} />
      </div>
      <Show when={draft()}>
        {(value) => <StylePick value={value().style} onInput={(style) => setDraft({ ...value(), style })} />}
      </Show>
      <ChoicesForm
        choices={choices()}
        onChange={setDraft}
        conflicts={found()}
        signed={draft() ? signed() : kept()}
        onSign={setSigned}
        readOnly={!draft()}
        onlyDifferent={!everything()}
      />
      <Show when={draft()}>
        <h3>Dates these answers would give</h3>
        <MainDates
          choices={choices()}
          fruit={props.lot.fruit}
          pickOn={props.lot.pickOn}
          lot={props.lot.id}
          onConflicts={setThere}
        />
        <div class="stack tight bar">
          <Show when={save.isError}>
            <Failed error={save.error} />
          </Show>
          <Show when={blocks().length > 0}>
            <p class="late-text" role="status">
              {blocks()
                .map((rule) => rule.id)
                .join(', ')}{' '}
              {blocks().length === 1 ? 'stands' : 'stand'} against this. Change an answer, or sign a reason.
            </p>
          </Show>
          <div class="row">
            <Button kind="main" pending={save.isPending} disabled={blocks().length > 0} onClick={() => void send()}>
              Keep these choices
            </Button>
            <Button onClick={() => setDraft(undefined)}>Leave them as they were</Button>
          </div>
        </div>
      </Show>
    </Folio>
  )
}
