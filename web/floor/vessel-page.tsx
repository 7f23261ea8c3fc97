import { A, useNavigate, useParams } from '@solidjs/router'
import { createMemo, For, Show } from 'solid-js'
import type { PersonWire, VesselWire } from '../../api/wire.ts'
import { addDays, startOfDay, taskHref } from '../format.ts'
import { standing } from '../offline/index.ts'
import { PageHead } from '../parts/page-head.tsx'
import { Ask, Empty } from '../parts/states.tsx'
import { tasksReadMs, useAllReadings, usePeople, useTasks, useVessels } from '../queries.ts'
import { lastReading, sayReading } from '../readings.ts'
import { useSession } from '../session.tsx'
import { say, tongue } from '../words/words.ts'
import { readingWord, vesselStateWord, vesselWord } from './floor-words.ts'
import { TodayLine } from './today-line.tsx'
import { TroubleList } from './trouble-list.tsx'
import { inWalkingOrder } from './walk.ts'

/** Behind the tag on a vessel: what is in it, what was read last, what is to be done on it today. */
export function VesselPage() {
  const params = useParams<{ code: string }>()
  const vessels = useVessels()
  return (
    <div class="floor" lang={tongue()}>
      <Ask query={vessels} what={say('theVessel')}>
        {(answer) => (
          <Show
            when={answer().vessels.find((vessel) => vessel.code === params.code)}
            fallback={<Empty title={say('noSuchVessel', { typed: params.code })} />}
          >
            {(vessel) => <OneVessel vessel={vessel()} />}
          </Show>
        )}
      </Ask>
    </div>
  )
}

const LASTS = ['density', 'temp', 'free-so2', 'malic'] as const

function OneVessel(props: { readonly vessel: VesselWire }) {
  const session = useSession()
  const navigate = useNavigate()
  const format = session.format
  const people = usePeople()
  const readings = useAllReadings()
  const zone = () => session.cellar().zone
  const range = () => ({
    from: startOfDay(session.dayFromNow(-7), zone()),
    to: startOfDay(addDays(session.today(), 1), zone()),
  })
  const tasks = useTasks(range)
  const byId = createMemo(
    () =>
      new Map(
        ((people.dataUpdatedAt > 0 && people.data?.people) || []).map((person): [string, PersonWire] => [
          person.id,
          person,
        ]),
      ),
  )
  const here = createMemo(() =>
    inWalkingOrder(
      (((tasks.dataUpdatedAt > 0 || tasks.isPlaceholderData) && tasks.data?.tasks) || [])
        .map((task) => standing(task, tasksReadMs(range(), tasks)))
        .filter(
          (task) =>
            [...task.fromVessels, ...task.toVessels].includes(props.vessel.code) &&
            (['due', 'underway', 'blocked', 'planned'].includes(task.state) ||
              format().dayOf(task.doneAt ?? task.endAt) === session.today()),
        ),
    ),
  )
  const ofIt = () =>
    ((readings.dataUpdatedAt > 0 && readings.data?.readings) || []).filter(
      (reading) => reading.vesselCode === props.vessel.code || reading.lotId === lotId(),
    )
  const lotId = () => {
    const code = props.vessel.now?.lotCode
    const all = (tasks.dataUpdatedAt > 0 && tasks.data?.tasks) || []
    return all.find((task) => task.lotCode === code)?.lotId ?? undefined
  }
  const lasts = () => LASTS.flatMap((kind) => lastReading(ofIt(), kind) ?? [])
  const problem = () =>
    `/today/problem?${new URLSearchParams({ vessel: props.vessel.code, lot: props.vessel.now?.lotCode ?? '' })}`
  return (
    <>
      <PageHead
        title={<span class="tag huge">{props.vessel.code}</span>}
        lede={`${vesselWord(props.vessel.kind)}, ${format().volume(props.vessel.volumeL)}, ${vesselStateWord(props.vessel.state)}`}
      >
        <A class="button" href="/scan">
          {say('scanNext')}
        </A>
        <Show when={session.works()}>
          <A class="button" href={problem()}>
            {say('problem')}
          </A>
        </Show>
      </PageHead>
      <section class="stack" aria-label={say('whatIsIn')}>
        <Show when={props.vessel.now} fallback={<p class="big-line">{say('empty')}</p>}>
          {(now) => (
            <p class="big-line">
              <b>{now().lotCode}</b> {now().lotName}, {format().volume(now().volumeL)}{' '}
              <span class="quiet">{say('since', { when: format().dayMonth(now().sinceAt) })}</span>
            </p>
          )}
        </Show>
        <Show when={lasts().length > 0}>
          <dl class="pairs">
            <For each={lasts()}>
              {(last) => (
                <>
                  <dt>{readingWord(last.kind, format())}</dt>
                  <dd>
                    {sayReading(last, format())} <span class="quiet">{format().moment(last.takenAt)}</span>
                  </dd>
                </>
              )}
            </For>
          </dl>
        </Show>
        <Show when={props.vessel.next[0]}>
          {(next) => (
            <p class="quiet">{say('nextIn', { lot: next().lotCode, when: format().moment(next().fromAt) })}</p>
          )}
        </Show>
      </section>
      <TroubleList people={byId()} vessel={props.vessel.code} />
      <h2>{say('toDoHere')}</h2>
      <Ask query={tasks} what={say('daysWork')}>
        {() => (
          <Show when={here().length > 0} fallback={<p class="quiet">{say('nothingHere')}</p>}>
            <ol class="works">
              <For each={here()}>
                {(task) => (
                  <TodayLine
                    task={task}
                    on={session.today()}
                    people={byId()}
                    onDone={(done) => navigate(`${taskHref(done.key)}?do=done`)}
                  />
                )}
              </For>
            </ol>
          </Show>
        )}
      </Ask>
    </>
  )
}
