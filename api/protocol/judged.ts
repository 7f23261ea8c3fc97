import { potentialAlcoholPctVol } from '../cellar/alcohol.ts'
import { sugarOfBrix } from '../cellar/sugar.ts'
import { conflictContextOf } from './conflicts/context.ts'
import { findConflicts } from './conflicts.ts'
import type { Facts, Lot } from './facts.ts'
import { malicGoneByReading } from './forecast.ts'
import type { Network } from './network.ts'
import type { Setting } from './setting.ts'
import { isOfMachine } from './stages/stores.ts'
import type { ConflictContext, ConflictFound } from './types.ts'

/** What stands against a lot's choices now, with the readings so far. */
export function conflictsOf(s: Setting, facts: Facts, network: Network): readonly ConflictFound[] {
  const context = contextOf(s, facts, network)
  return findConflicts(context).map((rule) => ({
    lotId: s.lot.id,
    id: rule.id,
    level: rule.level,
    reason: rule.id === SHORT_OF_ROOM ? `${shortOfRoom(context)} ${rule.reason}` : rule.reason,
    wayOut: rule.wayOut,
    fields: rule.fields,
    ...firstTask(network, rule.firstStep),
    ...signedFor(s.lot, rule.id),
  }))
}

/** What the cellar's facts say of the lot, and what only the planner knows: fruit as read, cold to spare, vessels short. */
export function contextOf(s: Setting, facts: Facts, network: Network | undefined): ConflictContext {
  const chillers = facts.machines.filter((m) => m.kind === 'chiller')
  const short = network?.holds.filter((h) => h.candidates.length < h.count && !isOfMachine(h.key))
  const known = conflictContextOf(s.lot, facts, { fruit: s.fruit })
  return {
    ...known,
    ...(facts.machines.length > 0 ? { chillerFreeKW: chillers.reduce((sum, m) => sum + m.capacity, 0) } : {}),
    potentialAlcoholPctVol: potentialAlcoholPctVol(sugarOfBrix(Math.min(44, Math.max(8, s.fruit.brix)))),
    malolacticDone: known.malolacticDone === true || malicGoneByReading(s) !== undefined,
    ...(short && short.length > 0 ? { day: { vesselShortL: known.volumeL } } : {}),
  }
}

/** The conflict that says no vessel is large enough; it names how much wine it is about. */
const SHORT_OF_ROOM = 'K34'

const shortOfRoom = (c: ConflictContext): string =>
  `No vessels of the chosen kind hold the ${Math.round(c.day?.vesselShortL ?? 0).toLocaleString('en')} L of this lot at 90 % full.`

function firstTask(network: Network, step: string | undefined): { readonly firstTaskKey?: string } {
  const work = step === undefined ? undefined : network.works.find((w) => w.step === step)
  return work ? { firstTaskKey: work.task.key } : {}
}

function signedFor(lot: Lot, id: string): { readonly signedReason?: string } {
  const entry = lot.signed.findLast((x) => x.conflict === id && x.reason.trim() !== '')
  return entry ? { signedReason: entry.reason } : {}
}
