import { For, Show } from 'solid-js'
import type { Choices } from '../../api/protocol/choices.ts'
import { type ChoiceNote, effectsOf, referenceOf } from '../../api/protocol/notes.ts'

/** What the choice does to the wine, the calendar, the purse and the people. */
export function Does(props: { readonly note: ChoiceNote; readonly choices: Choices }) {
  const effects = () =>
    props.note.keys.includes('vessel') || props.note.keys.includes('oak') ? effectsOf(props.choices) : []
  return (
    <div class="does stack tight">
      <p>
        <b>Wine</b> {props.note.wine}
      </p>
      <p>
        <b>Time</b> {props.note.time}
      </p>
      <p>
        <b>Cost</b> {props.note.cost} <b>Labour</b> {props.note.labour}
      </p>
      <For each={effects()}>
        {(effect) => (
          <p>
            <b>{effect.label}</b> {effect.words}
          </p>
        )}
      </For>
      <Show when={props.note.range}>{(range) => <p>Usual: {range()}.</p>}</Show>
      <Rests basis={props.note.basis} />
    </div>
  )
}

/** What the note rests on; behind the word, each source with its title and what was read of it. */
function Rests(props: { readonly basis: ChoiceNote['basis'] }) {
  const sources = () => (props.basis.refs ?? []).flatMap((id) => referenceOf(id) ?? [])
  return (
    <Show when={sources().length > 0} fallback={<p>{BASIS_WORDS[props.basis.kind]}</p>}>
      <Show when={props.basis.note}>{(note) => <p>From sources: {note()}.</p>}</Show>
      <details>
        <summary>{sources().length === 1 ? 'The source' : `The ${sources().length} sources`}</summary>
        <ul class="small">
          <For each={sources()}>
            {(source) => (
              <li>
                {source.cite}; as kept: {source.readAt}. Read: {source.read}.
              </li>
            )}
          </For>
        </ul>
      </details>
    </Show>
  )
}

const BASIS_WORDS: Readonly<Record<ChoiceNote['basis']['kind'], string>> = {
  'common-practice': 'Common practice.',
  memory: 'From memory, to be verified.',
  source: 'From sources.',
}
