import { createMemo, createSignal, For, Show, untrack } from 'solid-js'
import { roundsOf } from '../calendar/rounds.ts'
import { TaskLine } from '../calendar/task-line.tsx'
import type { Palette } from '../palette.ts'
import { Chart } from './chart.tsx'
import { dayIndex, layDays } from './days.ts'
import { eachTouching } from './interval.ts'
import { layLoad } from './load.ts'
import { buildModel, type SeasonPlan } from './model.ts'
import { ARRANGED, arrangeRows } from './rows.ts'
import { moveRules } from './rules.ts'
import { DAY_MS } from './scale.ts'
import { type Span, spanAround, type View } from './view.ts'
import { wordsFor } from './words.ts'
import './timeline.css'
import './pocket.css'
import '../calendar/calendar.css'

const SPANS: readonly (readonly [Span, string])[] = [
  ['week', 'Week'],
  ['month', 'Month'],
  ['all', 'All'],
]

/** The season in a pocket: one lot, tall, and under it its work as a list that a wet thumb can read. */
export function Pocket(props: {
  readonly plan: SeasonPlan
  readonly zone: string
  readonly language: string
  readonly nowMs: number
  readonly palette: Palette
  readonly onSelect: (key: string | undefined) => void
}) {
  const model = createMemo(() => buildModel(props.plan, undefined, props.zone))
  const days = createMemo(() => layDays(model().firstMs - 90 * DAY_MS, model().lastMs + 90 * DAY_MS, props.zone))
  const words = createMemo(() => wordsFor(props.language, props.zone))
  const load = createMemo(() => layLoad(model(), days()))
  const rules = createMemo(() => moveRules(model(), days(), words(), props.nowMs))
  const lots = createMemo(() => arrangeRows(model(), { ...ARRANGED, sort: 'next' }, props.nowMs))
  const byName = createMemo(() => arrangeRows(model(), ARRANGED, props.nowMs))
  // What is due next comes first, whichever lot that is.
  const [lotId, setLotId] = createSignal(
    untrack(() => lots().find((r) => r.bands.ix.length > 0)?.id ?? lots()[0]?.id ?? ''),
  )
  const rows = createMemo(() => lots().filter((r) => r.id === lotId()))
  const [view, setView] = createSignal<View>(untrack(() => spanAround('week', props.nowMs, days(), model())))
  const inSight = createMemo(() => {
    const list: number[] = []
    const row = rows()[0]
    if (row)
      eachTouching(
        row.tasks,
        (ix) => model().endMs[ix] as number,
        view().fromMs,
        view().toMs,
        (ix) => list.push(ix),
      )
    return list
  })
  /** What is done before today lies above, in the chart; the list begins with today and what is late. */
  const ahead = createMemo(() => {
    const todayMs = days().startMs[dayIndex(days(), props.nowMs)] as number
    const list = inSight().filter((ix) => (model().startMs[ix] as number) >= todayMs || model().state[ix] !== 3)
    return list.length > 0 ? list : inSight()
  })
  const byDay = createMemo(() => {
    const days = new Map<string, number[]>()
    for (const ix of ahead()) {
      const name = words().day(model().startMs[ix] as number)
      days.set(name, [...(days.get(name) ?? []), ix])
    }
    return [...days]
  })
  return (
    <div class="pocket">
      <h1 class="visually-hidden">Season</h1>
      <div class="pocket-head">
        <select aria-label="Lot" value={lotId()} onChange={(event) => setLotId(event.currentTarget.value)}>
          <For each={byName()}>{(row) => <option value={row.id}>{`${row.label} ${row.note}`}</option>}</For>
        </select>
        <fieldset class="words" aria-label="Time shown">
          <For each={SPANS}>
            {([span, word]) => (
              <button type="button" onClick={() => setView(spanAround(span, props.nowMs, days(), model()))}>
                {word}
              </button>
            )}
          </For>
        </fieldset>
      </div>
      <div class="pocket-chart">
        <Chart
          model={model()}
          rows={rows()}
          days={days()}
          load={load()}
          words={words()}
          rules={rules()}
          palette={props.palette}
          nowMs={props.nowMs}
          view={view()}
          onView={setView}
          rowPx={72}
          gutterPx={12}
          stripPx={0}
          textPx={16}
          font="system-ui, sans-serif"
          mayMove={false}
          onSelect={(members) =>
            props.onSelect(members.length > 0 ? model().plan.tasks[members[0] as number]?.key : undefined)
          }
          onRow={() => undefined}
          onMove={() => undefined}
          onDrop={() => undefined}
        />
      </div>
      <Show when={byDay().length > 0} fallback={<p class="quiet">No work on this lot in these days.</p>}>
        <For each={byDay()}>
          {([name, tasks]) => (
            <section>
              <h2>{name}</h2>
              <ul>
                <For each={roundsOf(model(), tasks)}>
                  {(round) => <TaskLine model={model()} round={round} words={words()} onOpen={props.onSelect} />}
                </For>
              </ul>
            </section>
          )}
        </For>
      </Show>
    </div>
  )
}
