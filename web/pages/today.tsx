import { A, useNavigate, useSearchParams } from '@solidjs/router'
import { createMemo, createSignal, For, type JSX, lazy, onCleanup, Show, Suspense } from 'solid-js'
import type { PersonWire, TaskWire, VesselWire } from '../../api/wire.ts'
import { byCode } from '../by-code.ts'
import { FloorOptions } from '../floor/floor-options.tsx'
import { countOf, placeWord } from '../floor/floor-words.ts'
import { Handover } from '../floor/handover.tsx'
import { TodayLine } from '../floor/today-line.tsx'
import { TroubleList } from '../floor/trouble-list.tsx'
import { placeOf, tasksOf, whoseOf } from '../floor/walk.ts'
import { addDays, msOf, startOfDay, taskHref } from '../format.ts'
import { standing } from '../offline/index.ts'
import { afterFrame, atRest } from '../parts/at-rest.ts'
import { Button } from '../parts/button.tsx'
import { Select } from '../parts/field.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { Ask, Empty } from '../parts/states.tsx'
import { tasksReadMs, useDayTasks, usePeople, useVessels } from '../queries.ts'
import { useSession } from '../session.tsx'
import { say, tongue } from '../words/words.ts'
import { partsOfDay } from './day-parts.ts'

// A task opened from elsewhere comes with much that the list does not need.
const TaskPanel = lazy(async () => ({ default: (await import('../parts/task-panel.tsx')).TaskPanel }))
// Paper comes when the list stands.
const DaySheets = lazy(async () => ({ default: (await import('./day-sheet.tsx')).DaySheets }))

/** More than a phone shows at once; the others follow once these are on the screen. */
const FIRST_LINES = 8

/** How far back an open task still counts as today's. */
const LATE_DAYS = 30

/** The day's work of a person, a team or a place: what is late, what cannot wait, what comes, what is done. */
export function Today() {
  const session = useSession()
  const navigate = useNavigate()
  const [params, setParams] = useSearchParams<{ person?: string; day?: string; open?: string }>()
  const on = () => params.day ?? session.today()
  const who = () => params.person ?? (session.person().role === 'hand' ? session.person().id : '')
  const zone = () => session.cellar().zone
  // The whole day is asked for: another list is one tap away, also without a signal.
  const range = () => ({
    from: startOfDay(addDays(on(), -LATE_DAYS), zone()),
    to: startOfDay(addDays(on(), 1), zone()),
  })
  const tasks = useDayTasks(range)
  const people = usePeople()
  const vessels = useVessels()
  const crew = (): readonly PersonWire[] => (people.dataUpdatedAt > 0 && people.data?.people) || []
  const tanks = (): readonly VesselWire[] => (vessels.dataUpdatedAt > 0 && vessels.data?.vessels) || []
  const byId = createMemo(() => new Map(crew().map((person) => [person.id, person])))
  const title = () => (on() === session.today() ? say('today') : session.format().day(on()))
  const options = createMemo(() => [
    { value: '', label: say('everybody') },
    ...crew().map((person) => ({ value: person.id, label: person.name })),
    ...[...new Set(crew().flatMap((person) => (person.post ? [person.post] : [])))].map((post) => ({
      value: `team:${post}`,
      label: say('team', { name: post }),
    })),
    ...[...new Set(tanks().map(placeOf))].sort(byCode).map((place) => ({
      value: `place:${place}`,
      label: say('place', { name: placeWord(place) }),
    })),
  ])
  const whoWords = () => options().find((option) => option.value === who())?.label ?? ''
  // What waits on this phone shows at once, as it will stand.
  const mine = createMemo(() => {
    const all = ((tasks.dataUpdatedAt > 0 || tasks.isPlaceholderData) && tasks.data?.tasks) || []
    const readMs = tasksReadMs(range(), tasks)
    return tasksOf(
      all.map((task) => standing(task, readMs)),
      whoseOf(who()),
      { people: crew(), vessels: tanks() },
    )
  })

  return (
    <div class="floor" lang={tongue()}>
      <PageHead
        title={title()}
        lede={`${session.format().dayLong(msOf(startOfDay(on(), zone())) + 43_200_000)}, ${whoWords()}`}
      >
        <Button aria-label={say('dayBefore')} onClick={() => setParams({ day: addDays(on(), -1) })}>
          ‹
        </Button>
        <Button onClick={() => setParams({ day: undefined })}>{say('today')}</Button>
        <Button aria-label={say('dayAfter')} onClick={() => setParams({ day: addDays(on(), 1) })}>
          ›
        </Button>
        <Select label={say('listOf')} value={who()} options={options()} onInput={(person) => setParams({ person })} />
      </PageHead>
      <FloorOptions on={on()} who={who()} />
      <TroubleList people={byId()} />
      <Handover people={byId()} />
      <Ask query={tasks} what={say('daysWork')}>
        {() => (
          <>
            <DayList
              tasks={mine()}
              on={on()}
              people={byId()}
              done={(task) => navigate(`${taskHref(task.key)}?do=done`)}
            />
            <AtRest>
              <DaySheets tasks={mine()} on={on()} title={whoWords()} isEverybody={who() === ''} people={byId()} />
            </AtRest>
          </>
        )}
      </Ask>
      <Show when={params.open}>
        {(key) => (
          <Suspense>
            <TaskPanel
              taskKey={key()}
              onClose={() => setParams({ open: undefined })}
              onOpen={(next) => setParams({ open: next })}
            />
          </Suspense>
        )}
      </Show>
    </div>
  )
}

