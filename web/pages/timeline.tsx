import { createEffect, createMemo, createSignal, For, Show } from 'solid-js'
import { ground } from '../ground.ts'
import { DAY, NIGHT } from '../palette.ts'
import { Ask, Empty } from '../parts/states.tsx'
import { TaskPanel } from '../parts/task-panel.tsx'
import { type PlanWire, usePlan } from '../queries.ts'
import { useSession } from '../session.tsx'
import { Chart } from '../timeline/chart.tsx'
import { layDays } from '../timeline/days.ts'
import { layLoad } from '../timeline/load.ts'
import { buildModel } from '../timeline/model.ts'
import type { Move } from '../timeline/move.ts'
import { ARRANGED, type Arrangement, arrangeRows, type RowsBy } from '../timeline/rows.ts'
import { DAY_MS } from '../timeline/scale.ts'
import { moveRules } from '../timeline/verdict.ts'
import { type Span, spanAround, type View } from '../timeline/view.ts'
import { wordsFor } from '../timeline/words.ts'
import '../timeline/timeline.css'

/** The winemaker's desk: what the wine does and what people do, over the whole vintage. */
export function SeasonPage() {
  const plan = usePlan(() => ({ from: '', to: '' }))
  return (
    <Ask query={plan} what="the season">
      {(answer) => (
        <Show when={answer().tasks.length + answer().phases.length > 0} fallback={<NothingYet />}>
          <Season plan={answer()} />
        </Show>
      )}
    </Ask>
  )
}

const NothingYet = () => (
  <Empty title="No lot has a plan yet">
    <p>
      The season draws itself from lots. <a href="/lots/new">Add the first lot</a> and its work appears here.
    </p>
  </Empty>
)

const BY: readonly (readonly [RowsBy, string])[] = [
  ['lot', 'Lots'],
  ['vessel', 'Vessels'],
  ['person', 'People'],
  ['machine', 'Machines'],
]
const SPANS: readonly (readonly [Span, string])[] = [
  ['day', 'Day'],
  ['week', 'Week'],
  ['month', 'Month'],
  ['season', 'Season'],
  ['all', 'All'],
]

function Season(props: { readonly plan: PlanWire }) {
  const session = useSession()
  const zone = () => session.cellar().zone
  const model = createMemo(() => buildModel(props.plan))
  const days = createMemo(() => layDays(model().firstMs - 60 * DAY_MS, model().lastMs + 60 * DAY_MS, zone()))
  const words = createMemo(() => wordsFor(session.person().language || 'en', zone()))
  const load = createMemo(() => layLoad(model(), days()))
  const nowMs = () => session.nowMs()
  const rules = createMemo(() => moveRules(model(), days(), words(), nowMs()))
  const [arrangement, setArrangement] = createSignal<Arrangement>(ARRANGED)
  const rows = createMemo(() => arrangeRows(model(), arrangement(), nowMs()))
  const [view, setView] = createSignal<View>(spanAround('month', nowMs(), days(), model()))
  const [selected, setSelected] = createSignal<string>()
  const [move, setMove] = createSignal<Move>()
  const [bodyPx, setBodyPx] = createSignal(700)
  const rowPx = () => Math.max(24, Math.min(48, Math.floor((bodyPx() - 106) / Math.max(1, rows().length))))
  const palette = () => (ground() === 'night' ? NIGHT : DAY)
  const selectedIx = () => (selected() === undefined ? undefined : model().ixOf.get(selected() as string))
  return (
    <div class="season">
      <div class="season-bar">
        <h1>
          Season{' '}
          <span>
            {words().day(view().fromMs)} to {words().day(view().toMs)}
          </span>
        </h1>
        <fieldset class="words" aria-label="Rows">
          <For each={BY}>
            {([by, word]) => (
              <button
                type="button"
                aria-pressed={arrangement().by === by}
                onClick={() => setArrangement({ ...arrangement(), by })}
              >
                {word}
              </button>
            )}
          </For>
        </fieldset>
        <fieldset class="words" aria-label="Time shown">
          <For each={SPANS}>
            {([span, word]) => (
              <button
                type="button"
                onClick={() => setView({ ...spanAround(span, nowMs(), days(), model()), scrollPx: view().scrollPx })}
              >
                {word}
              </button>
            )}
          </For>
        </fieldset>
      </div>
      <Chart
        model={model()}
        rows={rows()}
        days={days()}
        load={load()}
        words={words()}
        rules={rules()}
        palette={palette()}
        nowMs={nowMs()}
        view={view()}
        onView={setView}
        rowPx={rowPx()}
        gutterPx={176}
        stripPx={56}
        textPx={12}
        font="system-ui, sans-serif"
        {...(selectedIx() !== undefined && { selectedIx: selectedIx() as number })}
        {...(move() && { move: move() as Move })}
        mayMove={session.leads()}
        onSelect={(members) =>
          setSelected(members.length === 1 ? model().plan.tasks[members[0] as number]?.key : undefined)
        }
        onRow={() => {}}
        onMove={setMove}
        onDrop={() => setMove(undefined)}
        onSize={(_, heightPx) => setBodyPx(heightPx)}
      />
      <Show when={selected()}>
        {(key) => <TaskPanel taskKey={key()} onClose={() => setSelected(undefined)} onOpen={setSelected} />}
      </Show>
    </div>
  )
}
