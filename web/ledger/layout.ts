/** Where everything of a trace stands on paper: earlier left, later right; ways as bands as wide as their litres. */
import { acyclic, byText, columnsOf, type TraceEdge, type TraceGraph, type TraceNode } from './graph.ts'
import { crossingsOf, ordered, type Step } from './order.ts'
import { middles } from './place.ts'

export const NODE_PX = 192
export const COLUMN_PX = 316
const LEAST_NODE_PX = 46
const GAP_PX = 16
const BEND_GAP_PX = 7
const LANE_PX = 15
/** The whole of the wine asked about. */
const WHOLE_PX = 72
const THIN_PX = 1.5
const MARGIN_PX = 24

export interface PlacedNode {
  readonly node: TraceNode
  readonly column: number
  readonly x: number
  readonly y: number
  readonly w: number
  readonly h: number
}

export interface Point {
  readonly x: number
  readonly y: number
}

export interface PlacedEdge {
  readonly edge: TraceEdge
  /** Against the stream. */
  readonly returns: boolean
  readonly thickPx: number
  readonly points: readonly Point[]
  /** Where its litres are written, at the end away from the root. */
  readonly labelAt: Point
  /** The node beside the label says the same already. */
  readonly saidByNode: boolean
}

export interface TraceLayout {
  readonly widthPx: number
  readonly heightPx: number
  readonly columns: number
  readonly crossings: number
  readonly nodes: readonly PlacedNode[]
  readonly edges: readonly PlacedEdge[]
}

const bendId = (edge: TraceEdge, column: number) => `${edge.from}\u0000${edge.to}\u0000${column}`
const thickOf = (edge: TraceEdge) => Math.max(THIN_PX, edge.share * WHOLE_PX)

/** The same graph gives the same picture, in whatever order its parts are told. */
export function layoutTrace(graph: TraceGraph): TraceLayout {
  const nodes = [...graph.nodes].sort((a, b) => byText(a.label, b.label) || byText(a.id, b.id))
  const byId = new Map(nodes.map((node) => [node.id, node]))
  const known = oneEach(graph.edges.filter((edge) => byId.has(edge.from) && byId.has(edge.to)))
  const { onward, returning } = acyclic(known)
  const columnOf = columnsOf(nodes, onward, graph.direction)
  const chains = new Map(onward.map((edge) => [edge, chainOf(edge, columnOf)]))
  const steps = [...chains].flatMap(([edge, chain]) =>
    chain.slice(1).map((to, i): Step => ({ from: chain[i] as string, to, weight: Math.max(0.001, edge.share) })),
  )
  const columns = ordered(firstOrder(nodes, onward, columnOf, chains, graph.direction), steps)
  const heights = heightsOf(nodes, onward, chains)
  const isBend = (id: string) => !byId.has(id)
  const middle = middles(columns, steps, heights, (above, below) =>
    isBend(above) && isBend(below) ? BEND_GAP_PX : isBend(above) || isBend(below) ? (GAP_PX + BEND_GAP_PX) / 2 : GAP_PX,
  )
  const topPx = Math.min(0, ...columns.flat().map((id) => (middle.get(id) ?? 0) - (heights.get(id) ?? 0) / 2))
  const yOf = (id: string) => (middle.get(id) ?? 0) - topPx + MARGIN_PX
  const placed = nodes.map((node): PlacedNode => {
    const column = columnOf.get(node.id) ?? 0
    const h = heights.get(node.id) ?? LEAST_NODE_PX
    return { node, column, x: MARGIN_PX + column * COLUMN_PX, y: yOf(node.id) - h / 2, w: NODE_PX, h }
  })
  const boxes = new Map(placed.map((box) => [box.node.id, box]))
  const edges = [
    ...onwardEdges(chains, boxes, yOf, columnOf, graph.direction),
    ...returning.flatMap((edge) => returningEdge(edge, boxes)),
  ]
  const bottomPx = Math.max(
    ...columns.flat().map((id) => yOf(id) + (heights.get(id) ?? 0) / 2),
    ...edges.filter((edge) => edge.returns).flatMap((edge) => edge.points.map((point) => point.y)),
    0,
  )
  return {
    widthPx: 2 * MARGIN_PX + (Math.max(1, columns.length) - 1) * COLUMN_PX + NODE_PX,
    heightPx: bottomPx + MARGIN_PX,
    columns: columns.length,
    crossings: crossingsOf(columns, steps),
    nodes: placed,
    edges,
  }
}

