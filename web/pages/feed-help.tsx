import { For } from 'solid-js'
import { Folio } from '../parts/page-head.tsx'

const WAYS = [
  {
    on: 'A phone that opens the link by itself',
    does: 'Tap “Subscribe on this device”, or point the camera at the code and tap what appears. Say yes to “subscribe”. If it offers to remove alarms, leave them on.',
  },
  {
    on: 'A phone whose calendar lives in an account on the web',
    does: 'Copy the address. On a computer, open that calendar in the browser, choose to add a calendar “from a URL”, paste the address. It then shows on the phone too.',
  },
  {
    on: 'A phone with a subscription app',
    does: 'Install any app that subscribes to calendars (iCalendar, webcal), paste the address there, and let it into the phone’s calendar.',
  },
  {
    on: 'A mail and calendar program on a desk',
    does: 'Choose to add a calendar “from the internet” or “new calendar on the network”, iCalendar format, paste the address beginning with https.',
  },
] as const

/** How to subscribe, and what not to expect of it. */
export function FeedHelp(props: { readonly edition: string; readonly warning: string | undefined }) {
  return (
    <Folio title="How it works" note="A calendar reads; it never writes back.">
      <dl class="stack">
        <For each={WAYS}>
          {(way) => (
            <div>
              <dt>
                <b>{way.on}</b>
              </dt>
              <dd>{way.does}</dd>
            </div>
          )}
        </For>
      </dl>
      <ul class="stack tight">
        <li>
          <b>How fresh it is, is up to the phone:</b> some look every hour, some once or twice a day. What must be known
          the same day, stopping a ferment above all, is on the Today page, not in the calendar.
        </li>
        <li>
          <b>Alarms are a kindness, not a safety net.</b> Many calendars ignore those of a subscription.
        </li>
        <li>Forecast dates are marked as tentative and move with the next readings.</li>
        <li>Cancelled work stays for 14 days, crossed out or gone as the phone likes it, then leaves.</li>
        <li>It reaches 60 days back and 18 months on. Some calendars stop at about 1 MB: use a smaller feed there.</li>
        <li>Who leaves the cellar keeps the address: revoke it, or make a new one.</li>
      </ul>
      <p class="small quiet">
        Times use edition {props.edition} of the time zone data. {props.warning}
      </p>
    </Folio>
  )
}
