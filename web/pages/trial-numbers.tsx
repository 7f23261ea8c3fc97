import { For, type JSX, Show } from 'solid-js'
import { duration, msOf } from '../format.ts'
import { Folio } from '../parts/page-head.tsx'
import { useSession } from '../session.tsx'
import type { TrialPlanWire } from '../trial-queries.ts'

/** Both plans in figures: what breaks, what is late, press, cold, people, and when each lot is ready. */
export function Numbers(props: { readonly plan: TrialPlanWire; readonly nameOf: (id: string) => string }) {
  const session = useSession()
  const n = () => props.plan.numbers
  const hours = (min: number) => `${session.format().number(min / 60, 1)} h`
  const day = (at: string | null) => (at ? session.format().dayMonth(at) : '–')
  const press = (p: TrialPlanWire['numbers']['press']['before']) =>
    p ? `${session.format().number(p.hours, 1)} h, ${p.code} on ${session.format().day(p.on)}` : '–'
  const cold = (p: TrialPlanWire['numbers']['cooling']['before']) =>
    `${session.format().number(p.kW, 1)} kW${p.shortKWh > 0 ? `, ${session.format().number(p.shortKWh, 1)} kWh short` : ''}`
  const Line = (line: { readonly what: string; readonly before: JSX.Element; readonly after: JSX.Element }) => (
    <tr>
      <th scope="row">{line.what}</th>
      <td data-label="Now">{line.before}</td>
      <td data-label="Then">{line.after}</td>
    </tr>
  )
  const finishes = () =>
    n().finish.filter((f) => differs(f.finish.before, f.finish.after) || differs(f.dry.before, f.dry.after))
  return (
    <Folio
      title="In numbers"
      note={`${n().moved} ${n().moved === 1 ? 'task moves' : 'tasks move'}, ${n().added} new, ${n().gone} gone`}
    >
      <table class="ledger folds">
        <thead>
          <tr>
            <th>What</th>
            <th>Now</th>
            <th>If so</th>
          </tr>
        </thead>
        <tbody>
          <Line what="Hard rules broken" before={n().brokenHard.before} after={n().brokenHard.after} />
          <Line what="Wishes unmet" before={n().brokenSoft.before} after={n().brokenSoft.after} />
          <Line what="Work that is late" before={n().lateTasks.before} after={n().lateTasks.after} />
          <Line what="Overtime, 14 days" before={hours(n().overtimeMin.before)} after={hours(n().overtimeMin.after)} />
          <Line what="Fullest press day" before={press(n().press.before)} after={press(n().press.after)} />
          <Line what="Most cold in an hour" before={cold(n().cooling.before)} after={cold(n().cooling.after)} />
          <For each={n().byPerson.filter((p) => p.before !== p.after)}>
            {(p) => (
              <Line what={`${props.nameOf(p.personId)}, 14 days`} before={hours(p.before)} after={hours(p.after)} />
            )}
          </For>
          <For each={finishes()}>
            {(f) => (
              <>
                <Line what={`${f.lotCode} dry or stopped`} before={day(f.dry.before)} after={day(f.dry.after)} />
                <Line what={`${f.lotCode} finished`} before={day(f.finish.before)} after={day(f.finish.after)} />
              </>
            )}
          </For>
        </tbody>
      </table>
      <Show when={n().byLot.length > 0}>
        <p class="small">
          <b>By lot</b>{' '}
          {n()
            .byLot.map(
              (l) =>
                `${l.lotCode} ${l.moved} (${l.largestShiftMin < 0 ? '−' : '+'}${duration(l.largestShiftMin)} at most)`,
            )
            .join(', ')}
        </p>
      </Show>
      <Show when={n().byDay.length > 0}>
        <p class="small">
          <b>By day</b>{' '}
          {n()
            .byDay.slice(0, 10)
            .map((d) => `${session.format().day(d.on)} ${d.moved}`)
            .join(', ')}
          {n().byDay.length > 10 ? ` and ${n().byDay.length - 10} more days` : ''}
        </p>
      </Show>
    </Folio>
  )
}

/** Minutes of difference are no other day for anybody. */
const differs = (a: string | null, b: string | null): boolean =>
  a === null || b === null ? a !== b : Math.abs(msOf(a) - msOf(b)) >= 3_600_000
