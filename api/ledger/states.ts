/** States of vessels and fills of barrels follow the wine and the work that was done; an undo takes them along. */
import { listVesselsOf } from '../../db/queries/ledger-sums.ts'
import { listWorkDone, type WorkDone } from '../../db/queries/ledger-work.ts'
import { levelsAt, listTurns } from '../../db/queries/levels.ts'
import { findTask } from '../../db/queries/tasks.ts'
import { listSaid, listVessels, lockVessels, type StoredVessel, saveVesselStates } from '../../db/queries/vessels.ts'
import type { Db } from '../../db/types.ts'
import type { Level } from '../cellar/ledger/page.ts'
import { type Filling, fillingsOf, fillsOf, type Said, stateOf, type Washed } from '../cellar/ledger/state.ts'
import type { VesselKind, VesselState } from '../protocol/facts.ts'
import { Temporal } from '../time.ts'
import { END_MS } from './closure.ts'

/** What a kind of work leaves behind. Hot water and a rinse make a barrel clean; a disc makes it sulphured. Common practice. */
const WASHES: Readonly<Record<string, Washed>> = {
  'clean-tank': 'sanitised',
  'prep-barrels': 'clean',
  'store-barrels': 'sulphured',
  'regas-empty': 'sulphured',
}
/** Its tasks name no vessels: they are about the wood that its lot has just left. */
const OF_EMPTIED: ReadonlySet<string> = new Set(['store-barrels', 'regas-empty'])
export const WOOD: ReadonlySet<VesselKind> = new Set(['barrel', 'puncheon', 'cask'])

const END = Temporal.Instant.fromEpochMilliseconds(END_MS)

/** States and fills of these vessels, worked out anew and kept. Call inside the transaction that wrote what they follow. */
export async function followVessels(db: Db, cellarId: string, ids: readonly string[]): Promise<void> {
  const vessels = await lockVessels(db, cellarId, ids)
  const said = new Map((await listSaid(db, cellarId, ids)).map((s) => [s.vesselId, s]))
  const turns = byVessel(await listTurns(db, cellarId, ids))
  const known = vessels.map((v) => {
    const s = said.get(v.id)
    const told: Said<VesselState> = {
      state: s?.state ?? v.state,
      ...(s?.fills === undefined ? {} : { fills: s.fills }),
      atMs: s?.at?.epochMilliseconds ?? Number.NEGATIVE_INFINITY,
    }
    return { v, said: told, fillings: fillingsOf(turns.get(v.id) ?? []) }
  })
  const work = await workSince(db, cellarId, known)
  const next = known.map(({ v, said: told, fillings }) => {
    const fills = fillsOf(told, fillings)
    const washes = work.flatMap((w) => {
      const state = WASHES[w.step]
      return state && isOf(w, v, fillings) ? [{ atMs: w.at.epochMilliseconds, state }] : []
    })
    return { id: v.id, state: stateOf(told, fillings, washes), ...(fills === undefined ? {} : { fills }) }
  })
  const isNews = (n: (typeof next)[number], i: number) => n.state !== vessels[i]?.state || n.fills !== vessels[i]?.fills
  await saveVesselStates(db, cellarId, next.filter(isNews))
}

/** The washings that can still count: later than the first of these vessels ran empty. */
async function workSince(
  db: Db,
  cellarId: string,
  known: readonly { readonly said: Said<VesselState>; readonly fillings: readonly Filling[] }[],
): Promise<readonly WorkDone[]> {
  const empty = known.filter((k) => {
    const last = k.fillings.at(-1)
    return last === undefined || last.endedMs !== undefined
  })
  if (empty.length === 0) return []
  const sinceMs = Math.min(
    ...empty.map((k) => Math.max(k.said.atMs, k.fillings.at(-1)?.endedMs ?? Number.NEGATIVE_INFINITY)),
  )
  const fromAt = Number.isFinite(sinceMs) ? Temporal.Instant.fromEpochMilliseconds(sinceMs) : undefined
  return listWorkDone(db, cellarId, Object.keys(WASHES), fromAt)
}

/** Told vessels count, else the plan's, else the wood its lot was in last. */
function isOf(w: WorkDone, v: StoredVessel, fillings: readonly Filling[]): boolean {
  if (w.told.length > 0) return w.told.includes(v.id)
  if (w.planned.length > 0) return w.planned.includes(v.id)
  const last = fillings.at(-1)
  return OF_EMPTIED.has(w.step) && WOOD.has(v.kind) && last !== undefined && last.lastLotId === w.lotId
}

/** After a tick, or after it was taken back: vessels of work that washes. Other work leaves states to its movements. */
export async function followWork(
  db: Db,
  cellarId: string,
  tick: { readonly taskKey: string; readonly vessels?: readonly string[] },
): Promise<void> {
  const task = await findTask(db, cellarId, tick.taskKey)
  if (!task || WASHES[task.step] === undefined) return
  const named = [...(tick.vessels ?? []), ...task.rest.toVessels, ...task.rest.fromVessels]
  if (named.length > 0 || !OF_EMPTIED.has(task.step)) return followVessels(db, cellarId, [...new Set(named)])
  const ofLot = task.lotId === null ? [] : await listVesselsOf(db, cellarId, [task.lotId])
  const wood = (await listVessels(db, cellarId, ofLot)).filter((v) => WOOD.has(v.kind)).map((v) => v.id)
  const last = await levelsAt(db, cellarId, END, { vesselIds: wood })
  const left = wood.filter((id) => last.get(id)?.afterMl === 0 && last.get(id)?.beforeLotId === task.lotId)
  return followVessels(db, cellarId, left)
}

/** Every vessel of the cellar: after its books were read in as a whole. */
export async function followStates(db: Db, cellarId: string): Promise<void> {
  await followVessels(
    db,
    cellarId,
    (await listVessels(db, cellarId)).map((v) => v.id),
  )
}

function byVessel(levels: readonly Level[]): Map<string, Level[]> {
  const out = new Map<string, Level[]>()
  for (const l of levels) {
    const list = out.get(l.vesselId)
    if (list) list.push(l)
    else out.set(l.vesselId, [l])
  }
  return out
}
