/** Where wine came from and where it went, as a graph of lots. */
import { listOutflows } from '../../db/queries/flows.ts'
import { listFirstSeen } from '../../db/queries/ledger-sums.ts'
import { levelsAt } from '../../db/queries/levels.ts'
import type { Db } from '../../db/types.ts'
import { lotNode, receiptNode } from '../cellar/ledger/flow.ts'
import { flowForward, type Marked, type Outflow } from '../cellar/ledger/forward.ts'
import { shareThrough } from '../cellar/ledger/mixing.ts'
import type { Level } from '../cellar/ledger/page.ts'
import type { SourceWire, TraceEdgeWire, TraceNodeWire, TraceWire } from '../ledger-wire.ts'
import { isoOf, Temporal } from '../time.ts'
import { followAt, receiptsFor } from './answers.ts'
import { atMoment, closureOf } from './closure.ts'
import { type Look, lotRef, readNames } from './look.ts'
import { contentToWire, inL, roundL, sourcesToWire } from './shapes.ts'

export type Of = { readonly lotId: string } | { readonly vesselId: string }

/** One way wine went, whichever direction it was found in. */
interface Way {
  readonly from: string
  readonly to: string
  readonly volumeMl: number
  readonly movedMl: number
  readonly atMs: number
  readonly cause: string
  readonly movementId: string
  readonly fromVesselId?: string | undefined
  readonly toVesselId?: string | undefined
}

/** Where it came from before what it is: parcels of one variety and vintage must differ where a box cuts their names. */
export const parcelName = (s: Pick<SourceWire, 'lot' | 'block' | 'variety' | 'vintage'>): string =>
  [[s.lot?.code, s.block].filter(Boolean).join(' '), `${s.variety} ${s.vintage}`].filter(Boolean).join(', ')

export async function traceBack(db: Db, look: Look, of: Of, at: Temporal.Instant): Promise<TraceWire> {
  const all = await levelsAt(db, look.cellarId, at, 'vesselId' in of ? { vesselIds: [of.vesselId] } : {})
  const levels = [...all.values()].filter((l) => l.afterMl > 0 && ('vesselId' in of || l.afterLotId === of.lotId))
  const f = await followAt(db, look.cellarId, levels, at)
  const root = lotNode('lotId' in of ? of.lotId : (levels[0]?.afterLotId ?? ''))
  const receipts = await receiptsFor(db, look.cellarId, f.back.sourcesMl.keys())
  const { inflows } = f.closure
  await readNames(db, look, {
    vessels: [...levels.map((l) => l.vesselId), ...inflows.flatMap((i) => [i.fromVesselId, i.toVesselId])],
    lots: [
      root.slice('lot:'.length),
      ...levels.map((l) => l.afterLotId),
      ...inflows.flatMap((i) => [i.fromLotId, i.toLotId, i.toBeforeLotId]),
      ...[...receipts.values()].map((r) => r.lotId),
    ],
  })
  const ways = f.back.flows.map(
    (w): Way => ({
      from: w.from,
      to: w.to,
      volumeMl: w.volumeMl,
      movedMl: w.inflow.volumeMl,
      atMs: w.inflow.atMs,
      cause: w.inflow.cause,
      movementId: w.inflow.movementId,
      fromVesselId: w.inflow.fromVesselId,
      toVesselId: w.inflow.toVesselId,
    }),
  )
  const sources = sourcesToWire(look, f.back.sourcesMl, receipts)
  const through = new Map([
    ...f.back.throughMl,
    ...[...f.back.sourcesMl].map(([id, ml]) => [receiptNode(id), ml] as const),
  ])
  const label = new Map(sources.map((s) => [receiptNode(s.receiptId), parcelName(s)]))
  const edges = edgesOf(look, ways, f.volumeMl)
  return {
    at: at.toString(),
    direction: 'back',
    root,
    totalL: inL(f.volumeMl),
    nodes: levels.length === 0 ? [] : nodesOf(look, root, through, f.back.vesselsOf, edges, f.volumeMl, label, 'back'),
    edges,
    sources,
    reached: [],
    cut: f.closure.cut,
  }
}

const MOST_OUTFLOWS = 50_000

