import { createSignal, onCleanup, Show } from 'solid-js'
import { Button } from '../parts/button.tsx'
import { say } from '../words/words.ts'

const MINUTE_S = 60

/** A tick with a wet glove can be taken back for a minute; the seconds are shown. */
export function UndoMinute(props: { readonly busy: boolean; readonly onUndo: () => void }) {
  const [leftS, setLeftS] = createSignal(MINUTE_S)
  const timer = setInterval(() => setLeftS((now) => Math.max(0, now - 1)), 1000)
  onCleanup(() => clearInterval(timer))
  return (
    <Show when={leftS() > 0}>
      <Button pending={props.busy} onClick={props.onUndo}>
        {say('undo')} <span class="quiet">{say('seconds', { n: leftS() })}</span>
      </Button>
    </Show>
  )
}
