import { createMemo, For, Match, Show, Switch } from 'solid-js'
import type { ChoiceKey, Choices, Style, VesselChoice } from '../../api/protocol/choices.ts'
import { defaultsFor, differences } from '../../api/protocol/defaults.ts'
import { type ChoiceNote, NOTES, type OptionNote, STYLE_NOTES } from '../../api/protocol/notes.ts'
import { Badge } from '../parts/badge.tsx'
import { Button } from '../parts/button.tsx'
import { Check, NumberField, type Option, Options, Select, TextField } from '../parts/field.tsx'
import { useSession } from '../session.tsx'
import { Does } from './choice-does.tsx'
import { FLAG_LABELS, LIST_LABELS, NUMBER_ANSWERS, type NumberAnswer } from './choice-numbers.ts'
import { ConflictNotes, type FoundConflict, type Signed } from './conflict-notes.tsx'

export interface ChoicesFormProps {
  readonly choices: Choices
  readonly onChange: (choices: Choices) => void
  readonly conflicts: readonly FoundConflict[]
  readonly signed: readonly Signed[]
  readonly onSign?: (signed: readonly Signed[]) => void
  readonly readOnly?: boolean
  /** Show only what differs from the style's own answers, or what stands in conflict. */
  readonly onlyDifferent?: boolean
}

const asOptions = <Value extends string>(notes: readonly OptionNote[]): readonly Option<Value>[] =>
  notes.map((note) => ({ value: note.value as Value, label: note.label, does: note.does }))

/** All 25 choices in the order a winemaker meets them; beside each what it does; under it what stands against it. */
export function ChoicesForm(props: ChoicesFormProps) {
  const usual = createMemo(() => defaultsFor(props.choices.style))
  const different = createMemo(() => new Set(differences(props.choices, usual()).map((entry) => entry.key)))
  const against = (note: ChoiceNote) =>
    props.conflicts.filter((found) =>
      found.fields.some(
        (field) => note.keys[0] === note.keys.find((key) => key === field) || note.keys.includes(field as ChoiceKey),
      ),
    )
  const shown = () =>
    props.onlyDifferent
      ? NOTES.filter((note) => note.keys.some((key) => different().has(key)) || against(note).length > 0)
      : NOTES
  // A conflict touches several choices; it is told in full at the first of them, and named at the others.
  const home = (found: FoundConflict) => NOTES.find((note) => note.keys.some((key) => found.fields.includes(key)))
  return (
    <div class="choices">
      <For each={shown()} fallback={<p class="quiet">Every answer is the style’s own.</p>}>
        {(note) => (
          <section class="choice" id={`choice-${note.nr}`} aria-labelledby={`choice-${note.nr}-name`}>
            <div class="stack tight">
              <div class="row">
                <h3 id={`choice-${note.nr}-name`}>
                  <span>{note.nr}</span>
                  {note.label}
                </h3>
                <Show when={note.keys.some((key) => different().has(key))}>
                  <Badge>not the style’s</Badge>
                  <Show when={!props.readOnly}>
                    <Button kind="plain" onClick={() => props.onChange(backToUsual(props.choices, usual(), note.keys))}>
                      back to the style’s
                    </Button>
                  </Show>
                </Show>
              </div>
              <p class="quiet">{note.question}</p>
              <div class="answers">
                <For each={note.keys}>{(key) => <Answer {...props} note={note} key={key} usual={usual()} />}</For>
              </div>
              <ConflictNotes
                found={against(note).filter((found) => home(found) === note)}
                signed={props.signed}
                onSign={props.readOnly ? undefined : props.onSign}
              />
              <For each={against(note).filter((found) => home(found) !== note)}>
                {(found) => (
                  <p class="small quiet">
                    Also part of {found.id}, see {home(found)?.label.toLowerCase()}.
                  </p>
                )}
              </For>
            </div>
            <Does note={note} choices={props.choices} />
          </section>
        )}
      </For>
    </div>
  )
}

export function StylePick(props: { readonly value: Style; readonly onInput: (style: Style) => void }) {
  const options = Object.entries(STYLE_NOTES).map(([value, note]) => ({ value: value as Style, label: note.label }))
  return (
    <Options
      label="Style"
      hint={`${STYLE_NOTES[props.value].does} A style only fills in answers; each stays yours to change.`}
      value={props.value}
      options={options}
      onInput={props.onInput}
    />
  )
}

const backToUsual = (choices: Choices, usual: Choices, keys: readonly ChoiceKey[]): Choices => ({
  ...choices,
  ...Object.fromEntries(keys.map((key) => [key, usual[key]])),
})

type AnswerProps = ChoicesFormProps & { readonly note: ChoiceNote; readonly key: ChoiceKey; readonly usual: Choices }