/** What comes when the rest of the page stands. */
function AtRest(props: { readonly children: JSX.Element }) {
  const [isHere, setHere] = createSignal(false)
  onCleanup(atRest(() => setHere(true)))
  return (
    <Show when={isHere()}>
      <Suspense>{props.children}</Suspense>
    </Show>
  )
}

function DayList(props: {
  readonly tasks: readonly TaskWire[]
  readonly on: string
  readonly people: ReadonlyMap<string, PersonWire>
  readonly done: (task: TaskWire) => void
}) {
  const session = useSession()
  const parts = createMemo(() => partsOfDay(props.tasks, props.on, session.cellar().zone, session.nowMs()))
  const nothing = () => Object.values(parts()).every((list) => list.length === 0)
  const [most, setMost] = createSignal(FIRST_LINES)
  onCleanup(afterFrame(() => setMost(Number.POSITIVE_INFINITY)))
  const shown = createMemo(() => {
    const { late, before, underway, rest, done } = parts()
    return new Set([...late, ...before, ...underway, ...rest, ...done].slice(0, most()).map((task) => task.key))
  })
  const List = (list: { readonly title: string; readonly note?: string; readonly tasks: readonly TaskWire[] }) => {
    const byKey = createMemo(() => new Map(list.tasks.map((task) => [task.key, task])))
    // By the key: a line stays, with the finger on it, when its task is read anew.
    const lines = createMemo(() => [...byKey().keys()].filter((key) => shown().has(key)))
    return (
      <Show when={list.tasks.length > 0}>
        <Folio title={list.title} note={[countOf(list.tasks.length), list.note].filter(Boolean).join(': ')}>
          <ol class="works">
            <For each={lines()}>
              {(key) => (
                <Show when={byKey().get(key)}>
                  {(task) => <TodayLine task={task()} on={props.on} people={props.people} onDone={props.done} />}
                </Show>
              )}
            </For>
          </ol>
        </Folio>
      </Show>
    )
  }
  return (
    <div class="no-print">
      <Show when={nothing()}>
        <Empty title={say('nothingToday')}>
          <p>
            {say('nothingHint')} <A href="/season">{say('season')}</A>
          </p>
        </Empty>
      </Show>
      <List title={say('late')} tasks={parts().late} />
      <List title={say('beforeHome')} note={say('beforeHomeNote')} tasks={parts().before} />
      <List title={say('underway')} tasks={parts().underway} />
      <List title={say('inTheDay')} tasks={parts().rest} />
      <List title={say('done')} tasks={parts().done} />
    </div>
  )
}
