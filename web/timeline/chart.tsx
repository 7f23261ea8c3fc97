import { createEffect, createMemo, createSignal, type JSX, on, onCleanup, onMount, Show } from 'solid-js'
import type { Palette } from '../palette.ts'
import { berthOf } from './berth.ts'
import { type CanvasDrawing, canvasDrawing } from './canvas.ts'
import type { Days } from './days.ts'
import { type Frame, type Geometry, layFrame, stackRows } from './frame.ts'
import { createGestures } from './gestures.tsx'
import { type Hit, hitTest, rowUnder } from './hit.ts'
import { HoverLabel } from './hover-label.tsx'
import type { Load } from './load.ts'
import type { MarkContext } from './marks.ts'
import type { Model } from './model.ts'
import { beginMove, draggedTo, isMoved, type Move, moveTo, stepMin } from './move.ts'
import { paintOverlay } from './overlay.ts'
import type { Row } from './rows.ts'
import type { MoveRules } from './rules.ts'
import { msOf, type Scale, steadyScale } from './scale.ts'
import { type Screen, screenOf } from './screen.ts'
import { panned, scaleOf, scrolled, type View, zoomed } from './view.ts'
import type { Words } from './words.ts'

export interface ChartProps {
  readonly model: Model
  readonly rows: readonly Row[]
  readonly days: Days
  readonly load: Load
  readonly words: Words
  readonly rules: MoveRules
  readonly palette: Palette
  readonly nowMs: number
  readonly view: View
  readonly onView: (view: View) => void
  readonly rowPx: number
  readonly gutterPx: number
  readonly stripPx: number
  readonly textPx: number
  readonly font: string
  readonly selectedIx?: number
  readonly move?: Move
  readonly trial?: readonly { readonly ix: number; readonly startMs: number }[]
  readonly kept?: MarkContext['kept']
  readonly series?: MarkContext['series']
  readonly allLinks?: boolean
  readonly mayMove: boolean
  readonly onSelect: (members: readonly number[]) => void
  readonly onRow: (row: Row) => void
  readonly onMove: (move: Move | undefined) => void
  readonly onDrop: (move: Move) => void
  readonly onFrame?: (frame: Frame) => void
  readonly onSize?: (widthPx: number, heightPx: number) => void
  readonly children?: (frame: () => Frame | undefined) => JSX.Element
}

/** Two lines of text and their air. */
export const axisPx = (textPx: number): number => textPx * 2 + 26

