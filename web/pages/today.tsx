import { useSearchParams } from '@solidjs/router'
import { createMemo, For, Show } from 'solid-js'
import type { PersonWire, TaskWire } from '../../api/wire.ts'
import { addDays, duration, msOf, startOfDay } from '../format.ts'
import { Badge } from '../parts/badge.tsx'
import { Button } from '../parts/button.tsx'
import { DoseLines } from '../parts/dose-lines.tsx'
import { Select } from '../parts/field.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { FAMILY_WORDS, PegMark, pegState } from '../parts/peg-mark.tsx'
import { Ask, Empty } from '../parts/states.tsx'
import { VesselTags } from '../parts/tag.tsx'
import { TaskPanel } from '../parts/task-panel.tsx'
import { isOpen, TaskActs } from '../parts/task-work.tsx'
import { usePeople, useTasks } from '../queries.ts'
import { useSession } from '../session.tsx'
import { partsOfDay } from './day-parts.ts'
import { DaySheet } from './day-sheet.tsx'

/** How far back an open task still counts as today's. */
const LATE_DAYS = 30

/** The day's work, for one person or all: what is late, what cannot wait, what comes, what is done. */
export function Today() {
  const session = useSession()
  const [params, setParams] = useSearchParams<{ person?: string; day?: string; open?: string }>()
  const on = () => params.day ?? session.today()
  const who = () => params.person ?? (session.person().role === 'hand' ? session.person().id : '')
  const zone = () => session.cellar().zone
  const tasks = useTasks(() => ({
    from: startOfDay(addDays(on(), -LATE_DAYS), zone()),
    to: startOfDay(addDays(on(), 1), zone()),
    person: who() || undefined,
  }))
  const people = usePeople()
  const crew = (): readonly PersonWire[] => (people.dataUpdatedAt > 0 && people.data?.people) || []
  const nameOf = createMemo(() => new Map(crew().map((person) => [person.id, person.name])))
  const title = () => (on() === session.today() ? 'Today' : session.format().day(on()))

  return (
    <>
      <PageHead
        title={title()}
        lede={`${session.format().dayLong(msOf(startOfDay(on(), zone())) + 43_200_000)}${who() ? `, ${nameOf().get(who()) ?? ''}` : ', everybody'}`}
      >
        <Button aria-label="The day before" onClick={() => setParams({ day: addDays(on(), -1) })}>
          ‹
        </Button>
        <Button onClick={() => setParams({ day: undefined })}>Today</Button>
        <Button aria-label="The day after" onClick={() => setParams({ day: addDays(on(), 1) })}>
          ›
        </Button>
        <Select
          label="For"
          value={who()}
          options={[
            { value: '', label: 'Everybody' },
            ...crew().map((person) => ({ value: person.id, label: person.name })),
          ]}
          onInput={(person) => setParams({ person })}
        />
        <Button class="desk-only" onClick={() => window.print()}>
          Print the sheet
        </Button>
      </PageHead>
      <Ask query={tasks} what="the day’s work">
        {(answer) => (
          <>
            <DayList tasks={answer().tasks} on={on()} nameOf={nameOf()} open={(key) => setParams({ open: key })} />
            <DaySheet tasks={answer().tasks} on={on()} title={nameOf().get(who()) ?? 'Everybody'} nameOf={nameOf()} />
          </>
        )}
      </Ask>
      <Show when={params.open}>
        {(key) => (
          <TaskPanel
            taskKey={key()}
            onClose={() => setParams({ open: undefined })}
            onOpen={(next) => setParams({ open: next })}
          />
        )}
      </Show>
    </>
  )
}

function DayList(props: {
  readonly tasks: readonly TaskWire[]
  readonly on: string
  readonly nameOf: ReadonlyMap<string, string>
  readonly open: (key: string) => void
}) {
  const session = useSession()
  const parts = createMemo(() => partsOfDay(props.tasks, props.on, session.cellar().zone, session.nowMs()))
  const nothing = () => Object.values(parts()).every((list) => list.length === 0)
  const List = (list: { readonly title: string; readonly note: string; readonly tasks: readonly TaskWire[] }) => (
    <Show when={list.tasks.length > 0}>
      <Folio title={list.title} note={list.note}>
        <ol class="works">
          <For each={list.tasks}>
            {(task) => <Work task={task} on={props.on} nameOf={props.nameOf} open={props.open} />}
          </For>
        </ol>
      </Folio>
    </Show>
  )
  return (
    <div class="no-print">
      <Show when={nothing()}>
        <Empty title="Nothing to do on this day">
          <p>No task falls here. The next ones stand in the season and the calendar.</p>
        </Empty>
      </Show>
      <List title="Late" note={count(parts().late)} tasks={parts().late} />
      <List title="Under way" note={count(parts().underway)} tasks={parts().underway} />
      <List
        title="Before you go home"
        note={`${count(parts().before)}: cannot wait until tomorrow`}
        tasks={parts().before}
      />
      <List title="In the day" note={count(parts().rest)} tasks={parts().rest} />
      <List title="Done" note={count(parts().done)} tasks={parts().done} />
    </div>
  )
}

