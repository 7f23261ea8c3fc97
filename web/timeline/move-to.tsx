import { createSignal, For, Show } from 'solid-js'
import { momentOfWall, wallOfMoment } from '../format.ts'
import { Button } from '../parts/button.tsx'
import { Dialog } from '../parts/dialog.tsx'
import { Select, TextField } from '../parts/field.tsx'
import { PINS_WORDS } from '../when.ts'
import type { Preview, SeasonActs } from './acts.ts'
import type { Announcing } from './announce.tsx'
import { berthOf, vesselsFor } from './berth.ts'
import { type Chosen, keepChosen, wishOf } from './keeping.ts'
import { lengthsOf } from './lengths.ts'
import { msOfWire, wireOfMs } from './model.ts'
import { isMoved } from './move.ts'
import { type MoveRules, nameOf } from './rules.ts'
import { slotsFor } from './slots.ts'
import { judgeMove, type Verdict } from './verdict.ts'

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
  const [person, setPerson] = createSignal('')
  const [vessel, setVessel] = createSignal('')
  const [preview, setPreview] = createSignal<Preview>()
  const [pending, setPending] = createSignal(false)
  const startMs = () => msOfWire(momentOfWall(wall(), words().zone))
  const chosen = (): Chosen => ({
    ix: props.ix,
    fromMs: props.rules.model.startMs[props.ix] as number,
    startMs: startMs(),
    andFollows: follows(),
    ...(person() && { person: person() }),
    ...(vessel() && { vessel: vessel() }),
  })
  const judged = (part: { readonly person?: string; readonly vessel?: string }) =>
    judgeMove(props.rules, {
      ix: props.ix,
      startMs: startMs(),
      andFollows: follows(),
      ...(part.person && { people: [part.person] }),
      ...(part.vessel && { vessel: part.vessel }),
    })
  const verdict = () => judged({ person: person(), vessel: vessel() })
  const look = async () => {
    setPreview(undefined)
    // Another vessel is weighed when it is kept: it goes the way of a trial.
    if (wall() === '' || vessel() !== '') return
    setPreview(await props.acts.preview(task()?.key ?? '', wishOf(chosen())).catch(() => undefined))
  }
  const choose = <T,>(set: (value: T) => unknown, value: T) => {
    set(value)
    void look()
  }
  const keep = async () => {
    setPending(true)
    const done = await keepChosen(props.acts, props.rules.model, chosen())
    setPending(false)
    if (!done) return
    const where = vessel() ? `, into ${vessel()}` : ''
    props.announce.say(
      `${nameOf(props.rules.model, props.ix)} moved to ${words().momentLong(startMs())}${where}. Control Z takes it back.`,
    )
    props.onClose()
  }
  const noting = (name: string, { level, words: said }: Verdict) => (level === 'fine' ? name : `${name}: ${said}`)
  const people = () => {
    const { plan } = props.rules.model
    const now = (task()?.people ?? []).map((id) => plan.people.find((p) => p.id === id)?.name ?? id)
    return [
      { value: '', label: now.length > 0 ? `As planned: ${now.join(', ')}` : 'As planned' },
      ...plan.people
        .filter((p) => !task()?.people.includes(p.id))
        .map((p) => ({ value: p.id, label: noting(p.name, judged({ person: p.id, vessel: vessel() })) })),
    ]
  }
  const vessels = () => {
    const berth = berthOf(props.rules.model, props.ix)
    if (!berth) return []
    return [
      { value: '', label: `As planned: ${berth.phase.vessels.join(', ')}` },
      ...vesselsFor(props.rules.model, berth)
        .filter((code) => !berth.phase.vessels.includes(code))
        .map((code) => ({ value: code, label: noting(code, judged({ vessel: code })) })),
    ]
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
                  onClick={() => choose(setWall, wallOfMoment(wireOfMs(slot.startMs), words().zone))}
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
          hint={`Cellar time, ${words().zone}${task()?.grain === 'day' ? `. ${PINS_WORDS}` : ''}`}
          value={wall()}
          onInput={(value) => choose(setWall, value)}
        />
        <Select label="Done by" value={person()} options={people()} onInput={(id) => choose(setPerson, id)} />
        <Show when={vessels().length > 1}>
          <Select label="Into" value={vessel()} options={vessels()} onInput={(code) => choose(setVessel, code)} />
        </Show>
        <fieldset class="words" aria-label="What moves">
          <button type="button" aria-pressed={!follows()} onClick={() => choose(setFollows, false)}>
            Only this
          </button>
          <button type="button" aria-pressed={follows()} onClick={() => choose(setFollows, true)}>
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
          <Button
            kind="main"
            pending={pending()}
            disabled={wall() === '' || !isMoved(chosen(), props.rules.model)}
            onClick={() => void keep()}
          >
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
