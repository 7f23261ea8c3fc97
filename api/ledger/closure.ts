/** Everything that flowed into some wine, as far back as it goes. */
import { type LevelThen, listCounting, listLevelsThen } from '../../db/queries/dosed.ts'
import { type FilledBy, listInflows, type Position } from '../../db/queries/flows.ts'
import type { Db } from '../../db/types.ts'
import { type Dosed, type FlowBack, flowBack, type Inflow } from '../cellar/ledger/flow.ts'
import { Temporal } from '../time.ts'
import { dosedInto, LAST_ENTRY } from './dosing.ts'

/** Movements followed at most: a wine with more behind it is told as far as it goes, and said not to be whole. */
const MOST_INFLOWS = 50_000

export interface Closure {
  readonly inflows: readonly Inflow[]
  readonly dosed: readonly Dosed[]
  readonly cut: boolean
}

/** Later than anything that can be told. */
export const END_MS = Date.UTC(9999, 0, 1)

/** What is in a vessel at a moment: the place in the order after everything of that moment. */
export const atMoment = (vesselId: string, atMs: number): Position => ({ vesselId, atMs, entry: LAST_ENTRY })

/**
 * One question a generation: the vessels wine came from, the vessels that came from, and so on.
 *
 * @param most movements followed at most
 */
export async function closureOf(
  db: Db,
  cellarId: string,
  from: readonly Position[],
  { most = MOST_INFLOWS }: { readonly most?: number } = {},
): Promise<Closure> {
  const inflows = new Map<string, FilledBy>()
  const asked = new Set<string>()
  let wanted = [...from]
  while (wanted.length > 0 && inflows.size <= most) {
    const found = await listInflows(db, cellarId, wanted)
    const fresh = found.filter((f) => !inflows.has(f.movementId))
    for (const f of fresh) inflows.set(f.movementId, f)
    wanted = fresh.flatMap((f) => {
      if (f.fromVesselId === undefined || f.fromVesselId === f.toVesselId) return []
      const place = { vesselId: f.fromVesselId, atMs: f.atMs, entry: f.entry - 1 }
      const sign = `${place.vesselId} ${place.atMs} ${place.entry}`
      if (asked.has(sign)) return []
      asked.add(sign)
      return [place]
    })
  }
  const all = [...inflows.values()]
  const untilMs = Math.max(...from.map((p) => p.atMs))
  return {
    inflows: all,
    dosed: await dosesOf(db, cellarId, all, untilMs),
    cut: wanted.length > 0,
  }
}

async function dosesOf(
  db: Db,
  cellarId: string,
  inflows: readonly FilledBy[],
  untilMs: number,
): Promise<readonly Dosed[]> {
  if (inflows.length === 0) return []
  const lots = new Set(inflows.flatMap((i) => [i.toLotId, i.fromLotId ?? i.toLotId]))
  const firstMs = inflows.reduce((a, i) => Math.min(a, i.atMs), untilMs)
  const additions = await listCounting(db, cellarId, {
    lotIds: [...lots],
    fromAt: Temporal.Instant.fromEpochMilliseconds(firstMs),
    untilAt: Temporal.Instant.fromEpochMilliseconds(untilMs),
  })
  if (additions.length === 0) return []
  const vessels = new Map<string, Set<string>>()
  for (const i of inflows) {
    for (const [lotId, vesselId] of [
      [i.toLotId, i.toVesselId],
      [i.fromLotId, i.fromVesselId],
    ])
      if (lotId !== undefined && vesselId !== undefined)
        vessels.set(lotId, (vessels.get(lotId) ?? new Set()).add(vesselId))
  }
  const moments = additions.flatMap((a) =>
    (a.vesselId === null ? [...(vessels.get(a.lotId) ?? [])] : [a.vesselId]).map((vesselId) => ({
      vesselId,
      atMs: a.addedAt.epochMilliseconds,
    })),
  )
  const then = new Map<number, LevelThen[]>()
  for (const l of await listLevelsThen(db, cellarId, unique(moments)))
    then.set(l.atMs, [...(then.get(l.atMs) ?? []), l])
  return additions.flatMap((a) => dosedInto(a, then.get(a.addedAt.epochMilliseconds) ?? []))
}

const unique = <T extends { readonly vesselId: string; readonly atMs: number }>(list: readonly T[]): T[] => [
  ...new Map(list.map((m) => [`${m.vesselId} ${m.atMs}`, m])).values(),
]

/** The wine of some vessels together, followed back. */
export function followed(
  closure: Closure,
  asked: readonly { readonly vesselId: string; readonly lotId: string; readonly volumeMl: number }[],
): FlowBack {
  return flowBack(closure.inflows, closure.dosed, asked)
}
