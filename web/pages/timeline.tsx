import { useSearchParams } from '@solidjs/router'
import { useQuery } from '@tanstack/solid-query'
import { createMemo, createSignal, lazy, onCleanup, Show, Suspense } from 'solid-js'
import type { ReadingWire } from '../../api/wire.ts'
import { get, query } from '../api.ts'
import { ground } from '../ground.ts'
import { atRest } from '../parts/at-rest.ts'
import { Ask, Empty } from '../parts/states.tsx'
import { type DemandWire, type PlanWire, usePlan, whole } from '../queries.ts'
import { useSession } from '../session.tsx'
import { createPalette } from '../timeline/grounds.tsx'
import { wireOfMs } from '../timeline/model.ts'
import type { Arrangement } from '../timeline/rows.ts'
import { Season } from '../timeline/season.tsx'
import type { View } from '../timeline/view.ts'
import { type TrialPlanWire, useTrialPlan } from '../trial-queries.ts'
import { createActs } from './season-acts.ts'

const panel = () => import('../parts/task-panel.tsx')
const TaskPanel = lazy(async () => ({ default: (await panel()).TaskPanel }))
const Pocket = lazy(async () => ({ default: (await import('../timeline/pocket.tsx')).Pocket }))
const PrintDialog = lazy(async () => ({ default: (await import('../timeline/print-dialog.tsx')).PrintDialog }))

/** The winemaker's desk: what the wine does and what people do, over the whole vintage; or a trial against it. */
export function SeasonPage() {
  const plan = usePlan(() => ({ from: '', to: '' }))
  const [search] = useSearchParams()
  const trialId = () => (typeof search.trial === 'string' ? search.trial : '')
  return (
    <Ask query={plan} what="the season">
      {(answer) => (
        <Show when={answer().tasks.length + answer().phases.length > 0} fallback={<NothingYet />}>
          <Show when={trialId()} keyed fallback={<Desk plan={answer()} />}>
            {(id) => <TrialDesk id={id} real={answer()} />}
          </Show>
        </Show>
      )}
    </Ask>
  )
}

function TrialDesk(props: { readonly id: string; readonly real: PlanWire }) {
  const trial = useTrialPlan(() => props.id)
  return (
    <Ask query={trial} what="the trial">
      {(answer) => <Desk plan={{ ...props.real, ...planPart(answer()) }} trial={{ ...answer(), real: props.real }} />}
    </Ask>
  )
}

const planPart = ({ tasks, phases, broken, conflicts }: TrialPlanWire) => ({ tasks, phases, broken, conflicts })

const NothingYet = () => (
  <div class="alone">
    <Empty title="No lot has a plan yet">
      <p>
        The season draws itself from lots. <a href="/lots/new">Add the first lot</a> and its work appears here.
      </p>
    </Empty>
  </div>
)

interface DeskProps {
  readonly plan: PlanWire
  readonly trial?: TrialPlanWire & { readonly real: PlanWire }
}

function Desk(props: DeskProps) {
  const session = useSession()
  const palette = createPalette(ground)
  const narrow = createNarrow()
  const acts = createActs(() => props.plan)
  const [showReadings, setShowReadings] = createSignal(false)
  const readings = useReadingsOn(showReadings)
  const [stands, setStands] = createSignal(false)
  // What nobody sees or opens at first comes when the chart stands.
  onCleanup(
    atRest(() => {
      setStands(true)
      void panel().catch(() => {})
    }),
  )
  const cooling = useCooling(() => session.nowMs(), stands)
  // An answer asked for before it is here would send the whole page back to waiting.
  const coolingNow = () => (cooling.dataUpdatedAt > 0 ? cooling.data : undefined)
  const readingsNow = () => (readings.dataUpdatedAt > 0 ? readings.data?.readings : undefined)
  const language = () => session.person().language || session.cellar().language
  const [selected, setSelected] = createSignal<string>()
  const [printing, setPrinting] = createSignal<{ readonly view: View; readonly arrangement: Arrangement }>()
  // The cellar's clock moves on; the plan on screen need not follow every half minute.
  const nowMs = createMemo(() => Math.floor(session.nowMs() / 60_000) * 60_000)
  return (
    <>
      <Show
        when={narrow()}
        fallback={
          <Season
            plan={props.plan}
            zone={session.cellar().zone}
            language={language()}
            nowMs={nowMs()}
            palette={palette()}
            mayMove={session.leads() && props.trial === undefined}
            acts={acts}
            selected={selected()}
            onSelect={setSelected}
            onPrint={(view, arrangement) => setPrinting({ view, arrangement })}
            {...(coolingNow() && { cooling: coolingNow() as DemandWire })}
            {...(readingsNow() && { readings: readingsNow() as ReadingWire[] })}
            showReadings={showReadings()}
            onReadings={() => setShowReadings(!showReadings())}
            {...(props.trial && {
              trial: { ...props.trial.trial, changed: props.trial.changed, real: props.trial.real },
            })}
          />
        }
      >
        <Suspense>
          <Pocket
            plan={props.plan}
            zone={session.cellar().zone}
            language={language()}
            nowMs={nowMs()}
            palette={palette()}
            onSelect={setSelected}
          />
        </Suspense>
      </Show>
      <Show when={selected()}>
        {(key) => (
          <Suspense>
            <TaskPanel taskKey={key()} onClose={() => setSelected(undefined)} onOpen={setSelected} />
          </Suspense>
        )}
      </Show>
      <Show when={printing()}>
        {(wanted) => (
          <Suspense>
            <PrintDialog
              plan={props.plan}
              zone={session.cellar().zone}
              language={language()}
              nowMs={nowMs()}
              cellarName={`${session.cellar().name}, vintage ${session.cellar().vintage}`}
              view={wanted().view}
              arrangement={wanted().arrangement}
              onClose={() => setPrinting(undefined)}
            />
          </Suspense>
        )}
      </Show>
    </>
  )
}

const DAY_MS = 86_400_000

/** Cold against the chillers, a month ahead: the strip over the chart shows it beside the hours. */
function useCooling(nowMs: () => number, wanted: () => boolean) {
  const from = createMemo(() => Math.floor(nowMs() / DAY_MS) * DAY_MS)
  return useQuery(() => ({
    queryKey: ['demand', 'season', from()],
    queryFn: ({ signal }) =>
      get<DemandWire>(
        `/api/demand${query({ from: wireOfMs(from()), to: wireOfMs(from() + 31 * DAY_MS) })}`,
        signal,
      ).then(whole),
    placeholderData: undefined,
    enabled: wanted(),
  }))
}

const useReadingsOn = (wanted: () => boolean) =>
  useQuery(() => ({
    queryKey: ['readings'],
    queryFn: ({ signal }) => get<{ readings: ReadingWire[] }>('/api/readings', signal),
    enabled: wanted(),
  }))

/** Under 45 rem a chart of all rows is not the first thing anybody should see. */
function createNarrow(): () => boolean {
  const query = matchMedia('(max-width: 45rem)')
  const [narrow, setNarrow] = createSignal(query.matches)
  const follow = () => setNarrow(query.matches)
  query.addEventListener('change', follow)
  onCleanup(() => query.removeEventListener('change', follow))
  return narrow
}
