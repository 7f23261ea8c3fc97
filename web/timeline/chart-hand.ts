/** What a hand does on the chart: look around, take a task or a band's end, carry it, let it go. */
import { berthOf } from './berth.ts'
import { axisPx, type ChartProps } from './chart.tsx'
import type { Frame } from './frame.ts'
import type { GestureTarget } from './gestures.tsx'
import { edgeUnder, type Hit, hitTest, rowUnder } from './hit.ts'
import { beginMove, draggedTo, isMoved, moveTo, stepMin } from './move.ts'
import { DAY_MS, msOf, type Scale } from './scale.ts'
import { beginStretch, isStretched, stretchTo } from './stretch.ts'
import { panned, scrolled, zoomed } from './view.ts'

export interface ChartNow {
  readonly host: () => HTMLElement
  readonly frame: () => Frame | undefined
  readonly scale: () => Scale
  readonly contentPx: () => number
  readonly bodyPx: () => number
  readonly setHover: (hit: Hit | undefined) => void
  /** Where the hand is while it carries over another row. */
  readonly setTargetY: (y: number | undefined) => void
}

export function handOf(props: ChartProps, chart: ChartNow): GestureTarget {
  const setScroll = (toPx: number) => props.onView(scrolled(props.view, toPx, chart.contentPx(), chart.bodyPx()))
  const days = () => (props.view.toMs - props.view.fromMs) / DAY_MS

  const lengthUnder = (x: number, y: number, reachPx: number) => {
    const at = chart.frame()
    return at && props.mayMove && props.onStretch ? edgeUnder(at, x, y, props.nowMs, reachPx) : undefined
  }

  return {
    host: chart.host,
    hit: (x, y, reach) => {
      const at = chart.frame()
      return at && hitTest(at, x, y, reach)
    },
    mayLift: (hit) => props.mayMove && hit.members.length === 1 && props.model.state[hit.members[0] as number] !== 3,
    pan: (dx, dy) => {
      props.onView(panned(props.view, chart.scale(), dx, props.model))
      if (dy !== 0) setScroll(props.view.scrollPx - dy)
    },
    zoom: (factor, x) => props.onView(zoomed(props.view, chart.scale(), factor, x, props.model)),
    scroll: (dy) => setScroll(props.view.scrollPx + dy),
    overflows: () => chart.contentPx() > chart.bodyPx() + 1,
    inAxis: (y) => y < axisPx(props.textPx) + props.stripPx,
    hover: chart.setHover,
    click: (hit, y, x) => {
      if (hit) return props.onSelect(hit.members)
      const at = chart.frame()
      const row = at && rowUnder(at, y)
      if (row && x < props.gutterPx) props.onRow(row.row)
      else props.onSelect([])
    },
    lift: (hit) => props.onMove(beginMove(props.rules, hit.members[0] as number)),
    carry: (x, y, heldX) => {
      const move = props.move
      const at = chart.frame()
      if (!move || !at) return
      const under = rowUnder(at, y)
      const person =
        under?.row.kind === 'person' && !(props.model.plan.tasks[move.ix]?.people ?? []).includes(under.row.id)
          ? under.row.id
          : undefined
      const berth = under?.row.kind === 'vessel' ? berthOf(props.model, move.ix) : undefined
      const vessel = berth && under && !berth.phase.vessels.includes(under.row.id) ? under.row.id : undefined
      chart.setTargetY(under ? under.place.y + under.place.shape.pegY : undefined)
      const startMs = draggedTo(props.days, move, msOf(chart.scale(), x), msOf(chart.scale(), heldX), stepMin(days()))
      props.onMove(moveTo(props.rules, move, startMs, person, vessel))
    },
    drop: () => {
      const move = props.move
      chart.setTargetY(undefined)
      if (!move) return
      if (isMoved(move, props.model)) props.onDrop(move)
      else {
        props.onMove(undefined)
        props.onSelect([move.ix])
      }
    },
    cancel: () => {
      chart.setTargetY(undefined)
      props.onMove(undefined)
      props.onStretch?.(undefined)
    },
    overEdge: (x, y, reachPx) => lengthUnder(x, y, reachPx) !== undefined,
    takeEdge: (x, y, reachPx) => {
      const length = lengthUnder(x, y, reachPx)
      if (length) props.onStretch?.(beginStretch(props.rules, length))
    },
    drawEdge: (x) => props.stretch && props.onStretch?.(stretchTo(props.rules, props.stretch, msOf(chart.scale(), x))),
    dropEdge: () => {
      const { stretch } = props
      props.onStretch?.(undefined)
      if (stretch && isStretched(stretch)) props.onStretched?.(stretch)
    },
  }
}
