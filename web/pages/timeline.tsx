import { createMemo, createSignal, onCleanup, Show } from 'solid-js'
import type { TaskWire } from '../../api/wire.ts'
import { post, taskPath } from '../api.ts'
import { ground } from '../ground.ts'
import { Ask, Empty } from '../parts/states.tsx'
import { TaskPanel } from '../parts/task-panel.tsx'
import { toast, toastError } from '../parts/toast.tsx'
import { type PlanWire, usePlan, useTaskWrite } from '../queries.ts'
import { useSession } from '../session.tsx'
import { createPalette } from '../timeline/grounds.tsx'
import { Pocket } from '../timeline/pocket.tsx'
import { PrintDialog } from '../timeline/print-dialog.tsx'
import type { Arrangement } from '../timeline/rows.ts'
import { type MoveWish, type Preview, Season, type SeasonActs } from '../timeline/season.tsx'
import type { View } from '../timeline/view.ts'

/** The winemaker's desk: what the wine does and what people do, over the whole vintage. */
export function SeasonPage() {
  const plan = usePlan(() => ({ from: '', to: '' }))
  return (
    <Ask query={plan} what="the season">
      {(answer) => (
        <Show when={answer().tasks.length + answer().phases.length > 0} fallback={<NothingYet />}>
          <Desk plan={answer()} />
        </Show>
      )}
    </Ask>
  )
}

const NothingYet = () => (
  <div class="alone">
    <Empty title="No lot has a plan yet">
      <p>
        The season draws itself from lots. <a href="/lots/new">Add the first lot</a> and its work appears here.
      </p>
    </Empty>
  </div>
)

function Desk(props: { readonly plan: PlanWire }) {
  const session = useSession()
  const palette = createPalette(ground)
  const narrow = createNarrow()
  const acts = createActs(() => props.plan.tasks)
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
            mayMove={session.leads()}
            acts={acts}
            selected={selected()}
            onSelect={setSelected}
            onPrint={(view, arrangement) => setPrinting({ view, arrangement })}
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
        )}
      </Show>
    </>
  )
}

function createActs(tasks: () => readonly TaskWire[]): SeasonActs {
  const write = useTaskWrite()
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
          body: { startAt: wish.startAt, ...(wish.people && { people: wish.people }) },
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
  }
}

/** Under 45 rem a chart of all rows is not the first thing anybody should see. */
function createNarrow(): () => boolean {
  const query = matchMedia('(max-width: 45rem)')
  const [narrow, setNarrow] = createSignal(query.matches)
  const follow = () => setNarrow(query.matches)
  query.addEventListener('change', follow)
  onCleanup(() => query.removeEventListener('change', follow))
  return narrow
}
