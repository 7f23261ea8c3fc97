import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  acyclic,
  columnsOf,
  foldSmall,
  type TraceEdge,
  type TraceGraph,
  type TraceNode,
} from '../../web/ledger/graph.ts'
import { layoutTrace, pathOf } from '../../web/ledger/layout.ts'
import { crossingsOf, ordered, type Step } from '../../web/ledger/order.ts'
import { apart } from '../../web/ledger/place.ts'

const node = (id: string, share = 0.1, more: Partial<TraceNode> = {}): TraceNode => ({
  id,
  kind: 'lot',
  label: id,
  volumeL: share * 1000,
  share,
  ...more,
})
const edge = (from: string, to: string, share = 0.1, firstMs = 0): TraceEdge => ({
  from,
  to,
  volumeL: share * 1000,
  share,
  firstMs,
})

/** Lots in order of time; each way leads from an earlier to a later one, and the last is the root. */
const anyTrace = fc
  .record({
    count: fc.integer({ min: 1, max: 40 }),
    ways: fc.array(fc.tuple(fc.nat(), fc.nat(), fc.double({ min: 0, max: 1, noNaN: true })), { maxLength: 120 }),
    direction: fc.constantFrom('back' as const, 'forward' as const),
  })
  .map(({ count, ways, direction }): TraceGraph => {
    const id = (i: number) => `n${String(i).padStart(2, '0')}`
    return {
      root: direction === 'back' ? id(count - 1) : id(0),
      direction,
      nodes: Array.from({ length: count }, (_, i) => node(id(i), (i + 1) / count)),
      edges: ways
        .map(([a, b, share], i) =>
          edge(id(Math.min(a % count, b % count)), id(Math.max(a % count, b % count)), share, i),
        )
        .filter((way) => way.from !== way.to),
    }
  })

const shuffled = <T>(list: readonly T[], seed: number): T[] =>
  list
    .map((entry, i) => ({ entry, key: Math.imul(i + 1, seed | 1) >>> 0 }))
    .sort((a, b) => a.key - b.key)
    .map(({ entry }) => entry)

