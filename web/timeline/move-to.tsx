import { createSignal, For, Show } from 'solid-js'
import { momentOfWall, wallOfMoment } from '../format.ts'
import { Button } from '../parts/button.tsx'
import { Dialog } from '../parts/dialog.tsx'
import { TextField } from '../parts/field.tsx'
import type { Preview, SeasonActs } from './acts.ts'
import type { Announcing } from './announce.tsx'
import { lengthsOf } from './lengths.ts'
import { msOfWire, wireOfMs } from './model.ts'
import { type MoveRules, nameOf } from './rules.ts'
import { slotsFor } from './slots.ts'
import { judgeMove } from './verdict.ts'

/** Moving without dragging (WCAG 2.2, 2.5.7): offers from the window, or any time, each with its verdict. */
export function MoveTo(props: {
  readonly rules: MoveRules
  readonly ix: number
  readonly acts: SeasonActs
  readonly announce: Announcing
  readonly onLengths: () => void
  readonly onClose: () => void
}) {
  const task = () => props.rules.model.plan.tasks[props.ix]
  const words = () => props.rules.words
  const [wall, setWall] = createSignal(wallOfMoment(task()?.startAt ?? '', words().zone))
  const [follows, setFollows] = createSignal(true)
  const [preview, setPreview] = createSignal<Preview>()
  const [pending, setPending] = createSignal(false)
  const startMs = () => msOfWire(momentOfWall(wall(), words().zone))
  const verdict = () => judgeMove(props.rules, { ix: props.ix, startMs: startMs(), andFollows: follows() })
  const wish = () => ({ startAt: momentOfWall(wall(), words().zone), andFollows: follows() })
  const choose = async (next: string) => {
    setWall(next)
    setPreview(undefined)
    if (next === '') return
    setPreview(await props.acts.preview(task()?.key ?? '', wish()).catch(() => undefined))
  }
  const keep = async () => {
    setPending(true)
    const done = await props.acts.keep(task()?.key ?? '', wish())
    setPending(false)
    if (!done) return
    props.announce.say(
      `${nameOf(props.rules.model, props.ix)} moved to ${words().momentLong(startMs())}. Control Z takes it back.`,
    )
    props.onClose()
  }
  return (
    <Dialog open title={`Move ${nameOf(props.rules.model, props.ix)}`} onClose={props.onClose}>
      <div class="stack">
        <ul class="slots">
          <For each={slotsFor(props.rules, props.ix)}>
            {(slot) => (
              <li>
                <button
                  type="button"
                  aria-pressed={startMs() === slot.startMs}
                  onClick={() => void choose(wallOfMoment(wireOfMs(slot.startMs), words().zone))}
                >
                  <strong>{slot.label}</strong> <span>{words().moment(slot.startMs)}</span>
                  <small>{slot.verdict.level === 'fine' ? '' : slot.verdict.words}</small>
                </button>
              </li>
            )}
          </For>
        </ul>
        <TextField
          label="Or start at"
          type="datetime-local"
          hint={`Cellar time, ${words().zone}`}
          value={wall()}
          onInput={(value) => void choose(value)}
        />
        <fieldset class="words" aria-label="What moves">
          <button type="button" aria-pressed={!follows()} onClick={() => setFollows(false)}>
            Only this
          </button>
          <button type="button" aria-pressed={follows()} onClick={() => setFollows(true)}>
            And what follows
          </button>
        </fieldset>
        <Show when={wall() !== ''}>
          <div class="note" classList={{ bad: verdict().level === 'no' }} role="status">
            <p>{verdict().words}</p>
            <Show when={preview()}>{(seen) => <p>{seen().words}</p>}</Show>
          </div>
        </Show>
        <div class="row">
          <Button kind="main" pending={pending()} disabled={wall() === ''} onClick={() => void keep()}>
            Move it
          </Button>
          <Button onClick={props.onClose}>Leave it</Button>
          <Show when={lengthsOf(props.rules.model, task()?.lotCode ?? '', props.rules.nowMs).length > 0}>
            <Button kind="plain" onClick={props.onLengths}>
              How long …
            </Button>
          </Show>
        </div>
      </div>
    </Dialog>
  )
}
