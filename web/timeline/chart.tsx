import { createEffect, createMemo, createSignal, type JSX, on, onCleanup, onMount, Show } from 'solid-js'
import type { Palette } from '../palette.ts'
import { type CanvasDrawing, canvasDrawing, measuredLetterPx } from './canvas.ts'
import { handOf } from './chart-hand.ts'
import type { Days } from './days.ts'
import { type Frame, type FrameInput, type Geometry, layFrame } from './frame.ts'
import { createGestures } from './gestures.tsx'
import type { Hit } from './hit.ts'
import { HoverLabel } from './hover-label.tsx'
import type { Load } from './load.ts'
import type { MarkContext } from './marks.ts'
import type { Model } from './model.ts'
import type { Move } from './move.ts'
import { paintOverlay } from './overlay.ts'
import type { Row } from './rows.ts'
import type { MoveRules } from './rules.ts'
import { type Scale, steadyScale } from './scale.ts'
import { type Screen, screenOf } from './screen.ts'
import { stackRows } from './stack.ts'
import type { Stretch } from './stretch.ts'
import { scaleOf, type View } from './view.ts'
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
  /** A band's end in the hand, and where it was let go. */
  readonly stretch?: Stretch
  readonly onStretch?: (stretch: Stretch | undefined) => void
  readonly onStretched?: (stretch: Stretch) => void
  readonly onFrame?: (frame: Frame) => void
  readonly onSize?: (widthPx: number, heightPx: number) => void
  readonly children?: (frame: () => Frame | undefined) => JSX.Element
}

/** Two lines of text and their air. */
export const axisPx = (textPx: number): number => textPx * 2 + 26

/** The chart in tiles; and over it a canvas for the ring, the window and the ghost, there only when needed. */
export function Chart(props: ChartProps) {
  let host!: HTMLDivElement
  let axis!: HTMLCanvasElement
  let rowTiles!: HTMLDivElement
  let nameTiles!: HTMLDivElement
  let stripTiles!: HTMLDivElement
  let over!: HTMLCanvasElement
  // The first watch of a size tells what was measured before: nothing is drawn anew for that.
  const [size, setSize] = createSignal(
    { widthPx: 0, heightPx: 0, ratio: 1 },
    { equals: (a, b) => a.widthPx === b.widthPx && a.heightPx === b.heightPx && a.ratio === b.ratio },
  )
  const [letterPx, setLetterPx] = createSignal<number>()
  const [frame, setFrame] = createSignal<Frame>()
  const [hover, setHover] = createSignal<Hit>()
  const [targetY, setTargetY] = createSignal<number>()

  // Tiles lie side by side on whole device pixels, or a seam would show.
  const snapped = (px: number) => Math.round(px * size().ratio) / size().ratio
  const geometry = createMemo<Geometry>(() => ({
    widthPx: size().widthPx,
    heightPx: size().heightPx,
    gutterPx: snapped(props.gutterPx),
    axisPx: snapped(axisPx(props.textPx)),
    stripPx: snapped(props.stripPx),
    rowPx: props.rowPx,
    textPx: props.textPx,
    ...(letterPx() !== undefined && { letterPx: letterPx() as number }),
  }))
  const plotPx = () => Math.max(1, size().widthPx - geometry().gutterPx)
  const scale = createMemo<Scale>((before) =>
    steadyScale(scaleOf(props.view, geometry().gutterPx, plotPx()), props.model.firstMs, size().ratio, before),
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
  const bodyPx = () => size().heightPx - geometry().axisPx - geometry().stripPx
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
    const input: FrameInput = {
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
    }
    const next = layFrame(input)
    const basis = [model, rows, stack(), geometry(), days, load, words, nowMs, selectedIx, allLinks, kept, series]
    screen.draw({ frame: next, input, ratio, basis }, props.palette)
    setFrame(next)
    props.onFrame?.(next)
  }

  onMount(() => {
    screen = screenOf({ rows: rowTiles, names: nameTiles, strip: stripTiles, axis }, props.font)
    overDrawing = canvasDrawing(over, props.font)
    const measure = () => {
      const box = host.getBoundingClientRect()
      if (box.width > 0 && letterPx() === undefined) setLetterPx(measuredLetterPx(over, props.font, props.textPx))
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
    const bare = !under && props.selectedIx === undefined && !props.move && !props.trial && !props.stretch
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
      ...(props.stretch && { stretch: props.stretch }),
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

  const gestures = createGestures(
    handOf(props, { host: () => host, frame, scale, contentPx, bodyPx, setHover, setTargetY }),
  )

  return (
    <div class="chart" ref={host} {...gestures}>
      <div class="chart-drawing" aria-hidden="true">
        <canvas ref={axis} class="chart-axis" />
        <div ref={rowTiles} class="chart-tiles" />
        <div ref={nameTiles} class="chart-tiles" />
        <div ref={stripTiles} class="chart-tiles" />
        <canvas ref={over} class="chart-over" />
      </div>
      {props.children?.(frame)}
      <Show when={!props.move && hover()}>
        {(hit) => <HoverLabel hit={hit()} model={props.model} words={props.words} widthPx={size().widthPx} />}
      </Show>
    </div>
  )
}
