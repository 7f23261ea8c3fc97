import { createSignal, For, Show } from 'solid-js'
import type { TroubleKind } from '../../api/protocol/facts.ts'
import { Button } from '../parts/button.tsx'
import { TextArea } from '../parts/field.tsx'
import { say } from '../words/words.ts'
import { TROUBLES, troubleWord } from './floor-words.ts'

/** What is wrong, by one tap; words only where they help. The winemaker sees it at once, and the work it asks for is raised. */
export function TroubleForm(props: {
  readonly busy: boolean
  readonly onTell: (kind: TroubleKind, words: string) => void
  readonly onBack: () => void
}) {
  const [kind, setKind] = createSignal<TroubleKind>()
  const [words, setWords] = createSignal('')
  const mayGo = () => kind() !== undefined && (kind() !== 'other' || words().trim() !== '')
  return (
    <form
      class="stack"
      onSubmit={(event) => {
        event.preventDefault()
        const told = kind()
        if (told && mayGo()) props.onTell(told, words().trim())
      }}
    >
      <fieldset>
        <legend>{say('whatIsWrong')}</legend>
        <div class="options big-options">
          <For each={TROUBLES}>
            {(one) => (
              <label>
                <input type="radio" name="trouble" checked={kind() === one} onChange={() => setKind(one)} />
                <span>{troubleWord(one)}</span>
              </label>
            )}
          </For>
        </div>
      </fieldset>
      <TextArea label={say('inWords')} hint={say('troubleHint')} rows={2} value={words()} onInput={setWords} />
      <Show when={kind() === 'leak' || kind() === 'foam' || kind() === 'spill'}>
        <p class="note caution">{say('troubleCo2')}</p>
      </Show>
      <div class="floor-acts">
        <Button kind="main" big type="submit" pending={props.busy} disabled={!mayGo()}>
          {say('tellIt')}
        </Button>
        <Button onClick={props.onBack}>{say('back')}</Button>
      </div>
    </form>
  )
}