export async function traceForward(
  db: Db,
  look: Look,
  of: Of,
  since: Temporal.Instant | undefined,
  at: Temporal.Instant,
): Promise<TraceWire> {
  const start = await startOf(db, look, of, since)
  const { outflows, cut, reached } = start
    ? await outflowsOf(db, look, start.places)
    : { outflows: [], cut: false, reached: new Set<string>() }
  const untilMs = at.epochMilliseconds
  const found = flowForward(
    outflows.filter((o) => o.atMs <= untilMs),
    start?.marked ?? { lotId: '' },
  )
  const root = lotNode(start?.lotId ?? ('lotId' in of ? of.lotId : ''))
  const ways = found.flows.map(
    (w): Way => ({
      from: w.from,
      to: w.to,
      volumeMl: w.volumeMl,
      movedMl: w.outflow.volumeMl || w.outflow.beforeMl,
      atMs: w.outflow.atMs,
      cause: w.outflow.cause,
      movementId: w.outflow.movementId,
      fromVesselId: w.outflow.vesselId,
      toVesselId: w.outflow.toVesselId,
    }),
  )
  const now = await levelsAt(db, look.cellarId, at, { vesselIds: [...reached] })
  await readNames(db, look, {
    vessels: [...reached, ...outflows.map((o) => o.vesselId)],
    lots: [
      root.slice('lot:'.length),
      ...outflows.flatMap((o) => [o.beforeLotId, o.toLotId]),
      ...[...now.values()].map((l) => l.afterLotId),
    ],
  })
  const holding = await holdingsOf(db, look, [...now.values()], of, at, found.heldMl)
  const leftMl = ways.filter((w) => w.from === root).reduce((ml, w) => ml + w.volumeMl, 0)
  const heldAsRoot = holding.filter((h) => lotNode(h.content.lot?.id ?? '') === root)
  const marked = start?.marked
  const totalMl = marked?.vesselId !== undefined ? marked.volumeMl : leftMl + heldAsRoot.reduce((ml, h) => ml + h.ml, 0)
  const edges = edgesOf(look, ways, totalMl)
  const through = new Map<string, number>(found.throughMl)
  through.set(root, totalMl)
  return {
    at: at.toString(),
    direction: 'forward',
    root,
    totalL: roundL(totalMl),
    nodes: start ? nodesOf(look, root, through, found.vesselsOf, edges, totalMl, new Map(), 'forward') : [],
    edges,
    sources: [],
    reached: holding.map(({ content, share, ml }) => ({ content, share, volumeL: roundL(ml) })),
    cut,
  }
}

async function startOf(db: Db, look: Look, of: Of, since: Temporal.Instant | undefined) {
  if ('vesselId' in of) {
    const from = since ?? Temporal.Instant.fromEpochMilliseconds(0)
    const level = since
      ? (await levelsAt(db, look.cellarId, since, { vesselIds: [of.vesselId] })).get(of.vesselId)
      : undefined
    if (!level || level.afterMl === 0 || level.afterLotId === undefined) return undefined
    const marked: Marked = { vesselId: of.vesselId, lotId: level.afterLotId, volumeMl: level.afterMl }
    return { marked, lotId: level.afterLotId, places: [{ vesselId: of.vesselId, atMs: from.epochMilliseconds + 1 }] }
  }
  const sinceMs = since?.epochMilliseconds ?? 0
  const places = (await listFirstSeen(db, look.cellarId, of.lotId)).map((p) => ({
    vesselId: p.vesselId,
    atMs: Math.max(p.atMs, sinceMs),
  }))
  if (places.length === 0) return undefined
  const marked: Marked = { lotId: of.lotId }
  return { marked, lotId: of.lotId, places }
}

async function outflowsOf(db: Db, look: Look, places: readonly { readonly vesselId: string; readonly atMs: number }[]) {
  const outflows = new Map<string, Outflow>()
  const since = new Map(places.map((p) => [p.vesselId, p.atMs]))
  let wanted = [...places]
  while (wanted.length > 0 && outflows.size <= MOST_OUTFLOWS) {
    const found = await listOutflows(db, look.cellarId, wanted)
    wanted = []
    for (const o of found) {
      outflows.set(`${o.movementId} ${o.vesselId}`, o)
      const to = o.toVesselId
      if (to === undefined || (since.get(to) ?? Number.POSITIVE_INFINITY) <= o.atMs) continue
      since.set(to, o.atMs)
      wanted.push({ vesselId: to, atMs: o.atMs })
    }
  }
  return { outflows: [...outflows.values()], cut: wanted.length > 0, reached: new Set(since.keys()) }
}

/** Of what each reached vessel holds now, the part that came through the lot, or from the vessel's lot. */
async function holdingsOf(
  db: Db,
  look: Look,
  levels: readonly Level[],
  of: Of,
  at: Temporal.Instant,
  heldMl: ReadonlyMap<string, number>,
) {
  const full = levels.filter((l) => l.afterMl > 0)
  const places = full.map((l) => atMoment(l.vesselId, at.epochMilliseconds))
  const through =
    'lotId' in of && full.length > 0
      ? shareThrough((await closureOf(db, look.cellarId, places)).inflows, of.lotId)
      : new Map<string, number>()
  const mlOf = (l: Level) => {
    if (!('lotId' in of)) return heldMl.get(l.vesselId) ?? 0
    return l.afterLotId === of.lotId ? l.afterMl : (through.get(l.vesselId) ?? 0) * l.afterMl
  }
  return full
    .map((l) => {
      const ml = mlOf(l)
      return {
        content: contentToWire(look, l.vesselId, l),
        share: Math.min(1, ml / l.afterMl),
        ml: Math.min(ml, l.afterMl),
      }
    })
    .filter((h) => h.ml > 0)
    .sort((a, b) => b.ml - a.ml)
}