/** Two ways between the same two nodes are one band. */
function oneEach(edges: readonly TraceEdge[]): readonly TraceEdge[] {
  const out = new Map<string, TraceEdge>()
  for (const edge of edges) {
    const key = `${edge.from}\u0000${edge.to}`
    const was = out.get(key)
    out.set(
      key,
      was
        ? {
            ...was,
            volumeL: was.volumeL + edge.volumeL,
            share: was.share + edge.share,
            firstMs: Math.min(was.firstMs, edge.firstMs),
          }
        : edge,
    )
  }
  return [...out.entries()].sort(([a], [b]) => byText(a, b)).map(([, edge]) => edge)
}

/** A way past columns bends once in each, so that it runs between the nodes there and not under them. */
function chainOf(edge: TraceEdge, columnOf: ReadonlyMap<string, number>): readonly string[] {
  const from = columnOf.get(edge.from) ?? 0
  const to = columnOf.get(edge.to) ?? 0
  const bends: string[] = []
  for (let column = from + 1; column < to; column++) bends.push(bendId(edge, column))
  return [edge.from, ...bends, edge.to]
}

/** From the top: what came first in time. */
function firstOrder(
  nodes: readonly TraceNode[],
  onward: readonly TraceEdge[],
  columnOf: ReadonlyMap<string, number>,
  chains: ReadonlyMap<TraceEdge, readonly string[]>,
  direction: TraceGraph['direction'],
): readonly (readonly string[])[] {
  const firstMs = new Map<string, number>()
  for (const edge of onward) {
    const id = direction === 'back' ? edge.from : edge.to
    firstMs.set(id, Math.min(firstMs.get(id) ?? edge.firstMs, edge.firstMs))
  }
  const count = Math.max(0, ...columnOf.values()) + (nodes.length > 0 ? 1 : 0)
  const columns = Array.from({ length: count }, (): { id: string; ms: number }[] => [])
  for (const node of nodes) columns[columnOf.get(node.id) ?? 0]?.push({ id: node.id, ms: firstMs.get(node.id) ?? 0 })
  for (const [edge, chain] of chains) {
    const from = columnOf.get(edge.from) ?? 0
    chain.slice(1, -1).forEach((id, i) => {
      columns[from + 1 + i]?.push({ id, ms: edge.firstMs })
    })
  }
  return columns.map((column) => column.sort((a, b) => a.ms - b.ms).map((entry) => entry.id))
}

/** As high as its ways on the busier side need, each with room for its words. */
function heightsOf(
  nodes: readonly TraceNode[],
  onward: readonly TraceEdge[],
  chains: ReadonlyMap<TraceEdge, readonly string[]>,
): ReadonlyMap<string, number> {
  const into = new Map<string, number>()
  const out = new Map<string, number>()
  for (const edge of onward) {
    into.set(edge.to, (into.get(edge.to) ?? 0) + thickOf(edge))
    out.set(edge.from, (out.get(edge.from) ?? 0) + thickOf(edge))
  }
  const waysOf = (id: string, end: 'from' | 'to') => onward.filter((edge) => edge[end] === id).length
  const lanes = (id: string, end: 'from' | 'to') => Math.min(12, waysOf(id, end)) * LANE_PX
  const heights = new Map<string, number>()
  for (const { id } of nodes)
    heights.set(
      id,
      Math.max(LEAST_NODE_PX, into.get(id) ?? 0, out.get(id) ?? 0, lanes(id, 'from') + 6, lanes(id, 'to') + 6),
    )
  for (const [edge, chain] of chains) for (const id of chain.slice(1, -1)) heights.set(id, thickOf(edge))
  return heights
}

