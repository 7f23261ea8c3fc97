import { For, Show } from 'solid-js'
import type { LotWire, PersonWire, ReadingWire, TaskWire } from '../../api/wire.ts'
import { msOf } from '../format.ts'
import { Badge } from '../parts/badge.tsx'
import { PegMark, pegState } from '../parts/peg-mark.tsx'
import { kindsFor, lastReading, sayReading } from '../readings.ts'
import { useSession } from '../session.tsx'
import { isByDay } from '../when.ts'
import { say, sayDetail, sayStep, sayThing } from '../words/words.ts'
import { familyWord, lasting, namesOf, readingWord, stateWord } from './floor-words.ts'
import { isOpen } from './walk.ts'
import { Where } from './where.tsx'

/** Where, what, of which wine, when, how it stands and who has it. */
export function TaskHead(props: {
  readonly task: TaskWire
  readonly lot: LotWire | undefined
  readonly people: ReadonlyMap<string, PersonWire>
}) {
  const session = useSession()
  const format = session.format
  const leftMin = () => (msOf(props.task.latestAt) - session.nowMs()) / 60_000
  return (
    <>
      <Where task={props.task} huge most={6} />
      <div class="row">
        <PegMark
          family={props.task.family}
          state={pegState(props.task)}
          size="2rem"
          name={familyWord(props.task.family)}
        />
        <h1>{sayStep(props.task)}</h1>
      </div>
      <p>
        <b>{props.task.lotId ? `${props.task.lotCode} ${props.task.lotName}` : say('house')}</b>
        <Show when={props.lot}>{(lot) => <span class="quiet"> {format().volume(lot().volumeL)}</span>}</Show>
      </p>
      <p class="row">
        <b>{isByDay(props.task) ? say('inTheDay') : format().span(props.task.startAt, props.task.endAt)}</b>
        <Badge kind={props.task.late && isOpen(props.task) ? 'late' : 'strong'}>
          {props.task.late && isOpen(props.task) ? say('late') : stateWord(props.task)}
        </Badge>
        <Show when={isOpen(props.task) && !isByDay(props.task) && leftMin() > 0 && leftMin() < 24 * 60}>
          <span>{say('latestStart', { time: format().time(props.task.latestAt), left: lasting(leftMin()) })}</span>
        </Show>
      </p>
      <p>
        <Show
          when={props.task.taken}
          fallback={
            <span class="quiet">
              {namesOf(props.task.donePeople ?? props.task.people, props.people) ||
                say(isByDay(props.task) ? 'namedNearer' : 'nobodyYet')}
            </span>
          }
        >
          {(taken) => (
            <b>
              {say('takenBy', { name: namesOf([taken().personId], props.people), time: format().time(taken().at) })}
            </b>
          )}
        </Show>
      </p>
    </>
  )
}

/** What to bring, what to do, what to write down. */
export function TaskSteps(props: { readonly task: TaskWire }) {
  const format = useSession().format
  const steps = (): readonly string[] => [
    ...(props.task.materials.length > 0
      ? [say('bring', { things: props.task.materials.map(sayThing).join(', ') })]
      : []),
    ...(props.task.machines.length > 0 ? [say('with', { machines: props.task.machines.join(', ') })] : []),
    ...(props.task.detail ? [sayDetail(props.task.detail, format().number)] : []),
    ...(props.task.records.length > 0
      ? [
          say('writeDown', {
            what: kindsFor(props.task.records, format())
              .map((kind) => readingWord(kind, format()))
              .join(', '),
          }),
        ]
      : []),
  ]
  return (
    <ol class="floor-steps">
      <For each={steps()}>{(step) => <li>{step}</li>}</For>
    </ol>
  )
}

/** What was read last, before anything is opened. */
export function LastValues(props: { readonly task: TaskWire; readonly readings: readonly ReadingWire[] }) {
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
