import { createMemo, For, Show } from 'solid-js'
import { msOf } from '../format.ts'
import { Badge } from '../parts/badge.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { ScrollX } from '../parts/scroll-x.tsx'
import { Ask } from '../parts/states.tsx'
import { type DemandWire, useDemand } from '../queries.ts'
import { useSession } from '../session.tsx'
import { daysOfDemand } from './demand-days.ts'
import { HourChart } from './hour-chart.tsx'

/** What the ferments ask of chillers and fans in the coming week, hour by hour. */
export function HeatAir() {
  const demand = useDemand()
  return (
    <>
      <PageHead
        title="Heat and air"
        lede="The coming week hour by hour: cold for ferments and chilling against the chillers, and the CO2 that must leave the room."
      />
      <p class="note caution">
        CO2 has no smell and lies in pits, tanks and low rooms. Measure before anybody goes in; an oxygen alarm is no
        CO2 alarm. A tank is entered by permit only.
      </p>
      <Ask query={demand} what="the hours">
        {(answer) => <Hours demand={answer()} />}
      </Ask>
    </>
  )
}

function Hours(props: { readonly demand: DemandWire }) {
  const session = useSession()
  const format = session.format
  const hours = () => props.demand.hours
  const atS = createMemo(() => hours().map((hour) => msOf(hour.at) / 1000))
  const days = createMemo(() => daysOfDemand(hours(), format().dayOf))
  const short = () => hours().find((hour) => hour.shortKW > 0)
  return (
    <>
      <Folio
        title="Cold"
        note={<>The chillers give {format().number(props.demand.poolKW, 1)} kW. Walls, pumps and pipes come on top.</>}
      >
        <Show when={short()}>
          {(hour) => (
            <p class="note bad" role="status">
              <b>Short of cold</b> from {format().moment(hour().at)}: {format().number(hour().coolingKW, 1)} kW wanted,{' '}
              {hour()
                .loads.slice(0, 3)
                .map((load) => `${load.name} ${format().number(load.kW, 1)}`)
                .join(', ')}
              .
            </p>
          )}
        </Show>
        <HourChart
          label={`Cooling wanted by the hour; at most ${format().number(Math.max(0, ...hours().map((hour) => hour.coolingKW)), 1)} kW of ${format().number(props.demand.poolKW, 1)}`}
          atS={atS()}
          unit="kW"
          lines={[
            { label: 'All cooling', colour: '--check', values: hours().map((hour) => hour.coolingKW), filled: true },
            { label: 'Ferments', colour: '--ferment', values: hours().map((hour) => hour.fermentKW) },
            { label: 'Chillers', colour: '--ink', values: hours().map(() => props.demand.poolKW), dashed: true },
          ]}
        />
      </Folio>
      <Folio title="Air" note="Fresh air that holds a well mixed room at 5000 ppm, the 8 h limit.">
        <HourChart
          label={`Fresh air wanted by the hour; at most ${format().number(Math.max(0, ...hours().map((hour) => hour.freshAirM3PerH)))} cubic metres`}
          atS={atS()}
          unit="m³/h"
          lines={[
            { label: 'Fresh air', colour: '--move', values: hours().map((hour) => hour.freshAirM3PerH), filled: true },
          ]}
        />
      </Folio>
      <Folio title="By day" note="The hardest hour of each day.">
        <ScrollX label="Cold and air by day">
          <table class="ledger folds">
            <thead>
              <tr>
                <th>Day</th>
                <th class="n">Cold, most kW</th>
                <th class="n">Hours short</th>
                <th class="n">CO2, most m³/h</th>
                <th class="n">Fresh air m³/h</th>
                <th>Largest</th>
              </tr>
            </thead>
            <tbody>
              <For each={days()}>
                {(day) => (
                  <tr>
                    <td class="nowrap first">{format().day(day.on)}</td>
                    <td class="n" data-label="Cold, most kW">
                      {format().number(day.mostKW, 1)}
                    </td>
                    <td class="n" data-label="Hours short" classList={{ 'late-text': day.shortHours > 0 }}>
                      {day.shortHours}
                    </td>
                    <td class="n" data-label="CO2, most m³/h">
                      {format().number(day.co2M3PerH, 2)}
                    </td>
                    <td class="n" data-label="Fresh air m³/h">
                      {format().number(day.freshAirM3PerH)}
                    </td>
                    <td>{day.largest.join(', ') || '–'}</td>
                  </tr>
                )}
              </For>
            </tbody>
          </table>
        </ScrollX>
        <p class="quiet small">{props.demand.basis}</p>
      </Folio>
      <Folio title="Limits" note="Of the air people work in. Check your own rules: they differ and change.">
        <ScrollX label="Exposure limits">
          <table class="ledger folds">
            <thead>
              <tr>
                <th>Gas</th>
                <th>For</th>
                <th class="n">Limit</th>
                <th>Document</th>
              </tr>
            </thead>
            <tbody>
              <For each={props.demand.limits}>
                {(limit) => (
                  <tr>
                    <td>{limit.substance}</td>
                    <td>{limit.kind}</td>
                    <td class="n nowrap">
                      {format().number(limit.value, 2)} {limit.unit}
                    </td>
                    <td>
                      {limit.source}{' '}
                      <Show when={limit.memory}>
                        <Badge>memory, verify</Badge>
                      </Show>
                    </td>
                  </tr>
                )}
              </For>
            </tbody>
          </table>
        </ScrollX>
      </Folio>
    </>
  )
}