/** The chart on two canvases in turn; and over it a third for the ring, the window and the ghost, there only when needed. */
export function Chart(props: ChartProps) {
  let host!: HTMLDivElement
  let one!: HTMLCanvasElement
  let two!: HTMLCanvasElement
  let over!: HTMLCanvasElement
  const [size, setSize] = createSignal({ widthPx: 0, heightPx: 0, ratio: 1 })
  const [frame, setFrame] = createSignal<Frame>()
  const [hover, setHover] = createSignal<Hit>()
  const [targetY, setTargetY] = createSignal<number>()

  const geometry = createMemo<Geometry>(() => ({
    widthPx: size().widthPx,
    heightPx: size().heightPx,
    gutterPx: props.gutterPx,
    axisPx: axisPx(props.textPx),
    stripPx: props.stripPx,
    rowPx: props.rowPx,
    textPx: props.textPx,
  }))
  const plotPx = () => Math.max(1, size().widthPx - props.gutterPx)
  const scale = createMemo<Scale>((before) =>
    steadyScale(scaleOf(props.view, props.gutterPx, plotPx()), props.model.firstMs, size().ratio, before),
  )
  const shownDays = createMemo(() => Math.round((props.view.toMs - props.view.fromMs) / 864e3) / 100)
  const stack = createMemo(() =>
    stackRows(
      props.rows,
      props.rowPx,
      shownDays(),
      shownDays() < 3 ? { model: props.model, fromMs: props.view.fromMs, toMs: props.view.toMs } : undefined,
    ),
  )
  const bodyPx = () => size().heightPx - axisPx(props.textPx) - props.stripPx
  const contentPx = () => stack().tops[stack().tops.length - 1] ?? 0

  let screen: Screen | undefined
  let overDrawing: CanvasDrawing | undefined
  let queued = 0

  const draw = () => {
    queued = 0
    const { widthPx, ratio } = size()
    if (!screen || widthPx === 0) return
    const scrollPx = Math.round(props.view.scrollPx * ratio) / ratio
    const { model, rows, days, load, words, nowMs, selectedIx, allLinks, kept, series } = props
    const next = layFrame({
      model,
      rows,
      stack: stack(),
      scale: scale(),
      scrollPx,
      geometry: geometry(),
      days,
      load,
      words,
      nowMs,
      ...(selectedIx !== undefined && { focusIx: selectedIx }),
      ...(allLinks && { allLinks }),
      ...(kept && { kept }),
      ...(series && { series }),
    })
    const basis = [model, rows, geometry(), days, load, words, nowMs, selectedIx, allLinks, kept, series]
    screen.draw({ frame: next, scrollPx, ratio, basis }, props.palette)
    setFrame(next)
    props.onFrame?.(next)
  }

  onMount(() => {
    two.style.visibility = 'hidden'
    screen = screenOf([one, two], props.font)
    overDrawing = canvasDrawing(over, props.font)
    const measure = () => {
      const box = host.getBoundingClientRect()
      setSize({ widthPx: Math.floor(box.width), heightPx: Math.floor(box.height), ratio: window.devicePixelRatio || 1 })
      props.onSize?.(box.width, box.height)
    }
    const watch = new ResizeObserver(measure)
    watch.observe(host)
    measure()
    onCleanup(() => watch.disconnect())
  })
  onCleanup(() => cancelAnimationFrame(queued))

  createEffect(() => {
    // Everything the frame is made of; the drawing itself waits for the screen.
    void [
      props.model,
      props.rows,
      stack(),
      scale(),
      props.view.scrollPx,
      geometry(),
      size(),
      props.days,
      props.load,
      props.words,
      props.nowMs,
      props.selectedIx,
      props.allLinks,
      props.kept,
      props.series,
      props.palette,
    ]
    if (!queued) queued = requestAnimationFrame(draw)
  })

  createEffect(() => {
    const at = frame()
    if (!at || !overDrawing) return
    const { widthPx, heightPx, ratio } = size()
    const under = hover()
    const y = targetY()
    const bare = !under && props.selectedIx === undefined && !props.move && !props.trial
    // Even an empty sheet costs: the page would put it together with the chart in every frame.
    over.style.display = bare ? 'none' : ''
    if (bare) return
    overDrawing.begin(widthPx, heightPx, ratio, undefined)
    paintOverlay(overDrawing.surface, {
      frame: at,
      model: props.model,
      palette: props.palette,
      nowMs: props.nowMs,
      ...(under && { hover: under }),
      ...(props.selectedIx !== undefined && { selectedIx: props.selectedIx }),
      ...(props.move && { move: props.move }),
      ...(props.trial && { trial: props.trial }),
      ...(y !== undefined && { targetY: y }),
    })
  })

  createEffect(
    on(
      () => props.model,
      () => setHover(undefined),
      { defer: true },
    ),
  )

  const setScroll = (toPx: number) => props.onView(scrolled(props.view, toPx, contentPx(), bodyPx()))
  const days = () => (props.view.toMs - props.view.fromMs) / 86_400_000

  const gestures = createGestures({
    host: () => host,
    hit: (x, y, reach) => {
      const at = frame()
      return at && hitTest(at, x, y, reach)
    },
    mayLift: (hit) => props.mayMove && hit.members.length === 1 && props.model.state[hit.members[0] as number] !== 3,
    pan: (dx, dy) => {
      props.onView(panned(props.view, scale(), dx, props.model))
      if (dy !== 0) setScroll(props.view.scrollPx - dy)
    },
    zoom: (factor, x) => props.onView(zoomed(props.view, scale(), factor, x, props.model)),
    scroll: (dy) => setScroll(props.view.scrollPx + dy),
    overflows: () => contentPx() > bodyPx() + 1,
    inAxis: (y) => y < axisPx(props.textPx) + props.stripPx,
    hover: setHover,
    click: (hit, y, x) => {
      if (hit) return props.onSelect(hit.members)
      const at = frame()
      const row = at && rowUnder(at, y)
      if (row && x < props.gutterPx) props.onRow(row.row)
      else props.onSelect([])
    },
    lift: (hit) => props.onMove(beginMove(props.rules, hit.members[0] as number)),
    carry: (x, y, heldX) => {
      const move = props.move
      const at = frame()
      if (!move || !at) return
      const under = rowUnder(at, y)
      const person =
        under?.row.kind === 'person' && !(props.model.plan.tasks[move.ix]?.people ?? []).includes(under.row.id)
          ? under.row.id
          : undefined
      const berth = under?.row.kind === 'vessel' ? berthOf(props.model, move.ix) : undefined
      const vessel = berth && under && !berth.phase.vessels.includes(under.row.id) ? under.row.id : undefined
      setTargetY(under ? under.place.y + under.place.shape.pegY : undefined)
      const startMs = draggedTo(props.days, move, msOf(scale(), x), msOf(scale(), heldX), stepMin(days()))
      props.onMove(moveTo(props.rules, move, startMs, person, vessel))
    },
    drop: () => {
      const move = props.move
      setTargetY(undefined)
      if (!move) return
      if (isMoved(move, props.model)) props.onDrop(move)
      else {
        props.onMove(undefined)
        props.onSelect([move.ix])
      }
    },
    cancel: () => {
      setTargetY(undefined)
      props.onMove(undefined)
    },
  })

  return (
    <div class="chart" ref={host} {...gestures}>
      <div class="chart-drawing" aria-hidden="true">
        <canvas ref={one} />
        <canvas ref={two} />
        <canvas ref={over} />
      </div>
      {props.children?.(frame)}
      <Show when={!props.move && hover()}>
        {(hit) => <HoverLabel hit={hit()} model={props.model} words={props.words} widthPx={size().widthPx} />}
      </Show>
    </div>
  )
}
