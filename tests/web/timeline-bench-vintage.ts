/** An invented vintage of any size, the same for every renderer: bars in slots of a year, links to the bar before and across rows. */
import { chanceOf } from '../helpers/chance.ts'
import type { Vintage } from './timeline-bench-page.tsx'

const HOUR = 3_600_000
const T0 = Date.UTC(2026, 0, 1)
const T1 = Date.UTC(2027, 0, 1)

export function vintageOf(bars: number, rows: number, seed: number): Vintage {
  const chance = chanceOf(seed)
  const perRow = Math.max(1, Math.floor(bars / rows))
  const slot = (T1 - T0) / perRow
  const list: Vintage['bars'][number][] = []
  const links: Vintage['links'][number][] = []
  for (let row = 0; row < rows; row++)
    for (let k = 0; k < perRow; k++) {
      const id = list.length
      // A bar fills 8 to 92 % of its slot, evenly on a log scale, in whole hours.
      const length = Math.max(HOUR, Math.round((slot * 0.08 * (0.92 / 0.08) ** chance.share()) / HOUR) * HOUR)
      const start = Math.round((T0 + k * slot + chance.share() * Math.max(0, slot - length)) / HOUR) * HOUR
      list.push({
        id,
        row,
        start,
        end: start + length,
        kind: chance.whole(0, 9),
        state: chance.whole(0, 4),
        label: `T${id}`,
      })
      if (k > 0) links.push({ id: links.length, from: id - 1, to: id })
      if (k > 0 && row > 0 && id % 20 === 0) links.push({ id: links.length, from: id - perRow - 1, to: id })
    }
  return {
    rows: Array.from({ length: rows }, (_, id) => ({ id, label: `Lot ${String(id + 1).padStart(3, '0')}` })),
    bars: list,
    links,
    t0: T0,
    t1: T1,
  }
}
