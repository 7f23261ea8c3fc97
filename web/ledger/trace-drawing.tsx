import { For, Show } from 'solid-js'
import { useSession } from '../session.tsx'
import type { TraceGraph } from './graph.ts'
import { type PlacedEdge, type PlacedNode, pathOf, type TraceLayout } from './layout.ts'
import { sayLitres, sayShare } from './words.ts'

const SLANT_PX = 10
/** Letters of the usual width that fit a node. */
const LETTERS = 21

/** What is inside the svg: bands, boxes, words. The same for the screen and for paper. */
export function TraceDrawing(props: {
  readonly layout: TraceLayout
  readonly root: string
  readonly direction: TraceGraph['direction']
  /** Too small to read otherwise. */
  readonly words: boolean
  readonly patternId: string
  /** Lots may be tapped: they carry their id. */
  readonly opens?: boolean
}) {
  return (
    <>
      <defs>
        <pattern id={props.patternId} width="8" height="8" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
          <path d="M0 0V8" class="trace-hatch" />
        </pattern>
      </defs>
      <For each={props.layout.edges}>{(edge) => <Band placed={edge} />}</For>
      <For each={props.layout.nodes}>
        {(box) => (
          <Box
            box={box}
            isRoot={box.node.id === props.root}
            words={props.words}
            patternId={props.patternId}
            opens={props.opens}
          />
        )}
      </For>
      <Show when={props.words}>
        <For each={props.layout.edges.filter((edge) => !edge.saidByNode)}>
          {(edge) => <BandWords placed={edge} anchor={props.direction === 'back' || edge.returns ? 'start' : 'end'} />}
        </For>
      </Show>
    </>
  )
}

/** An outline and its filling, so that grey paper still shows where one band ends. */
function Band(props: { readonly placed: PlacedEdge }) {
  const path = () => pathOf(props.placed)
  return (
    <Show when={!props.placed.returns} fallback={<path d={path()} class="trace-return" />}>
      <path d={path()} class="trace-edge" stroke-width={props.placed.thickPx} />
      <Show when={props.placed.thickPx > 3}>
        <path d={path()} class="trace-fill" stroke-width={props.placed.thickPx - 2} />
      </Show>
    </Show>
  )
}

function BandWords(props: { readonly placed: PlacedEdge; readonly anchor: 'start' | 'end' }) {
  const session = useSession()
  return (
    <text class="trace-words" x={props.placed.labelAt.x} y={props.placed.labelAt.y + 4} text-anchor={props.anchor}>
      {sayLitres(session.format(), props.placed.edge.volumeL)} {sayShare(session.format(), props.placed.edge.share)}
    </text>
  )
}

function Box(props: {
  readonly box: PlacedNode
  readonly isRoot: boolean
  readonly words: boolean
  readonly patternId: string
  readonly opens: boolean | undefined
}) {
  const session = useSession()
  const node = () => props.box.node
  const outline = () => outlineOf(props.box)
  const opens = () => props.opens === true && node().kind === 'lot'
  const textX = () => props.box.x + (node().kind === 'receipt' ? SLANT_PX + 6 : 10)
  const textY = () => props.box.y + Math.max(18, props.box.h / 2 - 4)
  return (
    <g
      class="trace-node"
      classList={{ root: props.isRoot, opens: opens() }}
      data-node={opens() ? node().id : undefined}
    >
      <path d={outline()} class="trace-box" />
      <Show when={node().kind === 'folded'}>
        <path
          d={outlineOf({
            ...props.box,
            x: props.box.x + 3,
            y: props.box.y + 3,
            w: props.box.w - 6,
            h: props.box.h - 6,
          })}
          class="trace-inner"
        />
      </Show>
      <Show when={node().quarantined}>
        <path d={outline()} fill={`url(#${props.patternId})`} />
      </Show>
      <Show when={props.words}>
        <text class="trace-code" x={textX()} y={textY()}>
          {shortened(
            node().name ? `${node().label} ${node().name}` : node().label,
            LETTERS - (node().kind === 'receipt' ? 1 : 0),
          )}
        </text>
        <text class="trace-figures" x={textX()} y={textY() + 17}>
          {sayLitres(session.format(), node().volumeL)} {sayShare(session.format(), node().share)}
          {node().quarantined ? ' barred' : ''}
        </text>
      </Show>
      <title>
        {node().label} {node().name}
      </title>
    </g>
  )
}

/** Straight sides for a lot, the press plate's slant on the left for what came through the door. */
function outlineOf({ node, x, y, w, h }: PlacedNode): string {
  if (node.kind !== 'receipt') return `M${x} ${y}h${w}v${h}h${-w}Z`
  return `M${x} ${y}h${w}v${h}h${-(w - SLANT_PX)}Z`
}

const shortened = (text: string, most: number): string => (text.length <= most ? text : `${text.slice(0, most - 1)}…`)
