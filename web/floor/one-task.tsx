import { useNavigate, useSearchParams } from '@solidjs/router'
import { createMemo, createSignal, Match, Show, Switch } from 'solid-js'
import type { LotWire, PersonWire, ReadingWire, TaskWire } from '../../api/wire.ts'
import { msOf } from '../format.ts'
import { ofTask } from '../offline/index.ts'
import { Button } from '../parts/button.tsx'
import { useSession } from '../session.tsx'
import { say, sayCaution, sayStep } from '../words/words.ts'
import { createTelling } from './acting.ts'
import { CautionGate } from './caution-gate.tsx'
import { DoseBlock } from './dose-block.tsx'
import { FateLines } from './fate-line.tsx'
import { FinishForm, needsForm } from './finish-form.tsx'
import { troubleWord } from './floor-words.ts'
import { PhotoField } from './photo-field.tsx'
import { type FloorAct, tell, tellTask } from './send.ts'
import { LastValues, TaskHead, TaskSteps } from './task-head.tsx'
import { TroubleForm } from './trouble-form.tsx'
import { UndoMinute } from './undo-minute.tsx'
import { VesselCheck } from './vessel-check.tsx'
import { isOpen, placesOf } from './walk.ts'
import { WordsForm } from './words-form.tsx'

type Mode = 'look' | 'finish' | 'trouble' | 'skip' | 'note'

