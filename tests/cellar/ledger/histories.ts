import fc from 'fast-check'
import {
  inVessel,
  type LedgerAddition,
  type Movement,
  outside,
  type Receipt,
} from '../../../api/cellar/ledger/movement.ts'

export const VESSELS = ['T01', 'T02', 'T03', 'T04', 'A1', 'A2', 'A3'] as const
export const limitMl = (vesselId: string) => (vesselId.startsWith('T') ? 6_500_000 : 228_000)

const place = fc.constantFrom(...VESSELS)
const step = fc.record({
  kind: fc.constantFrom('receive', 'move', 'move', 'move', 'empty', 'lose', 'gain', 'add', 'reverse'),
  from: place,
  to: place,
  share: fc.integer({ min: 1, max: 1000 }),
  late: fc.integer({ min: 0, max: 3 }),
})

const receipt = (n: number): Receipt => ({
  id: `R${n}`,
  variety: ['Chardonnay', 'Riesling', 'Chenin'][n % 3]!,
  vintage: ['2026', '2027'][n % 2]!,
  block: `block ${n % 5}`,
  origin: 'valley',
})

export interface History {
  readonly movements: readonly Movement[]
  readonly additions: readonly LedgerAddition[]
}

/**
 * Histories that could have happened: volumes are tracked here by plain subtraction, so every entry is possible, and
 * entries are then shuffled to arrive late with their real times.
 */
export const anyHistory = (length: number): fc.Arbitrary<History> =>
  fc.tuple(fc.array(step, { minLength: length, maxLength: length }), fc.infiniteStream(fc.integer())).map(([steps]) => {
    const held = new Map<string, number>()
    const movements: Movement[] = []
    const additions: LedgerAddition[] = []
    const entryOf = steps.map((s, i) => i + s.late * 5)
    const common = (i: number) => ({
      id: `M${i}`,
      entry: entryOf[i]!,
      atMs: 1_000 * (i + 1),
      lotId: `L${i % 9}`,
      people: ['p1'],
    })
    steps.forEach((s, i) => {
      const there = held.get(s.from) ?? 0
      const room = limitMl(s.to) - (held.get(s.to) ?? 0)
      if (s.kind === 'receive') {
        const volumeMl = Math.min(room, s.share * 1_000)
        if (volumeMl <= 0) return
        held.set(s.to, (held.get(s.to) ?? 0) + volumeMl)
        movements.push({
          ...common(i),
          from: outside('fruit'),
          to: inVessel(s.to),
          volumeMl,
          receipt: receipt(i),
          cause: 'press',
        })
      } else if (s.kind === 'move' || s.kind === 'empty') {
        const volumeMl = Math.min(room, s.kind === 'empty' ? there : Math.floor((there * s.share) / 1000))
        if (volumeMl <= 0 || s.from === s.to) return
        held.set(s.from, there - volumeMl)
        held.set(s.to, (held.get(s.to) ?? 0) + volumeMl)
        movements.push({ ...common(i), from: inVessel(s.from), to: inVessel(s.to), volumeMl, cause: 'rack' })
      } else if (s.kind === 'lose') {
        const volumeMl = Math.floor((there * s.share) / 10_000)
        if (volumeMl <= 0) return
        held.set(s.from, there - volumeMl)
        movements.push({ ...common(i), from: inVessel(s.from), to: outside('loss'), volumeMl, cause: 'evaporation' })
      } else if (s.kind === 'gain') {
        const volumeMl = Math.min(room, Math.floor(((held.get(s.to) ?? 0) * s.share) / 100_000))
        if (volumeMl <= 0) return
        held.set(s.to, (held.get(s.to) ?? 0) + volumeMl)
        movements.push({ ...common(i), from: outside('gain'), to: inVessel(s.to), volumeMl, cause: 'gauge' })
      } else if (s.kind === 'reverse') {
        const last = movements[movements.length - 1]
        if (!last || last.reverses !== undefined || movements.length < 2) return
        const back = {
          ...common(i),
          from: last.to,
          to: last.from,
          volumeMl: last.volumeMl,
          cause: last.cause,
          reverses: last.id,
          reason: 'wrong vessel',
        }
        if (last.from && 'outside' in last.from) return
        if ('vesselId' in last.to) held.set(last.to.vesselId, held.get(last.to.vesselId)! - last.volumeMl)
        if ('vesselId' in last.from) held.set(last.from.vesselId, (held.get(last.from.vesselId) ?? 0) + last.volumeMl)
        movements.push(back)
      } else if (there > 0)
        additions.push({
          id: `A${i}`,
          entry: entryOf[i]!,
          atMs: 1_000 * (i + 1),
          vesselId: s.from,
          product: i % 2 ? 'PMS' : 'DAP',
          amountG: s.share / 10,
          batchNo: 'b1',
          personId: 'p1',
        })
    })
    return { movements, additions }
  })
