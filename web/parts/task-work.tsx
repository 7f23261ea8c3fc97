import { createSignal, For, Show } from 'solid-js'
import type { TaskWire } from '../../api/wire.ts'
import { type Problem, post, taskPath } from '../api.ts'
import { useReadings, useWrite } from '../queries.ts'
import { kindsFor, lastReading, readingInput } from '../readings.ts'
import { useSession } from '../session.tsx'
import { Button } from './button.tsx'
import { Dialog } from './dialog.tsx'
import { DoseLines } from './dose-lines.tsx'
import { Check, NumberField, TextArea, TextField } from './field.tsx'
import { ReadingStepper } from './reading-stepper.tsx'
import { createTaskActs } from './task-acts.ts'
import { toast, toastError } from './toast.tsx'

export const isOpen = (task: TaskWire): boolean =>
  task.state === 'planned' || task.state === 'due' || task.state === 'blocked' || task.state === 'underway'

type Sheet = 'start' | 'done' | 'skip' | 'problem'

/** Start, done, problem, not possible. A caution stands before the start and must be tapped away by whoever starts. */
export function TaskActs(props: { readonly task: TaskWire; readonly compact?: boolean }) {
  const session = useSession()
  const { act, write } = createTaskActs()
  const [sheet, setSheet] = createSignal<Sheet>()
  const needsSheet = (kind: 'start' | 'done') =>
    (props.task.caution !== '' && (kind === 'start' || props.task.state !== 'underway')) ||
    (kind === 'done' && (props.task.records.length > 0 || props.task.doses.length > 0))
  const go = (kind: 'start' | 'done') => (needsSheet(kind) ? setSheet(kind) : void act(props.task, kind))
  return (
    <Show when={session.works()}>
      <Show
        when={isOpen(props.task)}
        fallback={
          <Show when={props.task.state !== 'cancelled'}>
            <Button kind="plain" pending={write.isPending} onClick={() => void act(props.task, 'undo')}>
              Undo
            </Button>
          </Show>
        }
      >
        <Button kind="main" pending={write.isPending} onClick={() => go('done')}>
          Done
        </Button>
        <Show when={props.task.state !== 'underway'}>
          <Button pending={write.isPending} onClick={() => go('start')}>
            Start
          </Button>
        </Show>
        <Button kind="plain" onClick={() => setSheet('problem')}>
          Problem
        </Button>
        <Button kind="plain" onClick={() => setSheet('skip')}>
          Not possible
        </Button>
      </Show>
      <Show when={sheet()}>
        {(kind) => (
          <WorkSheet
            task={props.task}
            kind={kind()}
            act={act}
            pending={write.isPending}
            close={() => setSheet(undefined)}
          />
        )}
      </Show>
    </Show>
  )
}

const TITLES: Readonly<Record<Sheet, string>> = {
  start: 'Before you start',
  done: 'Done',
  skip: 'Not possible',
  problem: 'A problem',
}