describe('the layout of a trace', () => {
  it('sets a split and a blend in three columns: fruit, its two children, the blend', () => {
    const layout = layoutTrace({
      root: 'blend',
      direction: 'back',
      nodes: [node('fruit', 1), node('a', 0.6), node('b', 0.4), node('blend', 1)],
      edges: [edge('fruit', 'a', 0.6), edge('fruit', 'b', 0.4), edge('a', 'blend', 0.6), edge('b', 'blend', 0.4)],
    })
    const at = new Map(layout.nodes.map((box) => [box.node.id, box]))
    expect([at.get('fruit')?.column, at.get('a')?.column, at.get('b')?.column, at.get('blend')?.column]).toEqual([
      0, 1, 1, 2,
    ])
    expect(layout.crossings).toBe(0)
    // 0.6 and 0.4 of the band that is 72 px for the whole.
    expect(layout.edges.map((e) => Math.round(e.thickPx * 10) / 10).sort()).toEqual([28.8, 28.8, 43.2, 43.2])
  })

  it('for any trace, no two nodes lie over each other', () => {
    fc.assert(
      fc.property(anyTrace, (graph) => {
        const { nodes } = layoutTrace(graph)
        for (const [i, a] of nodes.entries())
          for (const b of nodes.slice(i + 1)) {
            const apartX = a.x + a.w <= b.x || b.x + b.w <= a.x
            const apartY = a.y + a.h <= b.y + 1e-6 || b.y + b.h <= a.y + 1e-6
            expect(apartX || apartY, `${a.node.id} over ${b.node.id}`).toBe(true)
          }
      }),
      { numRuns: 200 },
    )
  })

  it('for any trace, bands that pass a column run between its nodes, not under them', () => {
    fc.assert(
      fc.property(anyTrace, (graph) => {
        const { nodes, edges } = layoutTrace(graph)
        for (const band of edges)
          for (const bend of band.points.slice(1, -1))
            for (const box of nodes)
              if (bend.x >= box.x && bend.x <= box.x + box.w)
                expect(bend.y < box.y || bend.y > box.y + box.h, `${band.edge.from} under ${box.node.id}`).toBe(true)
      }),
      { numRuns: 200 },
    )
  })

  it('for any trace, what is earlier stands left of what came of it, and everything is on the paper', () => {
    fc.assert(
      fc.property(anyTrace, (graph) => {
        const layout = layoutTrace(graph)
        const at = new Map(layout.nodes.map((box) => [box.node.id, box]))
        for (const band of layout.edges) {
          expect(band.returns).toBe(false)
          expect(at.get(band.edge.from)?.column ?? 0).toBeLessThan(at.get(band.edge.to)?.column ?? 0)
          const xs = band.points.map((point) => point.x)
          expect([...xs].sort((a, b) => a - b)).toEqual(xs)
        }
        for (const box of layout.nodes) {
          expect(box.x).toBeGreaterThanOrEqual(0)
          expect(box.y).toBeGreaterThanOrEqual(0)
          expect(box.x + box.w).toBeLessThanOrEqual(layout.widthPx)
          expect(box.y + box.h).toBeLessThanOrEqual(layout.heightPx)
        }
      }),
      { numRuns: 200 },
    )
  })

  it('for any trace, every way leaves and enters at its nodes’ sides, the bands beside each other', () => {
    fc.assert(
      fc.property(anyTrace, (graph) => {
        const { nodes, edges } = layoutTrace(graph)
        for (const box of nodes) {
          const ports = edges
            .filter((band) => band.edge.to === box.node.id)
            .map((band) => ({ y: band.points.at(-1)?.y ?? 0, half: band.thickPx / 2 }))
            .sort((a, b) => a.y - b.y)
          for (const [i, port] of ports.entries()) {
            expect(port.y - port.half).toBeGreaterThanOrEqual(box.y - 1e-6)
            expect(port.y + port.half).toBeLessThanOrEqual(box.y + box.h + 1e-6)
            const next = ports[i + 1]
            if (next) expect(port.y + port.half).toBeLessThanOrEqual(next.y - next.half + 1e-6)
          }
        }
      }),
      { numRuns: 100 },
    )
  })

  it('for any trace, the order in which its parts are told does not matter', () => {
    fc.assert(
      fc.property(anyTrace, fc.integer({ min: 1, max: 1_000_000 }), (graph, seed) => {
        const told = { ...graph, nodes: shuffled(graph.nodes, seed), edges: shuffled(graph.edges, seed + 7) }
        const [a, b] = [layoutTrace(graph), layoutTrace(told)]
        expect(b.nodes).toEqual(a.nodes)
        expect(b.edges.map(pathOf)).toEqual(a.edges.map(pathOf))
      }),
      { numRuns: 100 },
    )
  })

  it('lets a topping back and forth return instead of hanging, and gives the narrow one the way back', () => {
    const layout = layoutTrace({
      root: 'a',
      direction: 'back',
      nodes: [node('a', 1), node('b', 0.3)],
      edges: [edge('b', 'a', 0.3), edge('a', 'b', 0.01)],
    })
    expect(layout.edges.map((band) => [band.edge.from, band.returns])).toEqual([
      ['b', false],
      ['a', true],
    ])
  })

  it('draws one lot alone, and nothing', () => {
    expect(layoutTrace({ root: 'a', direction: 'back', nodes: [node('a', 1)], edges: [] }).nodes).toHaveLength(1)
    expect(layoutTrace({ root: 'a', direction: 'back', nodes: [], edges: [] }).nodes).toEqual([])
  })

  it('lays out a blend of 400 sources through forty lots', () => {
    const sources = Array.from({ length: 400 }, (_, i) => node(`r${String(i).padStart(3, '0')}`, 1 / 400))
    const lots = Array.from({ length: 40 }, (_, i) => node(`l${String(i).padStart(2, '0')}`, 1 / 40))
    const layout = layoutTrace({
      root: 'blend',
      direction: 'back',
      nodes: [...sources, ...lots, node('blend', 1)],
      edges: [
        // Each source goes into the lot of its tens: no crossing is needed.
        ...sources.map((s, i) => edge(s.id, `l${String(Math.floor(i / 10)).padStart(2, '0')}`, 1 / 400, i)),
        ...lots.map((l) => edge(l.id, 'blend', 1 / 40)),
      ],
    })
    expect(layout.nodes).toHaveLength(441)
    expect(layout.crossings).toBe(0)
  })
})

describe('ways against the stream', () => {
  it('for any graph, the ways that go on close no circle and none is lost', () => {
    const anyWays = fc.array(
      fc.tuple(
        fc.integer({ min: 0, max: 12 }),
        fc.integer({ min: 0, max: 12 }),
        fc.double({ min: 0, max: 1, noNaN: true }),
      ),
      { maxLength: 60 },
    )
    fc.assert(
      fc.property(anyWays, (ways) => {
        const edges = ways.map(([a, b, share]) => edge(`n${a}`, `n${b}`, share))
        const { onward, returning } = acyclic(edges)
        expect(onward.length + returning.length).toBe(edges.length)
        const nodes = Array.from({ length: 13 }, (_, i) => node(`n${i}`))
        const column = columnsOf(nodes, onward, 'back')
        for (const way of onward) expect(column.get(way.from) ?? 0).toBeLessThan(column.get(way.to) ?? 0)
      }),
    )
  })
})

