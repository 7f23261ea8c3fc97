import type { Berth } from './berths.ts'
import type { Draft } from './build.ts'
import { dayPieces, isByDay, isDrawn } from './claims.ts'
import { crewNeeded, type Piece, piecesOf } from './crew.ts'
import { deskOf, type Slot } from './desk.ts'
import type { Model } from './model.ts'
import { factOf } from './network.ts'
import { choiceOf, pausedEnd } from './shares.ts'
import { AMOUNT_SLOP, isDown } from './unitroom.ts'

/**
 * The plan people know, taken over as it stands, whether or not it keeps all limits. Undefined when it cannot stand:
 * work it does not know, work it has in the past, hands or vessels that are no more, units that are out of service then.
 */
export function adopted(model: Model): Draft | undefined {
  const facts = deskOf(model)
  const slots: Slot[] = []
  for (let i = 0; i < model.tasks.length; i++) {
    const fact = factOf(model, i)
    const slot = fact === undefined ? knownSlot(model, i) : facts.force(i, fact)
    if (!slot) return undefined
    if (fact !== undefined) facts.book(i, slot)
    slots.push(slot)
  }
  const berths: Berth[] = []
  for (let h = 0; h < model.holds.length; h++) {
    const berth = knownBerth(model, slots, h)
    if (!berth) return undefined
    berths.push(berth)
  }
  return { slots, berths }
}

function knownSlot(model: Model, i: number): Slot | undefined {
  const task = model.tasks[i]!
  const was = model.previous.get(task.key)
  if (!was || was.startMin < model.problem.nowMin) return undefined
  const daily = isByDay(task)
  const needed = crewNeeded(model, i)
  // Its day has come near: its hour and hands are to be named.
  if (was.byDay && !daily && (needed || task.uses.length > 0)) return undefined
  // Work that holds nobody may be told with the people of the work it goes along with.
  const named = needed && !daily ? was.people : []
  const people = named.flatMap((id) => model.personOf.get(id) ?? []).sort((a, b) => a - b)
  if (people.length < named.length) return undefined
  if (task.whole && people.length > 0 && people.length < task.crew) return undefined
  if (task.pin?.people?.some((id) => model.personOf.has(id) && !was.people.includes(id))) return undefined
  const units: number[][] = []
  for (const [k, use] of task.uses.entries()) {
    if (isDrawn(model, task, k)) {
      units.push([])
      continue
    }
    const { options } = choiceOf(model, i, use)
    const kept = was.units.flatMap((id) => model.unitOf.get(id) ?? []).filter((u) => options.includes(u))
    if (kept.length === 0 && options.length > 0) return undefined
    units.push(kept)
  }
  const startMin = was.startMin
  const pieces: readonly Piece[] =
    daily || !needed
      ? dayPieces(model, i, startMin)
      : (piecesOf(model, i, people, startMin) ?? [[startMin, startMin + task.crewMin]])
  const crew = { people, pieces }
  const crewEndMin = pieces.at(-1)?.[1] ?? startMin
  const endMin =
    task.interruptible && pieces.length > 0 ? pausedEnd(startMin, task.elapsedMin, crew) : startMin + task.elapsedMin
  if (task.pin?.units === undefined && units.flat().some((u) => isDown(model.units[u]!, startMin, endMin)))
    return undefined
  return { startMin, endMin, crewEndMin, crew, units }
}

function knownBerth(model: Model, slots: readonly Slot[], h: number): Berth | undefined {
  const { hold, fixed, candidates, from, fromEnd, to, toEnd } = model.holds[h]!
  const fromMin = fromEnd ? slots[from]!.endMin : slots[from]!.startMin
  const toMin = toEnd ? slots[to]!.endMin : slots[to]!.startMin
  if (fixed) return { units: fixed, fromMin, toMin }
  const was = model.previous.get(hold.key)
  if (!was) return undefined
  const units = was.units.flatMap((id) => model.unitOf.get(id) ?? [])
  const begun = factOf(model, from) !== undefined
  if (!begun && units.some((u) => isDown(model.units[u]!, fromMin, toMin))) return undefined
  if (!units.every((u) => candidates.includes(u))) return undefined
  if (hold.amount !== undefined) {
    const has = (list: readonly number[]) => list.reduce((sum, u) => sum + model.units[u]!.unit.capacity, 0)
    const stands = has(units) + AMOUNT_SLOP >= Math.min(hold.amount, has(candidates))
    return stands ? { units, fromMin, toMin } : undefined
  }
  const stands = units.length >= Math.min(hold.count, candidates.length)
  return stands ? { units: units.slice(0, hold.count), fromMin, toMin } : undefined
}
