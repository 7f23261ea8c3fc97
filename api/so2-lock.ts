/** While malolactic is awaited no SO2 goes in: refused where the work would begin, and said where it is only told of. */
import { so2Unlocked } from './cellar/sulfur-decline.ts'
import type { Lot, Reading, TaskFact } from './protocol/facts.ts'
import { MALIC_GONE_G_PER_L } from './protocol/forecast.ts'
import { ticksOf } from './protocol/ticks.ts'

export interface So2Ground {
  readonly lot: Lot
  /** The task's own key, what it waits for, and the products of its doses. */
  readonly task: { readonly step: string; readonly prev: readonly string[]; readonly products: readonly string[] }
  /** What the body says was put in. */
  readonly added: readonly string[]
  /** Of this lot. */
  readonly readings: readonly Reading[]
  readonly facts: readonly TaskFact[]
}

/** Sulphite in any of its spellings, as product names have it. */
const SULPHITE = /sul(ph|f)it|sul(ph|f)ur dioxide|\bso2\b|\bkms\b|bisul/i

/** Work that puts SO2 into wine, whatever its doses say. */
const SO2_STEPS: ReadonlySet<string> = new Set(['post-so2', 'adjust-so2', 'mlf-block'])

/** Words that say why no SO2 may go in; nothing where it may. */
export function so2Lock(g: So2Ground): string | undefined {
  const { lot, task } = g
  const ticks = ticksOf(g.facts)
  const isOver = (step: string) => {
    const tick = ticks.get(`${lot.code}/${step}/1`)
    return tick?.done !== undefined || tick?.skipped !== undefined
  }
  const putsIn = SO2_STEPS.has(task.step) || [...task.products, ...g.added].some((p) => SULPHITE.test(p))
  // The network knows which vessels of a lot wait: a cask that refuses malolactic does not hang on the barrels'.
  const waits = task.prev.includes(`${lot.code}/mlf-done/1`)
  const isWine = waits || isOver('inoculate') || isOver('check-dry')
  if (!putsIn || !isWine || isOver('mlf-done') || !awaits(lot, waits)) return undefined
  const malic = newestMalic(g.readings)
  const gone = lot.choices.malolactic === 'partial' && waits ? undefined : malic
  if (so2Unlocked(true, gone).ok) return undefined
  const known = malic === undefined ? 'no malic has been measured' : `malic is ${malic} g/L`
  return (
    `${lot.code} awaits malolactic and ${known}: bacteria stop above 5-10 mg/L free and 30-40 mg/L total SO2 (AWRI). ` +
    `Measure malic under ${MALIC_GONE_G_PER_L} g/L, declare malolactic done or left out, or choose to refuse it.`
  )
}

function awaits(lot: Lot, waits: boolean): boolean {
  const { malolactic, endPoint, vesselParts } = lot.choices
  if (malolactic === 'refuse' || endPoint === 'stop') return false
  // Some vessels of the lot refuse it: only what waits for the others is locked.
  return waits || !vesselParts?.some((part) => part.malolactic === false)
}

/** Of the wine: juice was read before the yeast. */
function newestMalic(readings: readonly Reading[]): number | undefined {
  const corrected = new Set(readings.flatMap((r) => r.correctsId ?? []))
  return readings
    .filter((r) => r.kind === 'malic' && !corrected.has(r.id))
    .filter((r) => !/\/(sample-block|receive|inspect-fruit|juice-panel)\//.test(r.taskKey ?? ''))
    .toSorted((a, b) => a.takenAt.epochMilliseconds - b.takenAt.epochMilliseconds)
    .at(-1)?.value
}
