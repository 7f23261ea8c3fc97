import { useNavigate, useParams } from '@solidjs/router'
import { useQueryClient } from '@tanstack/solid-query'
import { createSignal, For, onCleanup, Show } from 'solid-js'
import { post, remove } from '../api.ts'
import { Button, ButtonLink } from '../parts/button.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { Ask, Failed } from '../parts/states.tsx'
import { TaskPanel } from '../parts/task-panel.tsx'
import { toast, toastError } from '../parts/toast.tsx'
import { usePeople, useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'
import { type TrialPlanWire, type TrialWire, useTrial, useTrialPlan } from '../trial-queries.ts'
import { Moves } from './trial-moves.tsx'
import { Numbers } from './trial-numbers.tsx'
import { TrialState } from './what-if.tsx'

/** One trial beside the plan as it stands, in numbers and task by task; adopted whole or in part, or dropped. */
export function TrialPage() {
  const params = useParams<{ id: string }>()
  const trial = useTrial(() => params.id)
  return (
    <Ask query={trial} what="the trial">
      {(answer) => <OneTrial trial={answer().trial} />}
    </Ask>
  )
}

function OneTrial(props: { readonly trial: TrialWire }) {
  const session = useSession()
  const isOpen = () => props.trial.state === 'open'
  const [stopped, setStopped] = createSignal(false)
  const plan = useTrialPlan(
    () => props.trial.id,
    () => isOpen() && !stopped(),
  )
  const client = useQueryClient()
  const stop = () => {
    setStopped(true)
    void client.cancelQueries({ queryKey: ['trial-plan', props.trial.id] })
  }
  return (
    <>
      <PageHead title="What if" lede={props.trial.name}>
        <ButtonLink kind="plain" href="/what-if">
          All trials
        </ButtonLink>
      </PageHead>
      <Folio title="Tried" note={<TrialState trial={props.trial} />}>
        <ul class="stack tight">
          <For each={props.trial.words}>{(words) => <li>{words}</li>}</For>
        </ul>
      </Folio>
      <Show when={isOpen()} fallback={<Decided trial={props.trial} />}>
        <Show when={stopped() && !plan.isSuccess}>
          <Folio title="Stopped">
            <p>It was not worked out.</p>
            <div class="row">
              <Button onClick={() => setStopped(false)}>Work it out</Button>
            </div>
          </Folio>
        </Show>
        <Show when={plan.isFetching && !stopped()}>
          <Working stop={stop} />
        </Show>
        <Show when={plan.isError && !plan.isFetching && !stopped()}>
          <Failed error={plan.error} again={() => void plan.refetch()} />
        </Show>
        <Show when={!plan.isFetching && plan.dataUpdatedAt > 0 && plan.data}>
          {(answer) => <Comparison plan={answer()} mayDecide={session.leads()} again={() => void plan.refetch()} />}
        </Show>
      </Show>
    </>
  )
}

/** How long it has been going on; a plan of one cellar takes about a second. */
function Working(props: { readonly stop: () => void }) {
  const [seconds, setSeconds] = createSignal(0)
  const timer = setInterval(() => setSeconds((now) => now + 1), 1000)
  onCleanup(() => clearInterval(timer))
  return (
    <Folio title="Working it out">
      <p role="status">Planning the whole cellar on a copy … {seconds()} s</p>
      <progress aria-label="Working it out" />
      <div class="row">
        <Button onClick={props.stop}>Cancel</Button>
      </div>
    </Folio>
  )
}

function Decided(props: { readonly trial: TrialWire }) {
  const session = useSession()
  const undo = useWrite(() =>
    post<{ trial: TrialWire }>(`/api/trials/${props.trial.id}/undo`, { version: props.trial.version }),
  )
  const takeBack = async () => {
    try {
      await undo.mutateAsync(undefined)
      toast('Taken back')
    } catch (error) {
      toastError(error)
    }
  }
  return (
    <Folio title="Decided">
      <p>
        <Show when={props.trial.decidedAt}>{(at) => session.format().moment(at())}</Show>
      </p>
      <Show when={props.trial.state === 'adopted' && session.leads()}>
        <div class="row">
          <Button pending={undo.isPending} onClick={() => void takeBack()}>
            Take all of it back
          </Button>
        </div>
      </Show>
    </Folio>
  )
}

function Comparison(props: { readonly plan: TrialPlanWire; readonly mayDecide: boolean; readonly again: () => void }) {
  const session = useSession()
  const navigate = useNavigate()
  const people = usePeople()
  const nameOf = (id: string) =>
    (people.dataUpdatedAt > 0 && people.data?.people.find((one) => one.id === id)?.name) || id
  const [kept, setKept] = createSignal<ReadonlySet<string>>(new Set())
  const [open, setOpen] = createSignal<string>()
  const trial = () => props.plan.trial
  const undo = useWrite((adopted: TrialWire) =>
    post<{ trial: TrialWire }>(`/api/trials/${adopted.id}/undo`, { version: adopted.version }),
  )
  const adopt = useWrite(() =>
    post<{ trial: TrialWire }>(`/api/trials/${trial().id}/adopt`, { version: trial().version, keep: [...kept()] }),
  )
  const drop = useWrite(() => remove(`/api/trials/${trial().id}`))
  const decide = async () => {
    try {
      const adopted = (await adopt.mutateAsync(undefined)).trial
      toast(
        'Adopted: it is the plan now',
        () => void undo.mutateAsync(adopted).then(() => toast('Taken back'), toastError),
      )
    } catch (error) {
      toastError(error)
    }
  }
  const leave = async () => {
    try {
      await drop.mutateAsync(undefined)
      navigate('/what-if')
    } catch (error) {
      toastError(error)
    }
  }
  return (
    <>
      <Numbers plan={props.plan} nameOf={nameOf} />
      <Show when={props.plan.numbers.freshBroken.length + props.plan.numbers.mendedBroken.length > 0}>
        <Folio title="Rules" note="Against the plan as it stands">
          <ul class="stack tight">
            <For each={props.plan.numbers.freshBroken}>
              {(words) => (
                <li>
                  <b class="late-text">Breaks</b> {words}
                </li>
              )}
            </For>
            <For each={props.plan.numbers.mendedBroken}>
              {(words) => (
                <li>
                  <b>No longer breaks</b> {words}
                </li>
              )}
            </For>
          </ul>
        </Folio>
      </Show>
      <Moves
        changed={props.plan.changed}
        kept={kept()}
        keep={(key, stays) =>
          setKept((now) => {
            const next = new Set(now)
            if (stays) next.add(key)
            else next.delete(key)
            return next
          })
        }
        nameOf={nameOf}
        mayDecide={props.mayDecide}
        open={setOpen}
      />
      <Folio title="Decide">
        <div class="row">
          <Show when={props.mayDecide} fallback={<p class="quiet">A winemaker decides.</p>}>
            <Button kind="main" pending={adopt.isPending} onClick={() => void decide()}>
              {kept().size > 0 ? `Adopt, ${kept().size} stay where they are` : 'Adopt'}
            </Button>
            <Button pending={drop.isPending} onClick={() => void leave()}>
              Drop
            </Button>
          </Show>
          <ButtonLink href={`/season?trial=${trial().id}`}>See it in the season</ButtonLink>
          <Button kind="plain" onClick={props.again}>
            Work it out again
          </Button>
        </div>
        <p class="quiet small">Compared with the plan of {session.format().moment(props.plan.plannedOn.plannedAt)}.</p>
      </Folio>
      <Show when={open()}>
        {(key) => <TaskPanel taskKey={key()} onClose={() => setOpen(undefined)} onOpen={setOpen} />}
      </Show>
    </>
  )
}