const count = (tasks: readonly TaskWire[]) => `${tasks.length} ${tasks.length === 1 ? 'task' : 'tasks'}`

function Work(props: {
  readonly task: TaskWire
  readonly on: string
  readonly nameOf: ReadonlyMap<string, string>
  readonly open: (key: string) => void
}) {
  const session = useSession()
  const task = () => props.task
  const format = session.format
  const crew = () => (task().donePeople ?? task().people).map((id) => props.nameOf.get(id) ?? id).join(', ')
  const leftMin = () => (msOf(task().latestAt) - session.nowMs()) / 60_000
  return (
    <li
      class="work"
      classList={{ 'is-late': task().late && isOpen(task()), 'is-done': !isOpen(task()) }}
      data-task={task().key}
    >
      <Where task={task()} />
      <div class="stack tight">
        <div class="row">
          <PegMark family={task().family} state={pegState(task())} name={FAMILY_WORDS[task().family]} />
          <button type="button" class="link name" onClick={() => props.open(task().key)}>
            {task().name}
          </button>
          <span class="quiet">
            {task().lotCode} {task().lotName}
          </span>
        </div>
        <div class="row">
          <span>
            <b>
              {format().dayOf(task().startAt) === props.on ? '' : `${format().dayMonth(task().startAt)} `}
              {format().span(task().startAt, task().endAt)}
            </b>
          </span>
          <Show when={task().state === 'underway'}>
            <Badge kind="strong">Under way</Badge>
          </Show>
          <Show when={isOpen(task()) && task().late}>
            <Badge kind="late">Late, planned {format().dayMonth(task().startAt)}</Badge>
          </Show>
          <Show when={isOpen(task()) && !task().late && leftMin() > 0 && leftMin() < 24 * 60}>
            <span class="quiet">
              latest start {format().time(task().latestAt)}, in {duration(leftMin())}
            </span>
          </Show>
          <span class="quiet">{crew() || 'nobody yet'}</span>
          <Show when={task().skipReason}>
            <span class="quiet">left out: {task().skipReason}</span>
          </Show>
        </div>
        <Show when={isOpen(task())}>
          <Show when={task().detail}>
            <p>{task().detail}</p>
          </Show>
          <DoseLines task={task()} />
          <Show when={task().caution}>
            <p class="small caution-line">
              <b>Caution</b> {task().caution}
            </p>
          </Show>
        </Show>
      </div>
      <div class="acts">
        <TaskActs task={task()} />
      </div>
    </li>
  )
}

/** Vessels first; work on fruit that is in none yet says the lot. What is done shrinks. */
function Where(props: { readonly task: TaskWire }) {
  const from = () => (props.task.fromVessels.length ? props.task.fromVessels : props.task.toVessels)
  const moves = () =>
    props.task.fromVessels.length > 0 &&
    props.task.toVessels.length > 0 &&
    props.task.toVessels.join() !== props.task.fromVessels.join()
  const plain = () => (props.task.lotId ? [props.task.lotCode] : [])
  const huge = () => isOpen(props.task)
  return (
    <div class="where">
      <Show
        when={from().length > 0}
        fallback={
          <For each={plain()}>
            {(code) => (
              <span class="tag plain" classList={{ huge: huge() }}>
                {code}
              </span>
            )}
          </For>
        }
      >
        <VesselTags codes={from()} huge={huge()} most={3} />
      </Show>
      <Show when={moves()}>
        <span aria-hidden="true">→</span>
        <span class="visually-hidden">to</span>
        <VesselTags codes={props.task.toVessels} huge={huge()} most={3} />
      </Show>
    </div>
  )
}