function onwardEdges(
  chains: ReadonlyMap<TraceEdge, readonly string[]>,
  boxes: ReadonlyMap<string, PlacedNode>,
  yOf: (id: string) => number,
  columnOf: ReadonlyMap<string, number>,
  direction: TraceGraph['direction'],
): readonly PlacedEdge[] {
  const edges = [...chains.keys()]
  const leaving = portsOf(edges, 'from', (edge) => yOf(chains.get(edge)?.[1] ?? edge.to), boxes)
  const arriving = portsOf(edges, 'to', (edge) => yOf(chains.get(edge)?.at(-2) ?? edge.from), boxes)
  return edges.flatMap((edge) => {
    const from = boxes.get(edge.from)
    const to = boxes.get(edge.to)
    if (!from || !to) return []
    const bends = (chains.get(edge) ?? []).slice(1, -1).flatMap((id, i) => {
      const x = MARGIN_PX + ((columnOf.get(edge.from) ?? 0) + 1 + i) * COLUMN_PX
      return [
        { x, y: yOf(id) },
        { x: x + NODE_PX, y: yOf(id) },
      ]
    })
    const start = { x: from.x + from.w, y: leaving.get(edge) ?? from.y }
    const end = { x: to.x, y: arriving.get(edge) ?? to.y }
    const far = direction === 'back' ? from : to
    const ways = edges.filter((other) => (direction === 'back' ? other.from : other.to) === far.node.id).length
    return [
      {
        edge,
        returns: false,
        thickPx: thickOf(edge),
        points: [start, ...bends, end],
        labelAt: direction === 'back' ? { x: start.x + 8, y: start.y } : { x: end.x - 8, y: end.y },
        saidByNode: ways === 1 && Math.abs(far.node.volumeL - edge.volumeL) < 0.0005,
      },
    ]
  })
}

/** Where each way leaves or enters a node: side by side, in the order of where they come from or go to. */
function portsOf(
  edges: readonly TraceEdge[],
  end: 'from' | 'to',
  otherY: (edge: TraceEdge) => number,
  boxes: ReadonlyMap<string, PlacedNode>,
): ReadonlyMap<TraceEdge, number> {
  const byNode = new Map<string, TraceEdge[]>()
  for (const edge of edges) {
    const list = byNode.get(edge[end])
    if (list) list.push(edge)
    else byNode.set(edge[end], [edge])
  }
  const ports = new Map<TraceEdge, number>()
  for (const [id, list] of byNode) {
    const box = boxes.get(id)
    if (!box) continue
    const inOrder = [...list].sort((a, b) => otherY(a) - otherY(b) || a.firstMs - b.firstMs || byText(a.from, b.from))
    const thick = inOrder.reduce((sum, edge) => sum + thickOf(edge), 0)
    const between = Math.max(0, box.h - thick) / inOrder.length
    let y = box.y + Math.max(0, box.h - thick - between * inOrder.length) / 2
    for (const edge of inOrder) {
      ports.set(edge, y + between / 2 + thickOf(edge) / 2)
      y += between + thickOf(edge)
    }
  }
  return ports
}

function returningEdge(edge: TraceEdge, boxes: ReadonlyMap<string, PlacedNode>): readonly PlacedEdge[] {
  const from = boxes.get(edge.from)
  const to = boxes.get(edge.to)
  if (!from || !to || from === to) return []
  const underPx = Math.max(from.y + from.h, to.y + to.h) + 10
  const start = { x: from.x + from.w * 0.6, y: from.y + from.h }
  const end = { x: to.x + to.w * 0.4, y: to.y + to.h }
  return [
    {
      edge,
      returns: true,
      thickPx: THIN_PX,
      points: [start, { x: start.x, y: underPx }, { x: end.x, y: underPx }, end],
      labelAt: { x: Math.min(start.x, end.x) + 6, y: underPx },
      saidByNode: false,
    },
  ]
}

/** The middle line of a band as an SVG path: level at every point. */
export function pathOf(placed: PlacedEdge): string {
  const [first, ...rest] = placed.points
  if (!first) return ''
  if (placed.returns) return `M${xy(first)}${rest.map((point) => `L${xy(point)}`).join('')}`
  let at = first
  let path = `M${xy(first)}`
  for (const point of rest) {
    const half = (at.x + point.x) / 2
    path +=
      at.y === point.y
        ? `L${xy(point)}`
        : `C${round(half)} ${round(at.y)} ${round(half)} ${round(point.y)} ${xy(point)}`
    at = point
  }
  return path
}

const round = (px: number): number => Math.round(px * 10) / 10
const xy = (point: Point): string => `${round(point.x)} ${round(point.y)}`
