import { createEffect, on, onCleanup, onMount } from 'solid-js'
import uPlot from 'uplot'
import { ground } from '../ground.ts'
import { useSession } from '../session.tsx'

export interface HourLine {
  readonly label: string
  /** Name of a custom property. */
  readonly colour: string
  readonly values: readonly number[]
  readonly dashed?: boolean
  readonly filled?: boolean
}

/** Lines over the hours of some days, in steps: an hour has one figure. The same figures stand in a table below. */
export function HourChart(props: {
  readonly label: string
  readonly atS: readonly number[]
  readonly unit: string
  readonly lines: readonly HourLine[]
}) {
  const session = useSession()
  let place: HTMLDivElement | undefined
  let plot: uPlot | undefined

  const draw = () => {
    if (!place) return
    plot?.destroy()
    const format = session.format()
    const days = new Intl.DateTimeFormat(format.language, { timeZone: format.zone, day: 'numeric', month: 'short' })
    const colour = (name: string) => colourOf(place ?? document.body, name)
    const axis = {
      stroke: colour('--ink-2'),
      grid: { stroke: colour('--rule'), width: 1 },
      ticks: { show: false },
      font: '12px system-ui',
    }
    plot = new uPlot(
      {
        width: place.clientWidth,
        height: 220,
        tzDate: (atS) => uPlot.tzDate(new Date(atS * 1000), format.zone),
        cursor: { drag: { x: false, y: false } },
        scales: { y: { range: (_, __, max) => [0, Math.max(1, max * 1.1)] } },
        axes: [
          { ...axis, space: 64, incrs: DAYS, values: (_, ticks) => ticks.map((tick) => days.format(tick * 1000)) },
          { ...axis, size: 56, values: (_, ticks) => ticks.map((tick) => format.number(tick, 1)) },
        ],
        series: [
          { label: 'At', value: (_, at) => (at == null ? '' : format.moment(at * 1000)) },
          ...props.lines.map((line) => ({
            label: `${line.label} ${props.unit}`,
            stroke: colour(line.colour),
            width: 2,
            ...(line.dashed ? { dash: [6, 4] } : {}),
            ...(line.filled ? { fill: colour(`${line.colour}-pale`) } : {}),
            paths: uPlot.paths.stepped?.({ align: 1 }),
            points: { show: false },
            value: (_: uPlot, value: number | null) => (value == null ? '–' : format.number(value, 1)),
          })),
        ],
      },
      [[...props.atS], ...props.lines.map((line) => [...line.values])],
      place,
    )
  }

  onMount(() => {
    draw()
    const watch = new ResizeObserver(() => place && plot?.setSize({ width: place.clientWidth, height: 220 }))
    if (place) watch.observe(place)
    onCleanup(() => watch.disconnect())
  })
  createEffect(on([ground, session.format, () => props.lines], draw, { defer: true }))
  onCleanup(() => plot?.destroy())

  return <div class="curve" ref={place} role="img" aria-label={props.label} />
}

const DAYS = [1, 2, 7, 14].map((days) => days * 86_400)

/** A custom property holds `light-dark()`; a canvas needs the colour itself. */
function colourOf(place: HTMLElement, name: string): string {
  const probe = document.createElement('span')
  probe.style.color = `var(${name})`
  probe.hidden = true
  place.append(probe)
  const { color } = getComputedStyle(probe)
  probe.remove()
  return color
}
