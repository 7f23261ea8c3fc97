import type { Ground } from './build.ts'
import type { Slot } from './desk.ts'
import { edgeFrom, edgeUntil, startFrom, startUntil } from './lag.ts'
import type { Model } from './model.ts'
import type { Labels } from './network.ts'

/** The placed task that sets the upper bound of i, found by following the links back. */
export function capOf(
  model: Model,
  labels: Labels,
  slots: readonly (Slot | undefined)[],
  i: number,
): number | undefined {
  let at = i
  for (let guard = 0; guard <= model.tasks.length; guard++) {
    const k = labels.hiBy[at]!
    if (k < 0) return undefined
    const l = model.links[k]!
    at = l.prev === at ? l.next : l.prev
    if (slots[at]) return at
  }
  return undefined
}

/** Placed neighbours whose links this slot would break: the true end of work that pauses is known only now. */
export function crossedBy(
  model: Model,
  slots: readonly (Slot | undefined)[],
  i: number,
  slot: Slot,
): readonly number[] {
  const crossed: number[] = []
  for (const k of model.outOf[i]!) {
    const l = model.links[k]!
    const next = slots[l.next]
    if (!next || l.next === i) continue
    const edge = l.fromEnd ? slot.endMin : slot.startMin
    if (next.startMin < startFrom(l, edge, model.working) || next.startMin > startUntil(l, edge, model.working))
      crossed.push(l.next)
  }
  for (const k of model.into[i]!) {
    const l = model.links[k]!
    const prev = slots[l.prev]
    if (!prev || l.prev === i) continue
    const edge = l.fromEnd ? prev.endMin : prev.startMin
    if (edge < edgeFrom(l, slot.startMin, model.working) || edge > edgeUntil(l, slot.startMin, model.working))
      crossed.push(l.prev)
  }
  return crossed
}

/** Latest start of a slot that hard limits leave, those of its placed neighbours and all that are known before. */
export function lawfulBeside(
  { model, lawfulHi, off }: Pick<Ground, 'model' | 'lawfulHi' | 'off'>,
  slots: readonly (Slot | undefined)[],
  i: number,
  slot: Slot,
): number {
  let until = lawfulHi[i]!
  const counts = (k: number, prev: number, next: number) => model.links[k]!.hard && prev !== next
  for (const k of model.outOf[i]!) {
    const l = model.links[k]!
    const next = slots[l.next]
    if (!next || off.minOff[k] || !counts(k, i, l.next)) continue
    until = Math.min(until, edgeUntil(l, next.startMin, model.working) - (l.fromEnd ? slot.endMin - slot.startMin : 0))
  }
  for (const k of model.into[i]!) {
    const l = model.links[k]!
    const prev = slots[l.prev]
    if (!prev || off.maxOff[k] || !counts(k, l.prev, i)) continue
    until = Math.min(until, startUntil(l, l.fromEnd ? prev.endMin : prev.startMin, model.working))
  }
  return until
}

/** Latest start that the placed neighbours and the task's own deadline leave. */
export function latestBeside(model: Model, slots: readonly Slot[], i: number): number {
  const task = model.tasks[i]!
  const length = slots[i]!.endMin - slots[i]!.startMin
  let until = task.dueMin ?? Infinity
  for (const k of model.outOf[i]!) {
    const l = model.links[k]!
    if (l.next === i) continue
    until = Math.min(until, edgeUntil(l, slots[l.next]!.startMin, model.working) - (l.fromEnd ? length : 0))
  }
  for (const k of model.into[i]!) {
    const l = model.links[k]!
    if (l.prev === i) continue
    const edge = l.fromEnd ? slots[l.prev]!.endMin : slots[l.prev]!.startMin
    until = Math.min(until, startUntil(l, edge, model.working))
  }
  return until
}
