import { A, useNavigate, useParams, useSearchParams } from '@solidjs/router'
import { createMemo, createSignal, For, Match, Show, Switch } from 'solid-js'
import type { LotWire, PersonWire, ReadingWire, TaskWire } from '../../api/wire.ts'
import { msOf } from '../format.ts'
import { ofTask, standing } from '../offline/index.ts'
import { Badge } from '../parts/badge.tsx'
import { Button } from '../parts/button.tsx'
import { TextArea } from '../parts/field.tsx'
import { PegMark, pegState } from '../parts/peg-mark.tsx'
import { Ask } from '../parts/states.tsx'
import { taskReadMs, useLots, usePeople, useReadings, useTask } from '../queries.ts'
import { kindsFor, lastReading, sayReading } from '../readings.ts'
import { useSession } from '../session.tsx'
import { say, sayCaution, sayDetail, sayStep, sayThing, tongue } from '../words/words.ts'
import { createTelling } from './acting.ts'
import { CautionGate } from './caution-gate.tsx'
import { DoseBlock } from './dose-block.tsx'
import { FateLines } from './fate-line.tsx'
import { FinishForm, needsForm } from './finish-form.tsx'
import { familyWord, lasting, namesOf, readingWord, stateWord, troubleWord } from './floor-words.ts'
import { PhotoField } from './photo-field.tsx'
import { type FloorAct, tell, tellTask } from './send.ts'
import { TroubleForm } from './trouble-form.tsx'
import { UndoMinute } from './undo-minute.tsx'
import { VesselCheck } from './vessel-check.tsx'
import { placesOf } from './walk.ts'
import { Where } from './where.tsx'

const OPEN: readonly TaskWire['state'][] = ['planned', 'due', 'blocked', 'underway']

/** One task a screen: where, what, how much, what can hurt, and one thing to press. */
export function TaskScreen() {
  const params = useParams<{ lot: string; step: string; count: string }>()
  // From one task to the next nothing goes along: neither a vessel found right nor a caution read.
  return (
    <Show when={`${params.lot}/${params.step}/${params.count}`} keyed>
      {(key) => <TaskOf taskKey={key} lot={params.lot} />}
    </Show>
  )
}

function TaskOf(props: { readonly taskKey: string; readonly lot: string }) {
  const task = useTask(() => props.taskKey)
  const people = usePeople()
  const lots = useLots()
  const readings = useReadings(() => (props.lot === 'house' ? undefined : props.lot))
  return (
    <section class="floor" lang={tongue()}>
      <p class="floor-back">
        <A href="/today" class="button plain">
          ‹ {say('today')}
        </A>
      </p>
      <Ask query={task} what={say('theTask')}>
        {(row) => (
          <OneTask
            task={standing(row(), taskReadMs(props.taskKey, task))}
            plain={row()}
            people={(people.dataUpdatedAt > 0 && people.data?.people) || []}
            readings={(readings.dataUpdatedAt > 0 && readings.data?.readings) || []}
            lot={(lots.dataUpdatedAt > 0 && lots.data?.lots.find((lot) => lot.id === row().lotId)) || undefined}
          />
        )}
      </Ask>
    </section>
  )
}

type Mode = 'look' | 'finish' | 'trouble' | 'skip' | 'note'

