import { A } from '@solidjs/router'
import { createMemo, For, Show } from 'solid-js'
import type { TaskWire } from '../../api/wire.ts'
import { duration } from '../format.ts'
import { usePeople, useTask } from '../queries.ts'
import { useSession } from '../session.tsx'
import { isByDay, NEARER_WORDS, spanWords, startWords } from '../when.ts'
import { Badge } from './badge.tsx'
import { Dialog } from './dialog.tsx'
import { DoseLines } from './dose-lines.tsx'
import { PegMark, pegState } from './peg-mark.tsx'
import { Ask } from './states.tsx'
import { VesselTags } from './tag.tsx'
import { CrewForm, PinForm } from './task-forms.tsx'
import { Neighbours } from './task-neighbours.tsx'
import { TaskActs } from './task-work.tsx'

/** One task in a drawer, from any page: where, when, why, what holds it, and everything that may be done to it. */
export function TaskPanel(props: {
  readonly taskKey: string
  readonly onClose: () => void
  readonly onOpen?: (key: string) => void
}) {
  const task = useTask(() => props.taskKey)
  const name = () => (task.dataUpdatedAt > 0 && !task.isPlaceholderData && task.data?.name) || 'Task'
  return (
    <Dialog open place="side" title={name()} onClose={props.onClose}>
      <Ask query={task} what="the task">
        {(row) => <TaskSheet task={row()} onOpen={props.onOpen} />}
      </Ask>
    </Dialog>
  )
}

const STATE_WORDS: Readonly<Record<TaskWire['state'], string>> = {
  planned: 'Planned',
  due: 'Due',
  underway: 'Under way',
  done: 'Done',
  skipped: 'Left out',
  cancelled: 'Cancelled',
  blocked: 'Blocked',
}

const isBad = (task: TaskWire) => pegState(task) === 'late' || pegState(task) === 'conflict'
const stateWords = (task: TaskWire) =>
  pegState(task) === 'conflict' ? 'A rule is broken' : pegState(task) === 'late' ? 'Late' : STATE_WORDS[task.state]
const sentence = (words: string) => words.charAt(0).toUpperCase() + words.slice(1)

