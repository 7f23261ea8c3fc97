/** Wine that became other wine: lots and what came through the door, tied by what flowed between them. */

export interface TraceNode {
  readonly id: string
  readonly kind: 'lot' | 'receipt' | 'outside' | 'folded'
  readonly label: string
  readonly name?: string
  /** Litres of the wine asked about that passed here. */
  readonly volumeL: number
  /** The same as a share of the wine asked about, 0 to 1. */
  readonly share: number
  readonly quarantined?: boolean
}

export interface TraceEdge {
  readonly from: string
  readonly to: string
  readonly volumeL: number
  readonly share: number
  /** The first movement along it, ms. */
  readonly firstMs: number
}

export interface TraceGraph {
  readonly root: string
  /** `back`: all ways lead to the root. `forward`: all lead from it. */
  readonly direction: 'back' | 'forward'
  readonly nodes: readonly TraceNode[]
  readonly edges: readonly TraceEdge[]
}

export interface Acyclic {
  /** Ways that lead from the earlier to the later. */
  readonly onward: readonly TraceEdge[]
  /** Ways against the stream: a lot topped from a lot it had topped before. The smallest of each round. */
  readonly returning: readonly TraceEdge[]
}

/**
 * Leaves out as little wine as a greedy choice can so that nothing runs in a circle: ways are taken from the widest to
 * the narrowest, and one that would close a circle returns. A graph without circles keeps every way.
 */
export function acyclic(edges: readonly TraceEdge[]): Acyclic {
  const widestFirst = [...edges].sort(
    (a, b) => b.volumeL - a.volumeL || a.firstMs - b.firstMs || byText(a.from, b.from) || byText(a.to, b.to),
  )
  const next = new Map<string, string[]>()
  const onward: TraceEdge[] = []
  const returning: TraceEdge[] = []
  for (const edge of widestFirst) {
    if (edge.from === edge.to || leads(next, edge.to, edge.from)) {
      returning.push(edge)
      continue
    }
    onward.push(edge)
    next.set(edge.from, [...(next.get(edge.from) ?? []), edge.to])
  }
  return { onward, returning }
}

function leads(next: ReadonlyMap<string, readonly string[]>, from: string, to: string): boolean {
  const seen = new Set([from])
  const open = [from]
  while (open.length > 0) {
    const at = open.pop() as string
    if (at === to) return true
    for (const target of next.get(at) ?? []) {
      if (seen.has(target)) continue
      seen.add(target)
      open.push(target)
    }
  }
  return false
}

/**
 * The column of each node: what is earlier stands further left. Back: each as near to the root as its ways allow;
 * forward: each as near to the root as what leads to it allows.
 */
export function columnsOf(
  nodes: readonly TraceNode[],
  onward: readonly TraceEdge[],
  direction: TraceGraph['direction'],
): ReadonlyMap<string, number> {
  const further = new Map<string, string[]>()
  for (const edge of onward) {
    const [at, target] = direction === 'back' ? [edge.from, edge.to] : [edge.to, edge.from]
    further.set(at, [...(further.get(at) ?? []), target])
  }
  const depth = new Map<string, number>()
  // Deepest first without recursion: a cellar's chain of toppings may be long.
  for (const { id } of nodes) {
    const open = [id]
    while (open.length > 0) {
      const at = open.at(-1) as string
      const waits = (further.get(at) ?? []).filter((target) => !depth.has(target))
      if (depth.has(at)) open.pop()
      else if (waits.length > 0) open.push(...waits)
      else {
        const targets = further.get(at) ?? []
        depth.set(at, targets.length === 0 ? 0 : 1 + Math.max(...targets.map((target) => depth.get(target) ?? 0)))
        open.pop()
      }
    }
  }
  const most = Math.max(0, ...depth.values())
  return new Map([...depth].map(([id, d]) => [id, direction === 'back' ? most - d : d]))
}

/**
 * Small sources drawn as one, so that the picture can be read; litres and shares stay whole. Only ends of the graph
 * that hang on one other node are folded, never the root; fewer than two are left as they are.
 *
 * @param leastShare what is smaller is folded, 0 to 1
 */
export function foldSmall(graph: TraceGraph, leastShare: number): TraceGraph {
  const degree = new Map<string, TraceEdge[]>()
  for (const edge of graph.edges)
    for (const id of [edge.from, edge.to]) degree.set(id, [...(degree.get(id) ?? []), edge])
  const groups = new Map<string, TraceNode[]>()
  for (const node of graph.nodes) {
    const edges = degree.get(node.id) ?? []
    const only = edges[0]
    const isEnd =
      edges.length === 1 && only !== undefined && (graph.direction === 'back' ? only.from : only.to) === node.id
    if (!isEnd || node.id === graph.root || node.share >= leastShare || node.quarantined) continue
    const host = graph.direction === 'back' ? only.to : only.from
    groups.set(host, [...(groups.get(host) ?? []), node])
  }
  const folded = new Map<string, string>()
  const nodes: TraceNode[] = []
  for (const [host, small] of groups) {
    if (small.length < 2) continue
    const id = `folded:${host}`
    for (const node of small) folded.set(node.id, id)
    nodes.push({
      id,
      kind: 'folded',
      label: `${small.length} small`,
      volumeL: sum(small.map((node) => node.volumeL)),
      share: sum(small.map((node) => node.share)),
    })
  }
  if (nodes.length === 0) return graph
  const merged = new Map<string, TraceEdge>()
  const edges: TraceEdge[] = []
  for (const edge of graph.edges) {
    const id = folded.get(edge.from) ?? folded.get(edge.to)
    if (id === undefined) {
      edges.push(edge)
      continue
    }
    const was = merged.get(id)
    merged.set(id, {
      from: folded.get(edge.from) ?? edge.from,
      to: folded.get(edge.to) ?? edge.to,
      volumeL: (was?.volumeL ?? 0) + edge.volumeL,
      share: (was?.share ?? 0) + edge.share,
      firstMs: Math.min(was?.firstMs ?? edge.firstMs, edge.firstMs),
    })
  }
  return {
    ...graph,
    nodes: [...graph.nodes.filter((node) => !folded.has(node.id)), ...nodes],
    edges: [...edges, ...merged.values()],
  }
}

export const byText = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0)
const sum = (values: readonly number[]): number => values.reduce((a, b) => a + b, 0)
