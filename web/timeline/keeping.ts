/** Keeps what was chosen for a task: another start or other people by a pin, another vessel by a trial that is adopted. */
import type { MoveWish, SeasonActs } from './acts.ts'
import { berthOf } from './berth.ts'
import { type Model, wireOfMs } from './model.ts'

export interface Chosen {
  readonly ix: number
  readonly fromMs: number
  readonly startMs: number
  readonly andFollows: boolean
  readonly person?: string
  readonly vessel?: string
}

export const wishOf = (at: Chosen): MoveWish => ({
  startAt: wireOfMs(at.startMs),
  andFollows: at.andFollows,
  ...(at.person && { people: [at.person] }),
})

/** @returns false where the server refused and said so */
export async function keepChosen(acts: SeasonActs, model: Model, at: Chosen): Promise<boolean> {
  const isInto = at.vessel === undefined || (await keepVessel(acts, model, at.ix, at.vessel))
  const isPinned = at.startMs !== at.fromMs || at.person !== undefined
  return isInto && (!isPinned || acts.keep(model.plan.tasks[at.ix]?.key ?? '', wishOf(at)))
}

async function keepVessel(acts: SeasonActs, model: Model, ix: number, code: string): Promise<boolean> {
  const berth = berthOf(model, ix)
  const lot = model.plan.tasks[ix]?.lotId
  if (!berth || !lot) return false
  const said = `${berth.phase.lotCode} into ${code}`
  const tried = await acts.attempt({ kind: 'vessel', lot, hold: berth.hold, vessels: [code] }, said)
  return tried !== undefined && acts.adopt(tried, said)
}