/** What it is, what is told of it, and how each of these is told. */
export function OneTask(props: {
  /** As it will stand once what waits on this phone is stored. */
  readonly task: TaskWire
  /** As the cellar has it. */
  readonly plain: TaskWire
  readonly people: readonly PersonWire[]
  readonly readings: readonly ReadingWire[]
  readonly lot: LotWire | undefined
}) {
  const session = useSession()
  const navigate = useNavigate()
  const telling = createTelling()
  const [params, setParams] = useSearchParams<{ do?: string }>()
  const [mode, setMode] = createSignal<Mode>(params.do === 'done' ? 'finish' : 'look')
  const [seen, setSeen] = createSignal(false)
  const [isVesselOk, setVesselOk] = createSignal(false)
  const [justDone, setJustDone] = createSignal<string>()
  const task = () => props.task
  const names = createMemo(() => new Map(props.people.map((person) => [person.id, person])))
  const needsCaution = () => task().caution !== '' && task().state !== 'underway'
  const hasVessel = () => placesOf(task()).length > 0
  const mayStart = () => (!needsCaution() || seen()) && (!hasVessel() || isVesselOk() || task().state === 'underway')
  /** Closed within the last minute, by whatever phone. */
  const isFresh = () => {
    const at = task().doneAt
    return at !== undefined && session.nowMs() - msOf(at) < 60_000
  }
  const isJustBegun = () => {
    const at = task().taken?.at
    return (
      ofTask(task().key).some((op) => op.kind === 'start') || (at !== undefined && session.nowMs() - msOf(at) < 60_000)
    )
  }
  const open = (next: Mode) => {
    telling.forget()
    setMode(next)
  }

  const label = (words: string) =>
    [words, sayStep(task()), task().lotCode, placesOf(task())[0]].filter(Boolean).join(', ')
  const act = (kind: FloorAct, body: Readonly<Record<string, unknown>>, words: string) =>
    telling.tell(() => tellTask(props.plain, kind, body, label(words)), '')
  /** The caution that was read is an entry of its own, before what it stood in front of. */
  const cautionFirst = async (): Promise<boolean> =>
    !needsCaution() ||
    (await act('caution', { reason: sayCaution(task().caution).slice(0, 1000) }, say('cautionKept'))) !== undefined
  const start = async () => {
    if (await cautionFirst()) await act('start', {}, say('started'))
  }
  const finish = async (body: Readonly<Record<string, unknown>>) => {
    if (!(await cautionFirst())) return
    const opId = await act('done', body, say('doneSaid'))
    if (opId === undefined) return
    setJustDone(opId)
    setMode('look')
    setParams({ do: undefined })
  }
  const tapDone = () => (needsForm(task()) ? open('finish') : void finish({}))
  const undo = async () => {
    if (await act('undo', {}, say('takenBack'))) setJustDone(undefined)
  }
  const skip = async (reason: string) => {
    const isTold =
      task().leaving === 'no'
        ? await telling.tell(
            () =>
              tell(
                'trouble',
                { kind: 'other', taskKey: task().key, ...about(), words: reason },
                label(say('notPossible')),
              ),
            say('toldWinemaker'),
          )
        : await act('skip', { reason }, say('leftOutSaid'))
    if (isTold) open('look')
  }
  const about = () => ({
    ...(task().lotId ? { lot: task().lotCode } : {}),
    ...(placesOf(task())[0] ? { vessel: placesOf(task())[0] } : {}),
  })
  return (
    <article class="floor-task" data-task={task().key} data-state={task().state}>
      <TaskHead task={task()} lot={props.lot} people={names()} />
      <Show when={telling.refused()}>
        <p class="note bad" role="alert">
          <b>{say('refused')}</b> {telling.refusedWords()}
        </p>
      </Show>
      <FateLines taskKey={task().key} />
      <Switch>
        <Match when={!isOpen(task())}>
          <div class="note done-note" role="status">
            <p>
              <b>{task().state === 'skipped' ? say('leftOut') : say('done')}</b>{' '}
              <Show when={task().doneAt}>{(at) => <>{session.format().time(at())}</>}</Show> {task().skipReason}
            </p>
          </div>
          <div class="floor-acts">
            <Button kind="main" big onClick={() => navigate('/today')}>
              {say('nextTask')}
            </Button>
            <Show when={session.works() && (justDone() !== undefined || isFresh())}>
              <UndoMinute busy={telling.busy()} onUndo={() => void undo()} />
            </Show>
          </div>
        </Match>
        <Match when={mode() === 'trouble'}>
          <TroubleForm
            busy={telling.busy()}
            onBack={() => open('look')}
            onTell={async (kind, said) => {
              const isTold = await telling.tell(
                () => tell('trouble', { kind, taskKey: task().key, ...about(), words: said }, label(troubleWord(kind))),
                say('troubleSaid', { what: troubleWord(kind) }),
              )
              if (isTold) open('look')
            }}
          />
        </Match>
        <Match when={mode() === 'skip' || mode() === 'note'}>
          <WordsForm
            task={task()}
            isSkip={mode() === 'skip'}
            busy={telling.busy()}
            onBack={() => open('look')}
            onTell={async (words) => {
              if (mode() === 'skip') return skip(words)
              if (await act('note', { note: words }, say('noted'))) open('look')
            }}
          />
        </Match>
        <Match when={mode() === 'finish'}>
          <Show when={needsCaution() && session.works()}>
            <CautionGate caution={task().caution} seen={seen()} onSeen={setSeen} />
          </Show>
          <Show when={hasVessel() && task().state !== 'underway' && session.works()}>
            <VesselCheck codes={placesOf(task())} ok={isVesselOk()} onOk={() => setVesselOk(true)} />
          </Show>
          <Show when={mayStart()}>
            <DoseBlock task={task()} />
            <FinishForm
              task={task()}
              readings={props.readings}
              fruit={props.lot?.fruit}
              people={props.people}
              busy={telling.busy()}
              onBack={() => open('look')}
              onDone={(body) => void finish(body)}
            />
          </Show>
        </Match>
        <Match when={true}>
          <TaskSteps task={task()} />
          <DoseBlock task={task()} />
          <LastValues task={task()} readings={props.readings} />
          <Show when={session.works()}>
            <Show when={hasVessel() && task().state !== 'underway'}>
              <VesselCheck codes={placesOf(task())} ok={isVesselOk()} onOk={() => setVesselOk(true)} />
            </Show>
            <Show when={needsCaution()}>
              <CautionGate caution={task().caution} seen={seen()} onSeen={setSeen} />
            </Show>
            <div class="floor-acts">
              <Show
                when={task().state === 'underway'}
                fallback={
                  <Button kind="main" big pending={telling.busy()} disabled={!mayStart()} onClick={() => void start()}>
                    {say('start')}
                  </Button>
                }
              >
                <Button kind="main" big pending={telling.busy()} onClick={tapDone}>
                  {say('done')}
                </Button>
              </Show>
              <Show when={task().state !== 'underway'}>
                <Button pending={telling.busy()} onClick={() => open('finish')}>
                  {say('alreadyDoneTap')}
                </Button>
              </Show>
              <Button onClick={() => open('trouble')}>{say('problem')}</Button>
              <Button onClick={() => open('skip')}>{say('notPossible')}</Button>
              <Button onClick={() => open('note')}>{say('note')}</Button>
              <PhotoField about={{ taskKey: task().key, ...about() }} />
              <Show when={task().state === 'underway' && isJustBegun()}>
                <UndoMinute busy={telling.busy()} onUndo={() => void undo()} />
              </Show>
            </div>
          </Show>
        </Match>
      </Switch>
    </article>
  )
}
