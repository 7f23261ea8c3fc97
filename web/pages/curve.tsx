import { createEffect, createMemo, on, onCleanup, onMount, Show } from 'solid-js'
import uPlot from 'uplot'
import type { ReadingWire } from '../../api/wire.ts'
import { ground } from '../ground.ts'
import type { ForecastPoint } from '../queries.ts'
import { useSession } from '../session.tsx'
import { curveRows } from './curve-rows.ts'

export interface CurveProps {
  readonly points: readonly ForecastPoint[]
  readonly readings: readonly ReadingWire[]
  readonly startBrix: number
}

const DAY_STEPS = [1, 2, 7, 14, 28].map((days) => days * 86_400)

/** The forecast with its band and what was measured. The same figures stand in the readings table as text. */
export function Curve(props: CurveProps) {
  const session = useSession()
  const data = createMemo(() => curveRows(props.points, props.readings, props.startBrix))
  let place: HTMLDivElement | undefined
  let plot: uPlot | undefined

  const draw = () => {
    if (!place) return
    plot?.destroy()
    const styles = getComputedStyle(document.documentElement)
    const colour = (name: string) => resolved(styles, name)
    const format = session.format()
    const days = new Intl.DateTimeFormat(format.language, { timeZone: format.zone, day: 'numeric', month: 'short' })
    const axis = {
      stroke: colour('--ink-2'),
      grid: { stroke: colour('--rule'), width: 1 },
      ticks: { show: false },
      font: '12px system-ui',
    }
    plot = new uPlot(
      {
        width: place.clientWidth,
        height: 260,
        // Ticks stand at the cellar's midnights.
        tzDate: (atS) => uPlot.tzDate(new Date(atS * 1000), format.zone),
        cursor: { drag: { x: false, y: false } },
        scales: { y: { range: (_, __, max) => [0, Math.max(10, max * 1.05)] } },
        axes: [
          { ...axis, space: 64, incrs: DAY_STEPS, values: (_, ticks) => ticks.map((tick) => days.format(tick * 1000)) },
          { ...axis, size: 56, values: (_, ticks) => ticks.map((tick) => format.number(tick)) },
        ],
        series: [
          { label: 'At', value: (_, at) => (at == null ? '' : format.moment(at * 1000)) },
          { label: 'lowest', stroke: 'transparent', spanGaps: true, points: { show: false }, value: whole },
          { label: 'highest', stroke: 'transparent', spanGaps: true, points: { show: false }, value: whole },
          {
            label: 'Forecast g/L',
            stroke: colour('--ferment'),
            width: 2,
            spanGaps: true,
            points: { show: false },
            value: whole,
          },
          {
            label: 'Measured g/L',
            stroke: colour('--ink'),
            paths: () => null,
            points: { show: true, size: 9, fill: colour('--ink'), stroke: colour('--ground'), width: 1.5 },
            value: whole,
          },
        ],
        bands: [{ series: [2, 1], fill: colour('--ferment-pale') }],
        hooks: { draw: [(u) => nowLine(u, session.nowMs() / 1000, colour('--ink'))] },
      },
      data(),
      place,
    )
  }

  onMount(() => {
    draw()
    const watch = new ResizeObserver(() => place && plot?.setSize({ width: place.clientWidth, height: 260 }))
    if (place) watch.observe(place)
    onCleanup(() => watch.disconnect())
  })
  createEffect(on([ground, session.format], draw, { defer: true }))
  createEffect(on(data, (rows) => plot?.setData(rows), { defer: true }))
  onCleanup(() => plot?.destroy())

  return (
    <figure>
      <div class="curve" ref={place} role="img" aria-label={summary(props, session.format().moment)} />
      <Show when={props.points.length === 0}>
        <figcaption class="quiet">No forecast yet: it starts with the fruit in its vessel.</figcaption>
      </Show>
    </figure>
  )
}

const whole = (_: uPlot, value: number | null) => (value == null ? '–' : String(Math.round(value)))

function nowLine(plot: uPlot, nowS: number, colour: string): void {
  const x = Math.round(plot.valToPos(nowS, 'x', true))
  if (x < plot.bbox.left || x > plot.bbox.left + plot.bbox.width) return
  plot.ctx.save()
  plot.ctx.strokeStyle = colour
  plot.ctx.lineWidth = 2 * devicePixelRatio
  plot.ctx.beginPath()
  plot.ctx.moveTo(x, plot.bbox.top)
  plot.ctx.lineTo(x, plot.bbox.top + plot.bbox.height)
  plot.ctx.stroke()
  plot.ctx.restore()
}

/** A custom property holds `light-dark()`; a canvas needs the colour itself. */
function resolved(styles: CSSStyleDeclaration, name: string): string {
  const probe = document.createElement('span')
  probe.style.color = `var(${name})`
  probe.hidden = true
  document.body.append(probe)
  const colour = getComputedStyle(probe).color
  probe.remove()
  return colour || styles.color
}

const summary = (props: CurveProps, say: (moment: string) => string): string => {
  const first = props.points[0]
  const last = props.points[props.points.length - 1]
  if (!first || !last) return 'Measured sugar by time'
  return `Forecast of sugar: ${Math.round(first.sugarGPerL)} g/L on ${say(first.at)}, ${Math.round(last.sugarGPerL)} g/L on ${say(last.at)}`
}