function TaskSheet(props: { readonly task: TaskWire; readonly onOpen?: (key: string) => void }) {
  const session = useSession()
  const people = usePeople()
  const format = session.format
  const task = () => props.task
  const names = createMemo(
    () => new Map(((people.dataUpdatedAt > 0 && people.data?.people) || []).map((person) => [person.id, person.name])),
  )
  const crew = () => (task().donePeople ?? task().people).map((id) => names().get(id) ?? id).join(', ')
  /** With its year where that is another: nothing presses then. */
  const latest = () => {
    const { earliestAt, latestAt } = task()
    const isOtherYear = format().dayOf(earliestAt).slice(0, 4) !== format().dayOf(latestAt).slice(0, 4)
    return isOtherYear ? format().dayYear(latestAt) : startWords({ ...task(), startAt: latestAt }, format())
  }
  return (
    <div class="stack">
      <div class="row">
        <PegMark family={task().family} state={pegState(task())} size="1.75rem" />
        <Badge kind={isBad(task()) ? 'late' : 'strong'}>{stateWords(task())}</Badge>
        <Show when={task().pinned}>
          <Badge>Pinned</Badge>
        </Show>
        <Show when={task().forecast}>
          <Badge>Hangs on a reading</Badge>
        </Show>
        <Show when={task().lotId}>
          {(lotId) => (
            <A href={`/lots/${lotId()}`}>
              {task().lotCode} {task().lotName}
            </A>
          )}
        </Show>
      </div>
      <div class="row">
        <VesselTags codes={task().fromVessels} huge />
        <Show when={task().toVessels.length > 0}>
          <span aria-hidden="true">→</span>
          <span class="visually-hidden">to</span>
          <VesselTags codes={task().toVessels} huge />
        </Show>
      </div>
      <Show when={task().detail}>
        <p>{task().detail}</p>
      </Show>
      <DoseLines task={task()} />
      <Show when={task().caution}>
        <p class="note caution">{task().caution}</p>
      </Show>
      <div class="row">
        <TaskActs task={task()} />
      </div>
      <dl class="pairs">
        <dt>When</dt>
        <dd>
          <Show when={isByDay(task())} fallback={spanWords(task(), format())}>
            On {spanWords(task(), format())}, {NEARER_WORDS}
          </Show>
        </dd>
        <dt>May start</dt>
        <dd>
          {startWords({ ...task(), startAt: task().earliestAt }, format())} to {latest()}
        </dd>
        <dt>Room to move</dt>
        <dd classList={{ 'late-text': task().slackMin < 0 }}>
          {task().slackMin < 0 ? `${duration(task().slackMin)} too late` : duration(task().slackMin)}
        </dd>
        <Show when={task().spread}>
          {(spread) => (
            <>
              <dt>Forecast</dt>
              <dd>{format().dayRange(spread().earliestAt, spread().latestAt)}</dd>
            </>
          )}
        </Show>
        <dt>Work</dt>
        <dd>
          {duration(task().crewMin)} for {task().crew} {task().crew === 1 ? 'person' : 'people'}
        </dd>
        <dt>Who</dt>
        <dd>{crew() || (isByDay(task()) ? 'Not yet dealt out' : 'Nobody yet')}</dd>
        <Show when={task().machines.length > 0}>
          <dt>With</dt>
          <dd>{task().machines.join(', ')}</dd>
        </Show>
        <Show when={task().materials.length > 0}>
          <dt>Bring</dt>
          <dd>{task().materials.join(', ')}</dd>
        </Show>
        <Show when={task().doneAt}>
          {(doneAt) => (
            <>
              <dt>Done</dt>
              <dd>{format().moment(doneAt())}</dd>
            </>
          )}
        </Show>
        <Show when={task().skipReason ?? task().cancelReason}>
          {(reason) => (
            <>
              <dt>Because</dt>
              <dd>{reason()}</dd>
            </>
          )}
        </Show>
      </dl>
      <Show when={task().change}>
        {(change) => (
          <div>
            <h3>Why it moved</h3>
            <p>
              {sentence(change().words)} <span class="quiet nowrap">({format().moment(change().at)})</span>{' '}
              <a href={`/ask?q=why-moved&task=${encodeURIComponent(task().key)}`}>The whole chain</a>
            </p>
          </div>
        )}
      </Show>
      <Show when={task().why}>
        <div>
          <h3>Why then</h3>
          <p>
            {sentence(task().why)}{' '}
            <a href={`/ask?q=why-then&task=${encodeURIComponent(task().key)}`}>Down to the fact behind it</a>
          </p>
        </div>
      </Show>
      <Show when={task().whyNotLater}>
        <div>
          <h3>Why not later</h3>
          <p>{sentence(task().whyNotLater)}</p>
        </div>
      </Show>
      <For each={task().broken}>
        {(entry) => (
          <p class="note" classList={{ bad: entry.strength === 'hard', warn: entry.strength === 'soft' }}>
            {entry.words}{' '}
            <Show when={entry.strength === 'hard'}>
              <a href={`/ask?q=ways-out&task=${encodeURIComponent(task().key)}`}>Ways out</a>
            </Show>
          </p>
        )}
      </For>
      <Neighbours task={task()} onOpen={props.onOpen} />
      <Show
        when={session.leads() && (task().state === 'planned' || task().state === 'due' || task().state === 'blocked')}
      >
        <Show when={task().lotId}>
          {(lotId) => (
            <p>
              <a href={`/what-if?lot=${encodeURIComponent(lotId())}`}>What if it were otherwise?</a>
            </p>
          )}
        </Show>
        <PinForm task={task()} />
        <CrewForm task={task()} names={names()} />
      </Show>
    </div>
  )
}
