import { createMemo, createSignal, For, Show } from 'solid-js'
import { Temporal } from '../../api/time.ts'
import type { PersonWire, TaskWire } from '../../api/wire.ts'
import { addDays, duration, msOf, startOfDay } from '../format.ts'
import { Badge } from '../parts/badge.tsx'
import { Button, ButtonLink } from '../parts/button.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { ScrollX } from '../parts/scroll-x.tsx'
import { Ask, Empty } from '../parts/states.tsx'
import { usePeople, useTasks } from '../queries.ts'
import { useSession } from '../session.tsx'
import { ROLE_WORDS } from '../words.ts'
import { BackNow } from './absences.tsx'
import { OpenLinks } from './crew-access.tsx'
import { inForce, sayShift, shiftMin, workMin } from './hours.ts'
import { PersonDialog, SKILLS } from './person-dialog.tsx'

const DAYS = 7

/** Who works, when, what they can do, and how full their next days are. */
export function Crew() {
  const session = useSession()
  const people = usePeople()
  const zone = () => session.cellar().zone
  const tasks = useTasks(() => ({
    from: startOfDay(session.today(), zone()),
    to: startOfDay(addDays(session.today(), DAYS), zone()),
  }))
  const [open, setOpen] = createSignal<PersonWire | 'new'>()
  const days = () => Array.from({ length: DAYS }, (_, at) => addDays(session.today(), at))
  const all = (): readonly TaskWire[] => (tasks.dataUpdatedAt > 0 && tasks.data?.tasks) || []
  return (
    <>
      <PageHead title="Crew" lede="Who works, when, what they can do, and how full the next seven days are.">
        <Show when={session.leads()}>
          <ButtonLink href="/what-if?ask=away">Somebody is away</ButtonLink>
          <Button kind="main" onClick={() => setOpen('new')}>
            New person
          </Button>
        </Show>
      </PageHead>
      <Ask query={people} what="the crew">
        {(answer) => (
          <Show
            when={answer().people.length > 0}
            fallback={
              <Empty title="Nobody yet">
                <p>Add the people who work here, with their hours and what they can do: the work is dealt by it.</p>
              </Empty>
            }
          >
            <Folio title="The next days" note="Planned work of each person against their hours.">
              <ScrollX label="Load of each person by day">
                <LoadTable
                  people={answer().people.filter((person) => person.shifts.length > 0 && !person.removedAt)}
                  tasks={all()}
                  days={days()}
                />
              </ScrollX>
            </Folio>
            <Folio title="People" note={`${answer().people.filter((person) => !person.removedAt).length} in all`}>
              <table class="ledger folds">
                <thead>
                  <tr>
                    <th>Name</th>
                    <th>Post</th>
                    <th>May</th>
                    <th>Can do</th>
                    <th>Hours</th>
                    <th>Away</th>
                  </tr>
                </thead>
                <tbody>
                  <For each={answer().people}>
                    {(person) => (
                      <tr>
                        <th scope="row">
                          <Show when={session.leads()} fallback={person.name}>
                            <button type="button" class="link" onClick={() => setOpen(person)}>
                              {person.name}
                            </button>
                          </Show>
                        </th>
                        <td>{person.post}</td>
                        <td>{person.removedAt ? 'gone' : ROLE_WORDS[person.role]}</td>
                        <td class="small">{person.skills.map(skillWord).join(', ')}</td>
                        <td class="small">
                          <For each={person.shifts.filter((shift) => inForce(shift, session.today()))}>
                            {(shift) => <div>{sayShift(shift)}</div>}
                          </For>
                        </td>
                        <td class="small">
                          <For each={person.absences.filter((absence) => msOf(absence.toAt) > session.nowMs())}>
                            {(absence) => (
                              <div>
                                {session.format().dayRange(absence.fromAt, absence.toAt)} {absence.reason}
                                <Show when={session.leads() && msOf(absence.fromAt) <= session.nowMs()}>
                                  <BackNow person={person} absence={absence} />
                                </Show>
                              </div>
                            )}
                          </For>
                        </td>
                      </tr>
                    )}
                  </For>
                </tbody>
              </table>
              <p>
                <ButtonLink kind="plain" href="/feeds">
                  Put a person’s work into a phone calendar
                </ButtonLink>
              </p>
            </Folio>
            <Show when={session.leads()}>
              <OpenLinks people={answer().people} />
            </Show>
          </Show>
        )}
      </Ask>
      <Show when={open()} keyed>
        {(which) => <PersonDialog person={which === 'new' ? undefined : which} close={() => setOpen(undefined)} />}
      </Show>
    </>
  )
}

const skillWord = (id: string): string => SKILLS.find((skill) => skill.value === id)?.label.toLowerCase() ?? id

function LoadTable(props: {
  readonly people: readonly PersonWire[]
  readonly tasks: readonly TaskWire[]
  readonly days: readonly string[]
}) {
  const session = useSession()
  const minutes = createMemo(() => workMin(props.tasks, session.format().dayOf))
  return (
    <table class="ledger load-table">
      <thead>
        <tr>
          <th>Person</th>
          <For each={props.days}>{(on) => <th>{session.format().day(on)}</th>}</For>
        </tr>
      </thead>
      <tbody>
        <For each={props.people}>
          {(person) => (
            <tr>
              <th scope="row">{person.name}</th>
              <For each={props.days}>
                {(on) => {
                  const start = () => msOf(startOfDay(on, session.cellar().zone))
                  const weekday = () => isoWeekday(on)
                  const has = () => shiftMin(person, on, weekday(), start())
                  const work = () => minutes().get(`${person.id} ${on}`) ?? 0
                  return (
                    <td>
                      <Show when={has() > 0 || work() > 0} fallback={<span class="quiet">off</span>}>
                        <span class="nowrap small" classList={{ 'late-text': work() > has() }}>
                          {work() === 0 ? '–' : duration(work())} <span class="quiet">/ {duration(has())}</span>
                        </span>
                        <span class="load" classList={{ over: work() > has() }} aria-hidden="true">
                          <span style={{ width: `${Math.min(100, has() > 0 ? (work() / has()) * 100 : 100)}%` }} />
                        </span>
                        <Show when={work() > has()}>
                          <Badge kind="late">over</Badge>
                        </Show>
                      </Show>
                    </td>
                  )
                }}
              </For>
            </tr>
          )}
        </For>
      </tbody>
    </table>
  )
}

/** Monday 1 to Sunday 7, of a calendar day. */
const isoWeekday = (on: string): number => Temporal.PlainDate.from(on).dayOfWeek
