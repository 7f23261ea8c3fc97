import type { Facts, Lot, Transfer } from '../protocol/facts.ts'
import type { TaskPlan } from '../protocol/types.ts'
import { errorOf } from './measured.ts'

/** Work after which somebody dips the vessel and writes the litres down. */
const DIPPED = new Set(['rack-juice', 'rack-gross', 'fill-barrels', 'stop-so2', 'press-skins', 'rack-out', 'blend'])

/** Sparkling program: 510 L/t to the cuvee and 125 L/t to the taille (S39). */
const FRACTION_SHARES = [510 / 635, 125 / 635] as const

interface Moved {
  readonly volumeL: number
  readonly lossL: number
}

/** What was written down of a move: litres as planned, give or take what a dip stick shows, vessel by vessel. */
export function transfersOf(task: TaskPlan, facts: Facts, loads: number): Transfer[] {
  const lot = facts.lots.find((l) => l.id === task.lotId)
  const moved =
    lot && (task.step === 'press' ? pressed(lot, loads) : DIPPED.has(task.step) ? said(task.detail) : undefined)
  if (!lot || !moved || task.toVessels.length === 0) return []
  const shares = sharesOf(task, facts)
  return task.toVessels.map((toVesselId, i) => {
    const exactL = moved.volumeL * shares[i]!
    const volumeL = Math.round(exactL * (1 + 0.002 * errorOf(`${task.key} ${toVesselId}`)))
    const fromVesselId = task.fromVessels[i] ?? task.fromVessels[0]
    return {
      id: `demo-transfer-${task.key}-${i + 1}`,
      lotId: lot.id,
      ...(fromVesselId === undefined ? {} : { fromVesselId }),
      toVesselId,
      volumeL,
      // What the dip shows less than planned has stayed behind as well.
      lossL: Math.max(0, Math.round(moved.lossL * shares[i]! + exactL - volumeL)),
      movedAt: task.endAt,
      personId: task.people[0] ?? 'alex',
      taskKey: task.key,
    }
  })
}

const pressed = (lot: Lot, loads: number): Moved => ({
  volumeL: (lot.fruit.tonnes * lot.fruit.yieldLPerT) / loads,
  lossL: 0,
})

/** `5,790 L clear, 370 L lees`: the plan gives its litres in words. */
function said(detail: string): Moved | undefined {
  const litres = [...detail.matchAll(/([\d,]+) L\b(?! lees| to kegs)/g)].map((m) => Number(m[1]!.replaceAll(',', '')))
  const lees = detail.match(/([\d,]+) L lees/)?.[1]
  // Barrel by barrel first, the sum last: `5 x 203 L, 11 x 203 L = 3,248 L`.
  const volumeL = detail.includes('=') ? litres.at(-1) : litres[0]
  if (!volumeL) return undefined
  return { volumeL, lossL: lees === undefined ? 0 : Number(lees.replaceAll(',', '')) }
}

function sharesOf(task: TaskPlan, facts: Facts): readonly number[] {
  const lot = facts.lots.find((l) => l.id === task.lotId)
  if (task.step === 'press' && lot?.choices.pressProgram === 'sparkling-fractions' && task.toVessels.length === 2) {
    return FRACTION_SHARES
  }
  // A lot in parts is racked by its shares, not by what the vessels would hold.
  const parts = lot?.choices.vesselParts
  if (task.step === 'rack-juice' && parts?.length === task.toVessels.length) return parts.map((p) => p.share)
  const sizes = task.toVessels.map((id) => facts.vessels.find((v) => v.id === id)?.volumeL ?? 0)
  const all = sizes.reduce((a, b) => a + b, 0)
  return sizes.map((size) => (all > 0 ? size / all : 1 / sizes.length))
}
