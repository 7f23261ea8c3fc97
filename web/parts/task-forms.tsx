import { createSignal, For, Show } from 'solid-js'
import type { TaskWire } from '../../api/wire.ts'
import { post, taskPath } from '../api.ts'
import { momentOfWall, wallOfMoment } from '../format.ts'
import { useSession } from '../session.tsx'
import { isByDay, PINS_WORDS } from '../when.ts'
import { Button } from './button.tsx'
import { Check, TextField } from './field.tsx'
import { Failed } from './states.tsx'
import { createTaskActs } from './task-acts.ts'

interface Preview {
  readonly allowed: boolean
  readonly words: readonly string[]
  readonly changed: readonly {
    readonly key: string
    readonly name: string
    readonly lotCode: string
    readonly toStartAt: string | null
  }[]
}

/** Moving without dragging: type a time, see what it would do, then pin it there. */
export function PinForm(props: { readonly task: TaskWire }) {
  const session = useSession()
  const { act, write } = createTaskActs()
  const [wall, setWall] = createSignal(wallOfMoment(props.task.startAt, session.cellar().zone))
  const [preview, setPreview] = createSignal<Preview>()
  const [error, setError] = createSignal<unknown>()
  const startAt = () => momentOfWall(wall(), session.cellar().zone)
  const look = async () => {
    setError(undefined)
    try {
      setPreview(await post<Preview>(taskPath(props.task.key, 'preview'), { startAt: startAt() }))
    } catch (caught) {
      setError(caught)
    }
  }
  const others = () => (preview()?.changed ?? []).filter((entry) => entry.key !== props.task.key)
  return (
    <details>
      <summary>Move or pin</summary>
      <div class="stack">
        <TextField
          label="Start"
          type="datetime-local"
          hint={`Cellar time, ${session.cellar().zone}${isByDay(props.task) ? `. ${PINS_WORDS}` : ''}`}
          value={wall()}
          onInput={(value) => {
            setWall(value)
            setPreview(undefined)
          }}
        />
        <Show when={error()}>
          <Failed error={error()} />
        </Show>
        <Show when={preview()}>
          {(seen) => (
            <div class="note" classList={{ bad: !seen().allowed }} role="status">
              <p>
                <b>{seen().allowed ? 'It fits.' : 'A rule would break.'}</b>
              </p>
              <For each={seen().words.slice(0, 6)}>{(words) => <p>{words}</p>}</For>
              <Show when={others().length > 0}>
                <p class="small">
                  Also moves:{' '}
                  {others()
                    .slice(0, 5)
                    .map(
                      (entry) =>
                        `${entry.name} (${entry.lotCode}) ${entry.toStartAt ? `to ${session.format().moment(entry.toStartAt)}` : 'falls away'}`,
                    )
                    .join('; ')}
                  {others().length > 5 ? ` and ${others().length - 5} more` : ''}
                </p>
              </Show>
            </div>
          )}
        </Show>
        <div class="row">
          <Button disabled={wall() === ''} onClick={() => void look()}>
            What would happen
          </Button>
          <Button
            kind="main"
            pending={write.isPending}
            disabled={wall() === ''}
            onClick={() => void act(props.task, 'pin', { startAt: startAt() })}
          >
            Pin here
          </Button>
          <Show when={props.task.pinned}>
            <Button pending={write.isPending} onClick={() => void act(props.task, 'unpin')}>
              Unpin
            </Button>
          </Show>
        </div>
      </div>
    </details>
  )
}

/** Who does it, chosen by hand. */
export function CrewForm(props: { readonly task: TaskWire; readonly names: ReadonlyMap<string, string> }) {
  const { act, write } = createTaskActs()
  const [chosen, setChosen] = createSignal<readonly string[]>(props.task.people)
  const toggle = (id: string, on: boolean) =>
    setChosen((now) => (on ? [...now, id] : now.filter((entry) => entry !== id)))
  return (
    <details>
      <summary>Assign people</summary>
      <div class="stack tight">
        <For each={[...props.names]}>
          {([id, name]) => <Check label={name} checked={chosen().includes(id)} onInput={(on) => toggle(id, on)} />}
        </For>
        <div class="row">
          <Button
            kind="main"
            pending={write.isPending}
            onClick={() => void act(props.task, 'assign', { people: chosen() })}
          >
            Assign
          </Button>
        </div>
      </div>
    </details>
  )
}