function edgesOf(look: Look, ways: readonly Way[], totalMl: number): TraceEdgeWire[] {
  const edges = new Map<string, Way[]>()
  for (const w of ways) {
    const key = `${w.from} ${w.to}`
    const list = edges.get(key)
    if (list) list.push(w)
    else edges.set(key, [w])
  }
  const code = (id: string | undefined) => (id === undefined ? null : look.vessel(id))
  return [...edges.values()].flatMap((list) => {
    const [one] = list
    if (!one) return []
    const volumeMl = list.reduce((ml, w) => ml + w.volumeMl, 0)
    if (!(volumeMl > 1e-6)) return []
    const times = list.map((w) => w.atMs)
    const pairs = new Map(
      list.map((w) => [`${w.fromVesselId} ${w.toVesselId}`, { from: code(w.fromVesselId), to: code(w.toVesselId) }]),
    )
    return [
      {
        from: one.from,
        to: one.to,
        volumeL: roundL(volumeMl),
        movedL: inL([...new Map(list.map((w) => [w.movementId, w.movedMl])).values()].reduce((a, b) => a + b, 0)),
        share: totalMl > 0 ? volumeMl / totalMl : 0,
        firstAt: isoOf(Math.min(...times)),
        lastAt: isoOf(Math.max(...times)),
        movements: new Set(list.map((w) => w.movementId)).size,
        causes: [...new Set(list.map((w) => w.cause))],
        vessels: [...pairs.values()].slice(0, 100),
      },
    ]
  })
}

function nodesOf(
  look: Look,
  root: string,
  through: ReadonlyMap<string, number>,
  vesselsOf: ReadonlyMap<string, ReadonlySet<string>>,
  edges: readonly TraceEdgeWire[],
  totalMl: number,
  labels: ReadonlyMap<string, string>,
  direction: 'back' | 'forward',
): TraceNodeWire[] {
  const ranks = ranksOf(root, edges, direction)
  return [...ranks]
    .map(([id, rank]): TraceNodeWire => {
      const name = id.slice(id.indexOf(':') + 1)
      const kind = id.startsWith('lot:') ? 'lot' : id.startsWith('receipt:') ? 'receipt' : 'outside'
      const ml = id === root ? totalMl : Math.min(through.get(id) ?? 0, totalMl)
      return {
        id,
        kind,
        label: kind === 'lot' ? look.lot(name) : (labels.get(id) ?? (name === 'unknown' ? 'not known' : name)),
        ...(kind === 'lot' ? { lot: lotRef(look, name) } : {}),
        rank,
        volumeL: roundL(ml),
        share: totalMl > 0 ? ml / totalMl : 0,
        vessels: [...(vesselsOf.get(id) ?? [])].map(look.vessel),
        quarantined: kind === 'lot' && look.quarantined.has(name),
      }
    })
    .sort((a, b) => a.rank - b.rank || b.volumeL - a.volumeL || (a.id < b.id ? -1 : 1))
}

/** Steps from the wine asked about, the longest way; what goes round in a circle is ranked once. */
function ranksOf(root: string, edges: readonly TraceEdgeWire[], direction: 'back' | 'forward'): Map<string, number> {
  const next = new Map<string, string[]>()
  for (const e of edges) {
    const [here, there] = direction === 'back' ? [e.to, e.from] : [e.from, e.to]
    const list = next.get(here)
    if (list) list.push(there)
    else next.set(here, [there])
  }
  const order: string[] = []
  const state = new Map<string, 'open' | 'done'>()
  const stack: { id: string; i: number }[] = [{ id: root, i: 0 }]
  state.set(root, 'open')
  const backward = new Set<string>()
  while (stack.length > 0) {
    const top = stack[stack.length - 1]
    if (!top) break
    const child = (next.get(top.id) ?? [])[top.i]
    if (child === undefined) {
      state.set(top.id, 'done')
      order.push(top.id)
      stack.pop()
      continue
    }
    top.i += 1
    if (state.get(child) === 'open') backward.add(`${top.id} ${child}`)
    else if (!state.has(child)) {
      state.set(child, 'open')
      stack.push({ id: child, i: 0 })
    }
  }
  const ranks = new Map<string, number>([[root, 0]])
  for (const id of order.reverse())
    for (const child of next.get(id) ?? []) {
      if (backward.has(`${id} ${child}`)) continue
      ranks.set(child, Math.max(ranks.get(child) ?? 0, (ranks.get(id) ?? 0) + 1))
    }
  return ranks
}
