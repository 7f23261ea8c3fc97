import type { Model } from './model.ts'
import { networkOf, newLabels, type Switches } from './network.ts'

/**
 * Finds circles of limits that cannot all hold, and switches off one limit in each so that planning can go on.
 * A soft limit goes first, then a maximum, then a minimum.
 */
export function breakCycles(model: Model): { readonly off: Switches; readonly cycles: readonly (readonly number[])[] } {
  const off = { minOff: new Uint8Array(model.links.length), maxOff: new Uint8Array(model.links.length) }
  const cycles: (readonly number[])[] = []
  const suspects = new Set(model.tasks.keys())
  while (suspects.size > 0) {
    const labels = newLabels(model.tasks.length)
    const network = networkOf(model, off)
    network.reset(labels, false)
    const circle = network.spreadLo(labels, [...suspects])
    if (!circle) break
    cycles.push(circle)
    if (!switchOff(model, off, circle)) for (const i of circle) suspects.delete(i)
    // Parts already found sound need no second look.
  }
  return { off, cycles }
}

function switchOff(model: Model, off: Switches, circle: readonly number[]): boolean {
  const inside = new Set(circle)
  const choices = model.links.flatMap((l, k) => {
    if (!inside.has(l.prev) || !inside.has(l.next)) return []
    const rank = l.hard ? 0 : -2
    return [
      ...(off.maxOff[k] || l.maxLagMin === Infinity ? [] : [{ k, max: true, rank }]),
      ...(off.minOff[k] || l.minLagMin === -Infinity ? [] : [{ k, max: false, rank: rank + 1 }]),
    ]
  })
  const best = choices.sort((a, b) => a.rank - b.rank || b.k - a.k)[0]
  if (!best) return false
  if (best.max) off.maxOff[best.k] = 1
  else off.minOff[best.k] = 1
  return true
}