function Answer(props: AnswerProps) {
  const value = () => props.choices[props.key]
  const set = (next: unknown) => props.onChange({ ...props.choices, [props.key]: next } as Choices)
  const options = () => props.note.options[props.key]
  const label = () => LIST_LABELS[props.key] ?? props.note.label
  return (
    <Switch>
      <Match when={props.key === 'vesselParts'}>
        <VesselParts {...props} />
      </Match>
      <Match when={props.key === 'claims'}>
        <fieldset class="field" disabled={props.readOnly}>
          <legend>{label()}</legend>
          <For each={options() ?? []}>
            {(option) => (
              <Check
                label={option.label}
                checked={props.choices.claims.some((claim) => claim === option.value)}
                onInput={(on) =>
                  set(
                    on
                      ? [...props.choices.claims, option.value]
                      : props.choices.claims.filter((claim) => claim !== option.value),
                  )
                }
              />
            )}
          </For>
        </fieldset>
      </Match>
      <Match when={props.key === 'finishOn'}>
        <TextField
          label="On"
          type="date"
          hint="Every backward date hangs on it. Empty: no date booked."
          value={props.choices.finishOn ?? ''}
          disabled={props.readOnly}
          onInput={(on) => set(on || undefined)}
        />
      </Match>
      <Match when={options()}>
        {(list) => (
          <Show
            when={list().length <= 6}
            fallback={
              <Select
                label={label()}
                value={String(value())}
                options={asOptions(list())}
                disabled={props.readOnly}
                onInput={(next) => set(next)}
              />
            }
          >
            <Options
              label={label()}
              hideLabel={LIST_LABELS[props.key] === undefined}
              value={String(value())}
              options={asOptions(list())}
              disabled={props.readOnly}
              hint={list().find((option) => option.value === String(value()))?.does}
              onInput={(next) => set(props.key === 'fractions' ? Number(next) : next)}
            />
          </Show>
        )}
      </Match>
      <Match when={FLAG_LABELS[props.key]}>
        {(words) => (
          <Show when={props.choices.oak !== 'none'}>
            <Check label={words()} checked={value() === true} disabled={props.readOnly} onInput={set} />
          </Show>
        )}
      </Match>
      <Match when={NUMBER_ANSWERS[props.key]}>
        {(answer) => (
          <Show when={answer().when?.(props.choices) ?? true}>
            <NumberChoice
              answer={answer()}
              value={value() as number | undefined}
              readOnly={props.readOnly}
              onInput={set}
            />
          </Show>
        )}
      </Match>
    </Switch>
  )
}

function NumberChoice(props: {
  readonly answer: NumberAnswer
  readonly value: number | undefined
  readonly readOnly?: boolean
  readonly onInput: (value: number | undefined) => void
}) {
  const session = useSession()
  const temp = () => props.answer.as === 'temp'
  const share = () => props.answer.as === 'share'
  const shown = (value: number) => (temp() ? session.format().tempShown(value) : share() ? value * 100 : value)
  const stored = (value: number) => (temp() ? session.format().tempC(value) : share() ? value / 100 : value)
  const neat = (value: number) => Math.round(value * 100) / 100
  return (
    <NumberField
      class="short"
      label={props.answer.label}
      unit={temp() ? session.format().tempUnit : props.answer.unit}
      value={props.value === undefined ? undefined : neat(shown(props.value))}
      min={neat(shown(props.answer.min))}
      max={neat(shown(props.answer.max))}
      disabled={props.readOnly}
      onInput={(value) => props.onInput(value === undefined ? undefined : stored(value))}
    />
  )
}

/** Several vessels at once; the shares add up to one. */
function VesselParts(props: AnswerProps) {
  const parts = () => props.choices.vesselParts ?? []
  const set = (next: Choices['vesselParts']) => props.onChange({ ...props.choices, vesselParts: next })
  const options = () => asOptions<VesselChoice>(props.note.options.vessel ?? [])
  const sum = () => Math.round(parts().reduce((total, part) => total + part.share, 0) * 1000) / 10
  return (
    <Show
      when={parts().length > 0}
      fallback={
        <Show when={!props.readOnly}>
          <div>
            <Button
              kind="plain"
              onClick={() =>
                set([
                  { vessel: props.choices.vessel, share: 0.7 },
                  { vessel: props.choices.vessel === 'new-barrel' ? 'used-barrel' : 'new-barrel', share: 0.3 },
                ])
              }
            >
              Split over several vessels
            </Button>
          </div>
        </Show>
      }
    >
      <fieldset class="field" disabled={props.readOnly}>
        <legend>Parts</legend>
        <For each={parts()}>
          {(part, index) => {
            const change = (next: Partial<typeof parts extends () => infer L ? (L & unknown[])[number] : never>) =>
              set(parts().map((entry, at) => (at === index() ? { ...entry, ...next } : entry)))
            return (
              <div class="row">
                <Select
                  label={`Vessel of part ${index() + 1}`}
                  value={part.vessel}
                  options={options()}
                  onInput={(vessel) => change({ vessel })}
                />
                <NumberField
                  class="short"
                  label="Share"
                  unit="%"
                  min={1}
                  max={100}
                  value={Math.round(part.share * 1000) / 10}
                  onInput={(share) => share !== undefined && share > 0 && change({ share: share / 100 })}
                />
                <Show when={!props.readOnly && parts().length > 2}>
                  <Button kind="plain" onClick={() => set(parts().filter((_, at) => at !== index()))}>
                    Remove
                  </Button>
                </Show>
              </div>
            )
          }}
        </For>
        <Show when={sum() !== 100}>
          <p class="wrong">The parts add up to {sum()} %; they must add up to 100 %.</p>
        </Show>
        <Show when={!props.readOnly}>
          <div class="row">
            <Button
              kind="plain"
              disabled={parts().length >= 6}
              onClick={() => set([...parts(), { vessel: 'used-barrel', share: 0.1 }])}
            >
              Add a part
            </Button>
            <Button kind="plain" onClick={() => set(undefined)}>
              One vessel only
            </Button>
          </div>
        </Show>
      </fieldset>
    </Show>
  )
}
