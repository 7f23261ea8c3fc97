import { createSignal } from 'solid-js'
import type { TaskWire } from '../../api/wire.ts'
import { Button } from '../parts/button.tsx'
import { TextArea } from '../parts/field.tsx'
import { say } from '../words/words.ts'

/** A note on a task, or why it is not possible: left out where it may be, else told to the winemaker. */
export function WordsForm(props: {
  readonly task: TaskWire
  readonly isSkip: boolean
  readonly busy: boolean
  readonly onTell: (words: string) => Promise<void>
  readonly onBack: () => void
}) {
  const [words, setWords] = createSignal('')
  const mayLeave = () => props.task.leaving !== 'no'
  return (
    <form
      class="stack"
      onSubmit={(event) => {
        event.preventDefault()
        void props.onTell(words().trim())
      }}
    >
      <TextArea
        label={props.isSkip ? say('whyNot') : say('note')}
        hint={props.isSkip ? say(mayLeave() ? 'reasonKept' : 'cannotLeave') : ''}
        rows={3}
        value={words()}
        onInput={setWords}
      />
      <div class="floor-acts">
        <Button kind="main" big type="submit" pending={props.busy} disabled={words().trim() === ''}>
          {props.isSkip ? say(mayLeave() ? 'leaveOut' : 'tellIt') : say('keep')}
        </Button>
        <Button onClick={props.onBack}>{say('back')}</Button>
      </div>
    </form>
  )
}
