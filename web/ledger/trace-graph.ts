/** What the server tells of a trace, as the graph that is drawn and as the rows of its table. */
import type { TraceWire } from '../../api/wire.ts'
import { msOf } from '../format.ts'
import type { TraceGraph } from './graph.ts'

export function graphOf(trace: TraceWire): TraceGraph {
  return {
    root: trace.root,
    direction: trace.direction,
    nodes: trace.nodes.map((node) => ({
      id: node.id,
      kind: node.kind,
      label: node.label,
      ...(node.lot && node.lot.name !== node.label ? { name: node.lot.name } : {}),
      volumeL: node.volumeL,
      share: node.share,
      quarantined: node.quarantined,
    })),
    edges: trace.edges.map((edge) => ({
      from: edge.from,
      to: edge.to,
      volumeL: edge.volumeL,
      share: edge.share,
      firstMs: msOf(edge.firstAt),
    })),
  }
}

export interface TraceRow {
  readonly from: string
  readonly fromLot: string | undefined
  readonly to: string
  readonly toLot: string | undefined
  readonly edge: TraceWire['edges'][number]
  /** `T14 to T14, C1 to T14`. */
  readonly vessels: string
}

const VESSEL_PAIRS = 6

/** The picture in words: one row a band, the earliest first. */
export function rowsOf(trace: TraceWire): readonly TraceRow[] {
  const nodes = new Map(trace.nodes.map((node) => [node.id, node]))
  return [...trace.edges]
    .sort((a, b) => msOf(a.firstAt) - msOf(b.firstAt) || b.volumeL - a.volumeL || (a.from < b.from ? -1 : 1))
    .map((edge) => {
      const [from, to] = [nodes.get(edge.from), nodes.get(edge.to)]
      const pairs = edge.vessels.map((pair) => `${pair.from ?? 'in'} to ${pair.to ?? 'out'}`)
      const more = pairs.length - VESSEL_PAIRS
      return {
        from: from?.label ?? edge.from,
        fromLot: from?.lot?.id,
        to: to?.label ?? edge.to,
        toLot: to?.lot?.id,
        edge,
        vessels: [...pairs.slice(0, VESSEL_PAIRS), ...(more > 0 ? [`and ${more} more`] : [])].join(', '),
      }
    })
}
