import { useSearchParams } from '@solidjs/router'
import { type QueryClient, useQuery, useQueryClient } from '@tanstack/solid-query'
import { createMemo, createSignal, lazy, onCleanup, Show, Suspense } from 'solid-js'
import type { ReadingWire } from '../../api/wire.ts'
import { get, post, query, remove, taskPath } from '../api.ts'
import { ground } from '../ground.ts'
import { Ask, Empty } from '../parts/states.tsx'
import { TaskPanel } from '../parts/task-panel.tsx'
import { toast, toastError } from '../parts/toast.tsx'
import { type DemandWire, type PlanWire, usePlan, useTaskWrite } from '../queries.ts'
import { useSession } from '../session.tsx'
import type { MoveWish, Preview, SeasonActs } from '../timeline/acts.ts'
import { createPalette } from '../timeline/grounds.tsx'
import { wireOfMs } from '../timeline/model.ts'
import { Pocket } from '../timeline/pocket.tsx'
import type { Arrangement } from '../timeline/rows.ts'
import { Season } from '../timeline/season.tsx'
import type { View } from '../timeline/view.ts'
import { type TrialPlanWire, type TrialWire, useTrialPlan } from '../trial-queries.ts'

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
  const cooling = useCooling(() => session.nowMs())
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
            {...(cooling.data && { cooling: cooling.data })}
            {...(readings.data && { readings: readings.data.readings })}
            showReadings={showReadings()}
            onReadings={() => setShowReadings(!showReadings())}
            {...(props.trial && {
              trial: { ...props.trial.trial, changed: props.trial.changed, real: props.trial.real },
            })}
          />
        }
      >
        <Pocket
          plan={props.plan}
          zone={session.cellar().zone}
          language={language()}
          nowMs={nowMs()}
          palette={palette()}
          onSelect={setSelected}
        />
      </Show>
      <Show when={selected()}>
        {(key) => <TaskPanel taskKey={key()} onClose={() => setSelected(undefined)} onOpen={setSelected} />}
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

function createActs(plan: () => PlanWire): SeasonActs {
  const write = useTaskWrite()
  const client = useQueryClient()
  const tasks = () => plan().tasks
  const undo = async (key: string): Promise<boolean> => {
    try {
      await write.mutateAsync({ key, act: 'undo' })
      toast(`Taken back: ${tasks().find((t) => t.key === key)?.name ?? key}`)
      return true
    } catch (error) {
      toastError(error)
      return false
    }
  }
  return {
    preview: (key: string, wish: MoveWish) => post<Preview>(taskPath(key, 'preview'), wish),
    keep: async (key, wish) => {
      try {
        const answer = await write.mutateAsync({
          key,
          act: 'pin',
          body: {
            startAt: wish.startAt,
            ...(wish.people && { people: wish.people }),
            ...(!wish.andFollows && { andFollows: false }),
          },
        })
        const others = answer.changed.filter((t) => t.key !== key).length
        toast(
          `Moved: ${answer.task.name}, ${answer.task.lotCode}.${others > 0 ? ` ${others} other ${others === 1 ? 'task' : 'tasks'} changed.` : ''}`,
          () => void undo(key),
        )
        return true
      } catch (error) {
        toastError(error)
        return false
      }
    },
    undo,
    ...trialActs(client, () => plan().broken.length),
  }
}

/** What a pin cannot say goes the way of a trial: tried, shown, adopted, and taken back as one. */
function trialActs(client: QueryClient, brokenNow: () => number): Pick<SeasonActs, 'attempt' | 'adopt' | 'drop'> {
  const at = (id: string, act = '') => `/api/trials/${encodeURIComponent(id)}${act && `/${act}`}`
  return {
    attempt: async (change, name) => {
      try {
        const { trial } = await post<{ trial: TrialWire }>('/api/trials', { name, changes: [change] })
        const plan = await get<TrialPlanWire>(at(trial.id, 'plan'))
        const others = plan.changed.length
        const broken = plan.broken.length - brokenNow()
        const words = [
          ...trial.words,
          others === 0 ? 'No task moves.' : `${others} ${others === 1 ? 'task changes' : 'tasks change'}.`,
          broken > 0 ? `${broken} more ${broken === 1 ? 'rule' : 'rules'} would be broken.` : 'No further rule breaks.',
        ]
        return { id: trial.id, version: trial.version, words: words.join(' '), changed: plan.changed }
      } catch (error) {
        toastError(error)
        return undefined
      }
    },
    adopt: async (tried, said) => {
      try {
        const { trial } = await post<{ trial: TrialWire }>(at(tried.id, 'adopt'), { version: tried.version })
        await client.invalidateQueries()
        toast(said, () => {
          post(at(trial.id, 'undo'), { version: trial.version }).then(() => client.invalidateQueries(), toastError)
        })
        return true
      } catch (error) {
        toastError(error)
        return false
      }
    },
    drop: async (tried) => {
      await remove(at(tried.id)).catch(() => undefined)
    },
  }
}

const DAY_MS = 86_400_000

/** Cold against the chillers, a month ahead: the strip over the chart shows it beside the hours. */
function useCooling(nowMs: () => number) {
  const from = createMemo(() => Math.floor(nowMs() / DAY_MS) * DAY_MS)
  return useQuery(() => ({
    queryKey: ['demand', 'season', from()],
    queryFn: ({ signal }) =>
      get<DemandWire>(`/api/demand${query({ from: wireOfMs(from()), to: wireOfMs(from() + 31 * DAY_MS) })}`, signal),
    placeholderData: undefined,
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