describe('the order within columns', () => {
  it('unties two crossed ways', () => {
    const steps: Step[] = [
      { from: 'a', to: 'y', weight: 1 },
      { from: 'b', to: 'x', weight: 1 },
    ]
    const columns = [
      ['a', 'b'],
      ['x', 'y'],
    ]
    expect(crossingsOf(columns, steps)).toBe(1)
    expect(crossingsOf(ordered(columns, steps), steps)).toBe(0)
  })

  it('for any columns, never crosses more than before, and counts as pair by pair does', () => {
    const anySteps = fc.array(fc.tuple(fc.nat(7), fc.nat(7), fc.nat(1)), { maxLength: 30 })
    fc.assert(
      fc.property(anySteps, (ways) => {
        const columns = [0, 1, 2].map((c) => Array.from({ length: 8 }, (_, i) => `${c}-${i}`))
        const steps = ways.map(([a, b, c]): Step => ({ from: `${c}-${a}`, to: `${c + 1}-${b}`, weight: 1 }))
        let slow = 0
        for (const [i, [a, b, c]] of ways.entries())
          for (const [a2, b2, c2] of ways.slice(i + 1)) if (c === c2 && (a - a2) * (b - b2) < 0) slow += 1
        expect(crossingsOf(columns, steps)).toBe(slow)
        expect(crossingsOf(ordered(columns, steps), steps)).toBeLessThanOrEqual(slow)
      }),
    )
  })
})

describe('places in a column', () => {
  it('leaves wishes that have room, and shares what is missing evenly', () => {
    expect(apart([0, 100], [10])).toEqual([0, 100])
    // Two that wish for 50 with 10 between: 45 and 55.
    expect(apart([50, 50], [10])).toEqual([45, 55])
    // The third pushes nobody: 45, 55, 90.
    expect(apart([50, 50, 90], [10, 10])).toEqual([45, 55, 90])
  })

  it('for any wishes, keeps the order and the room', () => {
    const wishes = fc.array(fc.tuple(fc.integer({ min: -500, max: 500 }), fc.integer({ min: 0, max: 90 })), {
      minLength: 1,
    })
    fc.assert(
      fc.property(wishes, (pairs) => {
        const room = pairs.slice(1).map(([, space]) => space)
        const places = apart(
          pairs.map(([wish]) => wish),
          room,
        )
        room.forEach((space, i) => {
          expect((places[i + 1] ?? 0) - (places[i] ?? 0)).toBeGreaterThanOrEqual(space - 1e-6)
        })
      }),
    )
  })
})

describe('small sources', () => {
  const graph: TraceGraph = {
    root: 'blend',
    direction: 'back',
    nodes: [
      node('blend', 1),
      node('big', 0.97),
      node('s1', 0.01),
      node('s2', 0.008),
      node('s3', 0.012, { quarantined: true }),
    ],
    edges: [
      edge('big', 'blend', 0.97),
      edge('s1', 'blend', 0.01),
      edge('s2', 'blend', 0.008),
      edge('s3', 'blend', 0.012),
    ],
  }

  it('are drawn as one whose litres and share are theirs together; what is barred is never hidden', () => {
    const folded = foldSmall(graph, 0.05)
    expect(folded.nodes.map((n) => n.id).sort()).toEqual(['big', 'blend', 'folded:blend', 's3'])
    expect(folded.nodes.find((n) => n.kind === 'folded')?.share).toBeCloseTo(0.018, 12)
    expect(folded.edges.find((e) => e.from === 'folded:blend')?.volumeL).toBeCloseTo(18, 9)
  })

  it('for any trace, folding loses no litres on the way into the root', () => {
    fc.assert(
      fc.property(anyTrace, fc.double({ min: 0, max: 1, noNaN: true }), (any, least) => {
        const folded = foldSmall(any, least)
        const into = (g: TraceGraph) =>
          g.edges.filter((e) => e.to === g.root || e.from === g.root).reduce((sum, e) => sum + e.volumeL, 0)
        expect(into(folded)).toBeCloseTo(into(any), 6)
        expect(folded.nodes.some((n) => n.id === any.root)).toBe(true)
      }),
    )
  })
})
