import type { Model } from './model.ts'
import { type Circle, networkOf, newLabels, type Switches } from './network.ts'

/**
 * Finds circles of limits that cannot all hold, and switches off one limit in each so that planning can go on.
 * A soft limit goes first, then a maximum, then a minimum.
 */
export function breakCycles(model: Model): { readonly off: Switches; readonly cycles: readonly (readonly number[])[] } {
  const off = { minOff: new Uint8Array(model.links.length), maxOff: new Uint8Array(model.links.length) }
  const cycles: (readonly number[])[] = []
  const network = () => networkOf(model, off)
  const all = [...model.tasks.keys()]
  for (;;) {
    const labels = newLabels(model.tasks.length)
    network().reset(labels, false)
    const circle = network().spreadLo(labels, all)
    if (!circle) return { off, cycles }
    cycles.push(circle.tasks)
    // Each round switches off one more limit, so the rounds end.
    if (!switchOff(model, off, circle)) return { off, cycles }
  }
}

function switchOff(model: Model, off: Switches, circle: Circle): boolean {
  const rank = (b: Circle['bounds'][number]) => (model.links[b.link]!.hard ? 2 : 0) + (b.max ? 0 : 1)
  const weakest = [...circle.bounds].sort((a, b) => rank(a) - rank(b) || b.link - a.link)[0]
  if (!weakest) return false
  if (weakest.max) off.maxOff[weakest.link] = 1
  else off.minOff[weakest.link] = 1
  return true
}
