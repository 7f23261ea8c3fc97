import { A } from '@solidjs/router'
import { Show } from 'solid-js'
import type { PersonWire, TaskWire } from '../../api/wire.ts'
import { msOf, taskHref } from '../format.ts'
import { Badge } from '../parts/badge.tsx'
import { Button } from '../parts/button.tsx'
import { PegMark, pegState } from '../parts/peg-mark.tsx'
import { useSession } from '../session.tsx'
import { isByDay } from '../when.ts'
import { say, sayDetail, sayStep } from '../words/words.ts'
import { DoseBlock } from './dose-block.tsx'
import { FateLines } from './fate-line.tsx'
import { familyWord, lasting, namesOf } from './floor-words.ts'
import { isOpen as isOpenTask } from './walk.ts'
import { Where } from './where.tsx'

/** One line of the list: vessel huge, what, when, how much, who has it, and the minute it runs out. */
export function TodayLine(props: {
  readonly task: TaskWire
  readonly on: string
  readonly people: ReadonlyMap<string, PersonWire>
  readonly onDone: (task: TaskWire) => void
}) {
  const session = useSession()
  const task = () => props.task
  const format = session.format
  const isOpen = () => isOpenTask(task())
  const leftMin = () => (msOf(task().latestAt) - session.nowMs()) / 60_000
  const lateMin = () => (session.nowMs() - msOf(task().endAt)) / 60_000
  return (
    <li
      class="work"
      classList={{ 'is-late': task().late && isOpen(), 'is-done': !isOpen() }}
      data-task={task().key}
      data-state={task().state}
    >
      <Where task={task()} huge={isOpen()} />
      <div class="stack tight">
        <div class="row">
          <span class="work-name">
            <PegMark family={task().family} state={pegState(task())} name={familyWord(task().family)} />
            <A class="link name" href={taskHref(task().key)}>
              {sayStep(task())}
            </A>
          </span>
          <span class="quiet">{task().lotId ? `${task().lotCode} ${task().lotName}` : say('house')}</span>
        </div>
        <div class="row">
          <b>
            {format().dayOf(task().startAt) === props.on ? '' : `${format().dayMonth(task().startAt)} `}
            {isByDay(task()) ? say('inTheDay') : format().span(task().startAt, task().endAt)}
          </b>
          <Show when={task().state === 'underway'}>
            <Badge kind="strong">{say('underway')}</Badge>
          </Show>
          <Show when={task().state === 'blocked'}>
            <Badge kind="late">{say('blocked')}</Badge>
          </Show>
          <Show when={isOpen() && task().late}>
            <Badge kind="late">{say('lateSince', { time: format().time(task().endAt), by: lasting(lateMin()) })}</Badge>
          </Show>
          <Show when={isOpen() && !isByDay(task()) && !task().late && leftMin() > 0 && leftMin() < 24 * 60}>
            <span classList={{ 'expires-soon': leftMin() < 60 }}>
              {say('latestStart', { time: format().time(task().latestAt), left: lasting(leftMin()) })}
            </span>
          </Show>
          <Show
            when={task().taken}
            fallback={
              <span class="quiet">
                {namesOf(task().donePeople ?? task().people, props.people) ||
                  say(isByDay(task()) ? 'namedNearer' : 'nobodyYet')}
              </span>
            }
          >
            {(taken) => (
              <b>
                {say('takenBy', { name: namesOf([taken().personId], props.people), time: format().time(taken().at) })}
              </b>
            )}
          </Show>
          <Show when={task().skipReason}>
            <span class="quiet">
              {say('leftOut')}: {task().skipReason}
            </span>
          </Show>
        </div>
        <FateLines taskKey={task().key} />
        <Show when={isOpen()}>
          <Show when={task().detail}>
            <p>{sayDetail(task().detail, format().number)}</p>
          </Show>
          <DoseBlock task={task()} short />
          <Show when={task().caution && task().state !== 'underway'}>
            <p class="small caution-line">
              <b>! {say('caution')}</b>
            </p>
          </Show>
        </Show>
      </div>
      <Show when={isOpen() && session.works()}>
        <div class="acts">
          <Button onClick={() => props.onDone(task())}>{say('done')}</Button>
        </div>
      </Show>
    </li>
  )
}
