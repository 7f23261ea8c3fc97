import { createMemo, createSignal, createUniqueId, For, onCleanup, onMount, Show } from 'solid-js'
import { Button } from '../parts/button.tsx'
import { useSession } from '../session.tsx'
import { foldSmall, type TraceGraph } from './graph.ts'
import { layoutTrace } from './layout.ts'
import { TraceDrawing } from './trace-drawing.tsx'
import { fitted, opened, panBy, type Size, sheetsOf, type View, WORDS_FROM, zoomAt } from './view.ts'
import { sayLitres } from './words.ts'

const STEP = 1.3
const PAN_PX = 60
/** A4 landscape less its margins, at 96 px an inch, with room for the page's head. */
const PAPER: Size = { widthPx: 1030, heightPx: 620 }
const SMALL_SHARE = 0.01
/** Up to so many parts are drawn whole unless asked otherwise. */
const MANY = 40

/** The trace as a picture: bands of wine from left to right in time. The same stands as a table beside it. */
export function TracePicture(props: {
  readonly graph: TraceGraph
  readonly title: string
  readonly open?: (id: string) => void
}) {
  const session = useSession()
  const id = createUniqueId()
  const [folds, setFolds] = createSignal<boolean>()
  const folding = () => folds() ?? props.graph.nodes.length > MANY
  const shown = createMemo(() => (folding() ? foldSmall(props.graph, SMALL_SHARE) : props.graph))
  const layout = createMemo(() => layoutTrace(shown()))
  const mayFold = createMemo(() => foldSmall(props.graph, SMALL_SHARE).nodes.length < props.graph.nodes.length)
  const [size, setSize] = createSignal<Size>({ widthPx: 800, heightPx: 480 })
  const root = () => layout().nodes.find((box) => box.node.id === props.graph.root)
  const start = createMemo(() => opened(layout(), size(), middleOf(root())))
  const [own, setOwn] = createSignal<{ readonly of: object; readonly view: View }>()
  // What a person chose to look at holds until there is another drawing.
  const view = () => (own()?.of === layout() ? own()?.view : undefined) ?? start()
  const look = (next: View) => setOwn({ of: layout(), view: next })
  const zoom = (factor: number, x = size().widthPx / 2, y = size().heightPx / 2) => look(zoomAt(view(), factor, x, y))
  const pan = (dx: number, dy: number) => look(panBy(view(), dx, dy, layout(), size()))
  const sheets = createMemo(() => sheetsOf(layout(), PAPER))

  let host: HTMLDivElement | undefined
  onMount(() => {
    const measure = () => {
      if (host && host.clientWidth > 0) setSize({ widthPx: host.clientWidth, heightPx: host.clientHeight })
    }
    measure()
    if (typeof ResizeObserver === 'undefined' || !host) return
    const watch = new ResizeObserver(measure)
    watch.observe(host)
    onCleanup(() => watch.disconnect())
  })

  const fingers = new Map<number, { x: number; y: number }>()
  const at = (event: PointerEvent | WheelEvent) => {
    const box = host?.getBoundingClientRect()
    return { x: event.clientX - (box?.left ?? 0), y: event.clientY - (box?.top ?? 0) }
  }
  const down = (event: PointerEvent) => {
    if (event.button !== 0) return
    fingers.set(event.pointerId, at(event))
  }
  const move = (event: PointerEvent) => {
    const was = fingers.get(event.pointerId)
    if (!was) return
    const now = at(event)
    if (!host?.hasPointerCapture(event.pointerId)) {
      if (Math.hypot(now.x - was.x, now.y - was.y) < 4) return
      // Only a pull is held: a tap must still reach what lies under it.
      host?.setPointerCapture(event.pointerId)
    }
    const other = [...fingers].find(([finger]) => finger !== event.pointerId)?.[1]
    if (other) zoom(apart(now, other) / Math.max(1, apart(was, other)), (now.x + other.x) / 2, (now.y + other.y) / 2)
    else pan(now.x - was.x, now.y - was.y)
    fingers.set(event.pointerId, now)
  }
  const up = (event: PointerEvent) => fingers.delete(event.pointerId)
  const wheel = (event: WheelEvent) => {
    // The page scrolls past the picture; it zooms once it is meant: focused, or with Ctrl, as a pinch on a pad sends.
    if (!event.ctrlKey && !event.metaKey && document.activeElement !== host) return
    event.preventDefault()
    const point = at(event)
    zoom(Math.exp(-event.deltaY * (event.ctrlKey ? 0.01 : 0.002)), point.x, point.y)
  }
  const keys: Readonly<Record<string, () => void>> = {
    '+': () => zoom(STEP),
    '=': () => zoom(STEP),
    '-': () => zoom(1 / STEP),
    '0': () => look(fitted(layout(), size())),
    ArrowLeft: () => pan(PAN_PX, 0),
    ArrowRight: () => pan(-PAN_PX, 0),
    ArrowUp: () => pan(0, PAN_PX),
    ArrowDown: () => pan(0, -PAN_PX),
  }
  const press = (event: KeyboardEvent) => {
    const act = event.ctrlKey || event.metaKey || event.altKey ? undefined : keys[event.key]
    if (!act) return
    event.preventDefault()
    act()
  }
  // The table has the same lots as links; here a tap is a shortcut for the eye.
  const tap = (event: MouseEvent) => {
    const node = event.target instanceof Element ? event.target.closest('[data-node]') : null
    const id = node?.getAttribute('data-node')
    if (id) props.open?.(id)
  }
  onMount(() => {
    host?.addEventListener('wheel', wheel, { passive: false })
    onCleanup(() => host?.removeEventListener('wheel', wheel))
  })

  const told = () => {
    const { nodes, edges, direction } = props.graph
    const whole = nodes.find((node) => node.id === props.graph.root)
    const litres = whole ? sayLitres(session.format(), whole.volumeL) : ''
    return `${props.title}: ${litres}, ${nodes.length} lots and sources, ${edges.length} ways, ${direction === 'back' ? 'the wine asked about at the right' : 'the wine asked about at the left'}. The table below says the same.`
  }
  const viewBox = () => `${view().x} ${view().y} ${size().widthPx / view().scale} ${size().heightPx / view().scale}`

  return (
    <figure class="trace-figure">
      <div class="row no-print">
        <Button aria-label="Larger" onClick={() => zoom(STEP)}>
          +
        </Button>
        <Button aria-label="Smaller" onClick={() => zoom(1 / STEP)}>
          −
        </Button>
        <Button onClick={() => look(fitted(layout(), size()))}>All of it</Button>
        <Show when={mayFold()}>
          <label class="check">
            <input type="checkbox" checked={folding()} onChange={(event) => setFolds(event.currentTarget.checked)} />
            <span>Sources under 1 % drawn together</span>
          </label>
        </Show>
        <span class="small quiet desk-only" id={`${id}-keys`}>
          Drag to move; + and − zoom, arrows move, 0 shows all. The wheel zooms once the picture has the focus.
        </span>
      </div>
      <div
        class="trace-window no-print"
        ref={host}
        // biome-ignore lint/a11y/noNoninteractiveTabindex: a part that moves and zooms must be reachable by keyboard (WCAG 2.1.1)
        tabIndex={0}
        role="application"
        aria-label={`Picture: ${props.title}`}
        aria-describedby={`${id}-keys`}
        onPointerDown={down}
        onPointerMove={move}
        onPointerUp={up}
        onPointerCancel={up}
        onKeyDown={press}
        onClick={tap}
      >
        <svg width="100%" height="100%" viewBox={viewBox()} role="img" aria-label={told()}>
          <TraceDrawing
            layout={layout()}
            root={props.graph.root}
            direction={props.graph.direction}
            words={view().scale >= WORDS_FROM}
            patternId={`${id}-barred`}
            opens={props.open !== undefined}
          />
        </svg>
      </div>
      <div class="print-only" aria-hidden="true">
        <For each={sheets()}>
          {(sheet, at) => (
            <div class="trace-sheet">
              <p class="small">
                {props.title}
                {sheets().length > 1 ? `, sheet ${at() + 1} of ${sheets().length}` : ''}
              </p>
              <svg viewBox={`${sheet.x} ${sheet.y} ${sheet.widthPx} ${sheet.heightPx}`} width="100%" aria-hidden="true">
                <TraceDrawing
                  layout={layout()}
                  root={props.graph.root}
                  direction={props.graph.direction}
                  words
                  patternId={`${id}-barred-${at()}`}
                />
              </svg>
            </div>
          )}
        </For>
      </div>
      <Legend hasFolded={shown() !== props.graph} hasBarred={props.graph.nodes.some((node) => node.quarantined)} />
    </figure>
  )
}

function Legend(props: { readonly hasFolded: boolean; readonly hasBarred: boolean }) {
  return (
    <figcaption class="row small quiet">
      <span>Time runs from left to right; a band is as wide as its litres.</span>
      <span>Slanted side: came through the door. Straight sides: a lot.</span>
      <Show when={props.hasFolded}>
        <span>Double line: several small sources drawn as one.</span>
      </Show>
      <Show when={props.hasBarred}>
        <span>Hatched: barred from topping others.</span>
      </Show>
    </figcaption>
  )
}

const apart = (a: { readonly x: number; readonly y: number }, b: { readonly x: number; readonly y: number }) =>
  Math.hypot(a.x - b.x, a.y - b.y)

const middleOf = (
  box: { readonly x: number; readonly y: number; readonly w: number; readonly h: number } | undefined,
) => ({
  x: box ? box.x + box.w / 2 : 0,
  y: box ? box.y + box.h / 2 : 0,
})