function WorkSheet(props: {
  readonly task: TaskWire
  readonly kind: Sheet
  readonly pending: boolean
  readonly act: ReturnType<typeof createTaskActs>['act']
  readonly close: () => void
}) {
  const session = useSession()
  const [seen, setSeen] = createSignal(false)
  const [words, setWords] = createSignal('')
  const [amounts, setAmounts] = createSignal<readonly (number | undefined)[]>(
    props.task.doses.map((dose) => dose.amount),
  )
  const scaleOf = (dose: TaskWire['doses'][number]) => session.format().doseScale(dose.amount, dose.unit)
  const shownAmount = (dose: TaskWire['doses'][number], amount: number | undefined) =>
    amount === undefined || scaleOf(dose).per === 1 ? amount : Number((amount / scaleOf(dose).per).toPrecision(4))
  const [batches, setBatches] = createSignal<readonly string[]>(props.task.doses.map(() => ''))
  const [movedL, setMovedL] = createSignal<number>()
  const moves = () => props.kind === 'done' && props.task.lotId !== null && props.task.toVessels.length > 0
  const [values, setValues] = createSignal<Readonly<Record<string, number | undefined>>>({})
  const measures = () => (props.kind === 'done' ? kindsFor(props.task.records, session.format()) : [])
  const caution = () =>
    props.task.caution !== '' && (props.kind === 'start' || (props.kind === 'done' && props.task.state !== 'underway'))
  const readings = useReadings(() => (measures().length > 0 ? (props.task.lotId ?? undefined) : undefined))
  const mayGo = () => !caution() || seen()

  // What really went in, not what was asked for: the register stands on it.
  const added = () =>
    props.kind !== 'done'
      ? []
      : props.task.doses.flatMap((dose, at) => {
          const amount = amounts()[at]
          if (amount === undefined || amount === 0) return []
          const batchNo = batches()[at]?.trim()
          return [
            { product: dose.product, amount, unit: dose.unit, treatedL: dose.volumeL, ...(batchNo ? { batchNo } : {}) },
          ]
        })
  const [doubts, setDoubts] = createSignal<readonly string[]>([])
  /** The caution that was read is an entry of its own, before what it stood in front of. */
  const cautionKept = async (): Promise<boolean> => {
    if (!caution()) return true
    try {
      await post(taskPath(props.task.key, 'caution'), {
        opId: crypto.randomUUID(),
        reason: props.task.caution.slice(0, 1000),
      })
      return true
    } catch (error) {
      toastError(error)
      return false
    }
  }
  const report = useWrite((told: Readonly<Record<string, unknown>>) => post('/api/troubles', told))
  const tellTrouble = async () => {
    try {
      await report.mutateAsync({
        id: crypto.randomUUID(),
        kind: 'other',
        taskKey: props.task.key,
        ...(props.task.lotId ? { lot: props.task.lotId } : {}),
        words: words(),
      })
      toast('The winemaker is told.')
      props.close()
    } catch (error) {
      toastError(error)
    }
  }
  const send = async () => {
    if (props.kind === 'problem') return tellTrouble()
    const measured = measures().flatMap((kind) => {
      const shown = values()[kind]
      return shown === undefined
        ? []
        : [{ kind, value: readingInput(kind, session.format()).stored(shown), confirmed: doubts().length > 0 }]
    })
    const body =
      props.kind === 'skip'
        ? { reason: words() }
        : {
            ...(words() ? { note: words() } : {}),
            ...(measured.length ? { readings: measured } : {}),
            ...(added().length ? { additions: added() } : {}),
            ...(movedL() === undefined
              ? {}
              : { volumeL: session.format().volumeL(movedL() ?? 0), vessels: props.task.toVessels }),
          }
    const asked = (problem: Problem) => {
      if (!problem.type.endsWith('measure-again')) return false
      setDoubts((problem.errors ?? []).map((entry) => entry.detail))
      return true
    }
    if (doubts().length === 0 && !(await cautionKept())) return
    if (await props.act(props.task, props.kind, body, asked)) props.close()
  }

  return (
    <Dialog
      open
      onClose={props.close}
      title={`${TITLES[props.kind]}: ${props.task.name}`}
      description={`${props.task.lotCode} ${props.task.lotName}`}
    >
      <form
        class="stack"
        onSubmit={(event) => {
          event.preventDefault()
          void send()
        }}
      >
        <Show when={caution()}>
          <div class="note caution">
            <p>{props.task.caution}</p>
            <Check label="I have read this and made it so" checked={seen()} onInput={setSeen} />
          </div>
        </Show>
        <Show when={props.kind === 'done' && props.task.doses.length > 0}>
          <DoseLines task={props.task} />
          <For each={props.task.doses}>
            {(dose, at) => (
              <div class="row top">
                <NumberField
                  class="short"
                  label={`Put in: ${dose.product}`}
                  unit={scaleOf(dose).unit}
                  min={0}
                  value={shownAmount(dose, amounts()[at()])}
                  onInput={(shown) =>
                    setAmounts((now) => now.with(at(), shown === undefined ? undefined : shown * scaleOf(dose).per))
                  }
                />
                <TextField
                  class="short"
                  label="Batch number"
                  value={batches()[at()] ?? ''}
                  maxLength={60}
                  onInput={(batch) => setBatches((now) => now.with(at(), batch))}
                />
              </div>
            )}
          </For>
        </Show>
        <Show when={moves()}>
          <NumberField
            class="short"
            label="Volume that arrived, if measured"
            unit={session.format().volumeUnit}
            min={0}
            value={movedL()}
            onInput={setMovedL}
          />
        </Show>
        <Show when={measures().length > 0}>
          <div class="columns">
            <For each={measures()}>
              {(kind) => (
                <ReadingStepper
                  kind={kind}
                  value={values()[kind]}
                  last={lastReading((readings.dataUpdatedAt > 0 && readings.data?.readings) || [], kind)}
                  onInput={(value) => {
                    setDoubts([])
                    setValues((now) => ({ ...now, [kind]: value }))
                  }}
                />
              )}
            </For>
          </div>
        </Show>
        <Show when={doubts().length > 0}>
          <div class="note fresh" role="alert">
            <For each={doubts()}>{(words) => <p>{words}</p>}</For>
            <p>Nothing is written yet. Measure again, or say that it stands.</p>
          </div>
        </Show>
        <TextArea
          label={props.kind === 'skip' ? 'Why not' : props.kind === 'problem' ? 'What is wrong' : 'Note'}
          hint={
            props.kind === 'skip'
              ? 'A reason is kept with your name.'
              : props.kind === 'problem'
                ? 'Smell, leak, foam, heat, broken machine: the winemaker sees it at once.'
                : 'Only if something was otherwise.'
          }
          rows={2}
          value={words()}
          onInput={setWords}
        />
        <div class="row end">
          <Button onClick={props.close}>Back</Button>
          <Button
            kind="main"
            type="submit"
            pending={props.pending}
            disabled={!mayGo() || ((props.kind === 'skip' || props.kind === 'problem') && words().trim() === '')}
          >
            {props.kind === 'start'
              ? 'Start'
              : props.kind === 'done'
                ? doubts().length > 0
                  ? 'It stands: done'
                  : 'Done'
                : props.kind === 'skip'
                  ? 'Leave it out'
                  : 'Tell it'}
          </Button>
        </div>
      </form>
    </Dialog>
  )
}
