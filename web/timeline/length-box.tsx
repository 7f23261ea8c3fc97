import { createSignal, For, Show } from 'solid-js'
import { Button } from '../parts/button.tsx'
import { Dialog } from '../parts/dialog.tsx'
import { NumberField } from '../parts/field.tsx'
import type { SeasonActs, Tried } from './acts.ts'
import { type Length, lengthChange, lengthNow } from './lengths.ts'
import type { Words } from './words.ts'

/** How long the wine stays, where that is a choice: by the number, with what the whole plan would do. */
export function LengthBox(props: {
  readonly lotId: string
  readonly lotCode: string
  readonly lengths: readonly Length[]
  /** Where the band's end was dragged to. */
  readonly wanted?: { readonly choice: Length['choice']; readonly value: number }
  readonly words: Words
  readonly acts: SeasonActs
  readonly say: (sentence: string) => void
  readonly onClose: () => void
}) {
  const first = props.lengths.find((l) => l.choice === props.wanted?.choice) ?? props.lengths[0]
  const [length, setLength] = createSignal(first)
  const [value, setValue] = createSignal<number | undefined>(props.wanted?.value ?? (first && lengthNow(first)))
  const [tried, setTried] = createSignal<Tried>()
  const [pending, setPending] = createSignal(false)
  const leave = () => {
    const open = tried()
    if (open) void props.acts.drop(open)
    setTried(undefined)
  }
  const choose = (next: Length) => {
    leave()
    setLength(next)
    setValue(lengthNow(next))
  }
  const sentence = (l: Length) => `${l.name} of ${props.lotCode}: ${value()} ${l.unit}`
  const change = (l: Length) => ({
    kind: 'choices' as const,
    lot: props.lotId,
    choices: lengthChange(l, value() ?? lengthNow(l)),
  })
  const look = async () => {
    const l = length()
    if (!l) return
    leave()
    setPending(true)
    setTried(await props.acts.attempt(change(l), sentence(l)))
    setPending(false)
  }
  const keep = async () => {
    const l = length()
    if (!l) return
    setPending(true)
    const ready = tried() ?? (await props.acts.attempt(change(l), sentence(l)))
    const done = ready !== undefined && (await props.acts.adopt(ready, sentence(l)))
    setPending(false)
    if (!done) return
    setTried(undefined)
    props.say(`${sentence(l)}. Undo stands below.`)
    props.onClose()
  }
  const close = () => {
    leave()
    props.onClose()
  }
  return (
    <Dialog open title={`How long, ${props.lotCode}`} onClose={close}>
      <Show when={length()} fallback={<p>Nothing of this lot has a length to choose any more.</p>}>
        {(l) => (
          <div class="stack">
            <Show when={props.lengths.length > 1}>
              <fieldset class="words" aria-label="Which length">
                <For each={props.lengths}>
                  {(one) => (
                    <button type="button" aria-pressed={one.choice === l().choice} onClick={() => choose(one)}>
                      {one.name}
                    </button>
                  )}
                </For>
              </fieldset>
            </Show>
            <NumberField
              label={l().name}
              unit={l().unit}
              min={l().least}
              max={l().most}
              step={l().step}
              value={value()}
              hint={`Now ${lengthNow(l())} ${l().unit}, ${props.words.dayShort(l().phase.startMs)} to ${props.words.dayShort(l().phase.endMs)}`}
              onInput={(next) => {
                leave()
                setValue(next)
              }}
            />
            <Show when={tried()}>
              {(seen) => (
                <div class="note" role="status">
                  <p>{seen().words}</p>
                </div>
              )}
            </Show>
            <div class="row">
              <Button kind="main" pending={pending()} disabled={value() === undefined} onClick={() => void keep()}>
                Keep
              </Button>
              <Button disabled={pending() || value() === undefined} onClick={() => void look()}>
                See what changes
              </Button>
              <Button onClick={close}>Leave it</Button>
            </div>
          </div>
        )}
      </Show>
    </Dialog>
  )
}
