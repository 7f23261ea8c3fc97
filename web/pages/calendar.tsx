import { createMemo, createSignal, For, Match, Show, Switch } from 'solid-js'
import { layMonth, monthsOn, tasksByDay, teamOf, type Who } from '../calendar/month.ts'
import { MonthGrid } from '../calendar/month.tsx'
import { WeekColumns } from '../calendar/week.tsx'
import { Button } from '../parts/button.tsx'
import { Ask, Empty } from '../parts/states.tsx'
import { TaskPanel } from '../parts/task-panel.tsx'
import { type PlanWire, usePlan } from '../queries.ts'
import { useSession } from '../session.tsx'
import { dayIndex, indexOn, isoOf, layDays } from '../timeline/days.ts'
import { buildModel } from '../timeline/model.ts'
import { DAY_MS } from '../timeline/scale.ts'
import { wordsFor } from '../timeline/words.ts'
import '../timeline/timeline.css'
import '../calendar/calendar.css'

type Look = 'month' | 'week' | 'day'

const LOOKS: readonly (readonly [Look, string])[] = [
  ['day', 'Day'],
  ['week', 'Week'],
  ['month', 'Month'],
]

/** The plan by the calendar: a month of counts, a week of columns, a day in order. */
export function CalendarPage() {
  const plan = usePlan(() => ({ from: '', to: '' }))
  return (
    <Ask query={plan} what="the calendar">
      {(answer) => (
        <Show
          when={answer().tasks.length > 0}
          fallback={
            <div class="alone">
              <Empty title="Nothing is planned yet">
                <p>
                  Work appears here with the first lot. <a href="/lots/new">Add a lot</a>
                </p>
              </Empty>
            </div>
          }
        >
          <Calendar plan={answer()} />
        </Show>
      )}
    </Ask>
  )
}

function Calendar(props: { readonly plan: PlanWire }) {
  const session = useSession()
  const zone = () => session.cellar().zone
  const model = createMemo(() => buildModel(props.plan))
  const days = createMemo(() =>
    layDays(
      Math.min(model().firstMs, session.nowMs()) - 120 * DAY_MS,
      Math.max(model().lastMs, session.nowMs()) + 120 * DAY_MS,
      zone(),
    ),
  )
  const words = createMemo(() => wordsFor(session.person().language || 'en', zone()))
  const today = createMemo(() => dayIndex(days(), session.nowMs()))
  const [look, setLook] = createSignal<Look>(matchMedia('(max-width: 45rem)').matches ? 'day' : 'month')
  const [on, setOn] = createSignal(isoOf(days(), today()))
  const [who, setWho] = createSignal<Who>({ kind: 'all' })
  const [open, setOpen] = createSignal(false)
  const [selected, setSelected] = createSignal<string>()
  // Kept as a date: the table of days is laid anew when the plan grows.
  const index = createMemo(() => indexOn(days(), on()))
  const choose = (at: number) => setOn(isoOf(days(), Math.max(40, Math.min(days().startMs.length - 42, at))))
  const byDay = createMemo(() => tasksByDay(model(), days(), who()))
  const month = createMemo(() => layMonth(model(), days(), index(), today(), who()))
  const monday = () => index() - ((days().weekday[index()] as number) - 1)
  const step = (by: 1 | -1) => {
    if (look() === 'day') choose(index() + by)
    else if (look() === 'week') choose(index() + by * 7)
    else choose(indexOn(days(), monthsOn(on(), by)))
  }
  const title = () => {
    const noonMs = (i: number) => (days().startMs[i] as number) + 12 * 3_600_000
    if (look() === 'month') return `${words().months[month().month - 1]} ${month().year}`
    if (look() === 'week') return `${words().dayShort(noonMs(monday()))} to ${words().dayShort(noonMs(monday() + 6))}`
    return words().day(noonMs(index()))
  }
  return (
    <div class="calendar">
      <div class="calendar-bar">
        <h1>{title()}</h1>
        <fieldset class="words" aria-label="How much">
          <For each={LOOKS}>
            {([kind, word]) => (
              <button type="button" aria-pressed={look() === kind} onClick={() => setLook(kind)}>
                {word}
              </button>
            )}
          </For>
        </fieldset>
        <fieldset class="words" aria-label="Which">
          <button type="button" onClick={() => step(-1)}>
            Earlier
          </button>
          <button type="button" onClick={() => choose(today())}>
            Today
          </button>
          <button type="button" onClick={() => step(1)}>
            Later
          </button>
        </fieldset>
        <WhoSelect plan={props.plan} onChange={setWho} />
        <Button kind="plain" class="no-print" onClick={() => window.print()}>
          Print
        </Button>
      </div>
      <Switch>
        <Match when={look() === 'month'}>
          <MonthGrid
            month={month()}
            words={words()}
            chosen={index()}
            onChoose={(at) => {
              choose(at)
            }}
            onOpen={() => setOpen(true)}
          />
          <Show when={open()}>
            <div class="open-day">
              <WeekColumns
                model={model()}
                days={days()}
                words={words()}
                fromIndex={index()}
                count={1}
                byDay={byDay()}
                nowMs={session.nowMs()}
                onOpen={setSelected}
                onDay={choose}
              />
            </div>
          </Show>
        </Match>
        <Match when={true}>
          <WeekColumns
            model={model()}
            days={days()}
            words={words()}
            fromIndex={look() === 'week' ? monday() : index()}
            count={look() === 'week' ? 7 : 1}
            byDay={byDay()}
            nowMs={session.nowMs()}
            onOpen={setSelected}
            onDay={(at) => {
              choose(at)
              setLook('day')
            }}
          />
        </Match>
      </Switch>
      <Show when={selected()}>
        {(key) => <TaskPanel taskKey={key()} onClose={() => setSelected(undefined)} onOpen={setSelected} />}
      </Show>
    </div>
  )
}

function WhoSelect(props: { readonly plan: PlanWire; readonly onChange: (who: Who) => void }) {
  const lots = createMemo(() => {
    const named = new Map(props.plan.tasks.filter((t) => t.lotId !== null).map((t) => [t.lotCode, t.lotName]))
    return [...named].sort(([a], [b]) => a.localeCompare(b, 'en', { numeric: true }))
  })
  const teams = () => [...new Set(props.plan.people.map(teamOf))].toSorted()
  const change = (value: string) => {
    const [kind, ...rest] = value.split(' ')
    const id = rest.join(' ')
    if (kind === 'person' || kind === 'team' || kind === 'lot' || kind === 'vessel') props.onChange({ kind, id })
    else props.onChange({ kind: 'all' })
  }
  return (
    <select aria-label="Whose work" onChange={(event) => change(event.currentTarget.value)}>
      <option value="all">Everybody, all lots</option>
      <optgroup label="People">
        <For each={props.plan.people}>{(p) => <option value={`person ${p.id}`}>{p.name}</option>}</For>
      </optgroup>
      <optgroup label="Teams">
        <For each={teams()}>{(team) => <option value={`team ${team}`}>{team}</option>}</For>
      </optgroup>
      <optgroup label="Lots">
        <For each={lots()}>{([code, name]) => <option value={`lot ${code}`}>{`${code} ${name}`}</option>}</For>
      </optgroup>
      <optgroup label="Vessels">
        <For each={props.plan.vessels}>{(v) => <option value={`vessel ${v.code}`}>{v.code}</option>}</For>
      </optgroup>
    </select>
  )
}
