import { For } from 'solid-js'
import { Check } from '../parts/field.tsx'
import { say, sayCaution } from '../words/words.ts'

/** What can hurt, before the start. It is tapped away by whoever starts, who and when are kept. */
export function CautionGate(props: {
  readonly caution: string
  readonly seen: boolean
  readonly onSeen: (seen: boolean) => void
}) {
  return (
    <section class="note caution floor-caution" aria-label={say('caution')}>
      <h2>{say('caution')}</h2>
      <For each={sentences(sayCaution(props.caution))}>{(sentence) => <p>{sentence}</p>}</For>
      <Check label={say('cautionRead')} checked={props.seen} onInput={props.onSeen} />
    </section>
  )
}

/** One sentence a line: a wall of text is not read with gloves on. */
const sentences = (text: string): readonly string[] => text.split(/(?<=[.!])\s+(?=\p{Lu})/u)