function OneTask(props: {
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
  const format = session.format
  const telling = createTelling()
  const [params, setParams] = useSearchParams<{ do?: string }>()
  const [mode, setMode] = createSignal<Mode>(params.do === 'done' ? 'finish' : 'look')
  const [seen, setSeen] = createSignal(false)
  const [isVesselOk, setVesselOk] = createSignal(false)
  const [words, setWords] = createSignal('')
  const [justDone, setJustDone] = createSignal<string>()
  const task = () => props.task
  const isOpen = () => OPEN.includes(task().state)
  const names = createMemo(() => new Map(props.people.map((person) => [person.id, person])))
  const needsCaution = () => task().caution !== '' && task().state !== 'underway'
  const hasVessel = () => placesOf(task()).length > 0
  const mayStart = () => (!needsCaution() || seen()) && (!hasVessel() || isVesselOk() || task().state === 'underway')
  const leftMin = () => (msOf(task().latestAt) - session.nowMs()) / 60_000
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
    setWords('')
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
  const skip = async () => {
    const reason = words().trim()
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
  const steps = (): readonly string[] => [
    ...(task().materials.length > 0 ? [say('bring', { things: task().materials.map(sayThing).join(', ') })] : []),
    ...(task().machines.length > 0 ? [say('with', { machines: task().machines.join(', ') })] : []),
    ...(task().detail ? [sayDetail(task().detail, format().number)] : []),
    ...(task().records.length > 0
      ? [
          say('writeDown', {
            what: kindsFor(task().records, format())
              .map((kind) => readingWord(kind, format()))
              .join(', '),
          }),
        ]
      : []),
  ]

  return (
    <article class="floor-task" data-task={task().key} data-state={task().state}>
      <Where task={task()} huge most={6} />
      <div class="row">
        <PegMark family={task().family} state={pegState(task())} size="2rem" name={familyWord(task().family)} />
        <h1>{sayStep(task())}</h1>
      </div>
      <p>
        <b>{task().lotId ? `${task().lotCode} ${task().lotName}` : say('house')}</b>
        <Show when={props.lot}>{(lot) => <span class="quiet"> {format().volume(lot().volumeL)}</span>}</Show>
      </p>
      <p class="row">
        <b>{format().span(task().startAt, task().endAt)}</b>
        <Badge kind={task().late && isOpen() ? 'late' : 'strong'}>
          {task().late && isOpen() ? say('late') : stateWord(task())}
        </Badge>
        <Show when={isOpen() && leftMin() > 0 && leftMin() < 24 * 60}>
          <span>{say('latestStart', { time: format().time(task().latestAt), left: lasting(leftMin()) })}</span>
        </Show>
      </p>
      <p>
        <Show
          when={task().taken}
          fallback={
            <span class="quiet">{namesOf(task().donePeople ?? task().people, names()) || say('nobodyYet')}</span>
          }
        >
          {(taken) => (
            <b>{say('takenBy', { name: namesOf([taken().personId], names()), time: format().time(taken().at) })}</b>
          )}
        </Show>
      </p>
      <Show when={telling.refused()}>
        <p class="note bad" role="alert">
          <b>{say('refused')}</b> {telling.refusedWords()}
        </p>
      </Show>
      <FateLines taskKey={task().key} />
      <Switch>
        <Match when={!isOpen()}>
          <div class="note done-note" role="status">
            <p>
              <b>{task().state === 'skipped' ? say('leftOut') : say('done')}</b>{' '}
              <Show when={task().doneAt}>{(at) => <>{format().time(at())}</>}</Show> {task().skipReason}
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
          <form
            class="stack"
            onSubmit={async (event) => {
              event.preventDefault()
              if (mode() === 'skip') return skip()
              if (await act('note', { note: words().trim() }, say('noted'))) open('look')
            }}
          >
            <TextArea
              label={mode() === 'skip' ? say('whyNot') : say('note')}
              hint={mode() === 'skip' ? (task().leaving === 'no' ? say('cannotLeave') : say('reasonKept')) : ''}
              rows={3}
              value={words()}
              onInput={setWords}
            />
            <div class="floor-acts">
              <Button kind="main" big type="submit" pending={telling.busy()} disabled={words().trim() === ''}>
                {mode() === 'note' ? say('keep') : task().leaving === 'no' ? say('tellIt') : say('leaveOut')}
              </Button>
              <Button onClick={() => open('look')}>{say('back')}</Button>
            </div>
          </form>
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
          <ol class="floor-steps">
            <For each={steps()}>{(step) => <li>{step}</li>}</For>
          </ol>
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

/** What was read last, before anything is opened. */
function LastValues(props: { readonly task: TaskWire; readonly readings: readonly ReadingWire[] }) {
  const session = useSession()
  const lasts = () =>
    kindsFor(props.task.records, session.format()).flatMap((kind) => lastReading(props.readings, kind) ?? [])
  return (
    <Show when={lasts().length > 0}>
      <dl class="pairs">
        <For each={lasts()}>
          {(last) => (
            <>
              <dt>{readingWord(last.kind, session.format())}</dt>
              <dd>
                {sayReading(last, session.format())} <span class="quiet">{session.format().moment(last.takenAt)}</span>
              </dd>
            </>
          )}
        </For>
      </dl>
    </Show>
  )
}
