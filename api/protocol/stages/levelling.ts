import type { FermentForecast } from '../../cellar/fermentation.ts'
import { litres } from '../figures.ts'
import { hourAt } from '../forecast.ts'
import { type Body, holdOf, type Room } from '../rooms.ts'
import { DAY, HOUR, type Setting, wallNear } from '../setting.ts'
import { joined, keyOf, type Part, work } from '../work.ts'
import { sum } from './settling.ts'

/** The lot's wood before and after the foam: fewer barrels, brought to the bung. */
export interface Levelled {
  /** As they ferment. */
  readonly kept: readonly Body[]
  /** Emptied into the others. */
  readonly spare: readonly Body[]
  /** The kept ones, full. */
  readonly full: readonly Body[]
}

/** Sugar at which the foam is over: density under 1010 kg/m3, by hydrometer tables (common practice). */
const FOAM_OVER_G_PER_L = 32
/** What foam and lees take on the way. Common practice. */
const FOAM_LOSS = 0.01
/** Two or three kegs a lot; more than that is a barrel not quite full. Common practice. */
const KEGS_MOST_L = 60

/** Barrels that are full after the foam; the last one is filled up from elsewhere where too much would be over. */
export function fullBarrels(volumeL: number, eachL: number, barrels: number): number {
  const whole = Math.floor(volumeL / eachL)
  return Math.max(1, Math.min(barrels, volumeL - whole * eachL <= KEGS_MOST_L ? whole : whole + 1))
}

export function levelled(s: Setting, wood: readonly Body[]): Levelled {
  const { full, volumeL, barrels } = figuresOf(wood)
  let over = barrels - full
  const parted = [...wood].reverse().map((b) => {
    const out = Math.min(over, b.room.count)
    over -= out
    return split(s, b, b.room.count - out)
  })
  const inOrder = parted.reverse()
  const kept = inOrder.flatMap((p) => p.kept ?? [])
  return {
    kept,
    spare: inOrder.flatMap((p) => p.spare ?? []),
    full: kept.map((b) => ({ ...b, volumeL: Math.min(b.room.count * b.room.eachL, (volumeL * b.room.count) / full) })),
  }
}

function figuresOf(wood: readonly Body[]) {
  const barrels = sum(wood.map((b) => b.room.count))
  const volumeL = sum(wood.map((b) => b.volumeL)) * (1 - FOAM_LOSS)
  const eachL = wood[0]?.room.eachL ?? 0
  const alike = wood.length > 0 && wood.every((b) => b.room.eachL === eachL)
  return { barrels, volumeL, eachL, full: alike ? fullBarrels(volumeL, eachL, barrels) : barrels }
}

/** What a person wants for store is kept; else the first ones. */
function split(s: Setting, b: Body, keep: number): { readonly kept?: Body; readonly spare?: Body } {
  if (keep === b.room.count) return { kept: b }
  const stay = new Set(s.lot.vesselPins.store ?? [])
  const part = (ids: readonly string[], count: number): Room => {
    const others = b.room.candidates.filter((id) => !named.includes(id))
    const known = b.room.units ? { units: ids } : b.room.wanted ? { wanted: ids } : {}
    return { ...b.room, ...known, count, candidates: named.length === 0 ? b.room.candidates : [...ids, ...others] }
  }
  const named = [...(b.room.units ?? b.room.wanted ?? [])].sort((x, y) => Number(stay.has(y)) - Number(stay.has(x)))
  const eachL = b.volumeL / b.room.count
  const spare: Body = {
    ...b,
    hold: `${b.hold}-spare`,
    volumeL: eachL * (b.room.count - keep),
    room: part(named.slice(keep), b.room.count - keep),
  }
  return keep === 0
    ? { spare }
    : { spare, kept: { ...b, volumeL: eachL * keep, room: part(named.slice(0, keep), keep) } }
}

/** Foam is over: barrels are brought to the bung, some emptied to fill the others, the rest to a keg. */
export function levelling(
  s: Setting,
  wood: readonly Body[],
  spare: readonly Body[],
  ferment: FermentForecast,
  startMin: number,
  firstRound: string,
): Part {
  const { full, volumeL, barrels, eachL } = figuresOf(wood)
  const at = startMin + (hourAt(ferment, FOAM_OVER_G_PER_L) ?? 10 * 24) * HOUR
  const overL = volumeL - full * eachL
  const rest =
    overL >= 0
      ? `${litres(overL)} to kegs; the lot's own kegs first`
      : `${litres(-overL)} wanting: the lot's own kegs first, like wine written as composition`
  return joined(
    work(s, 'level-barrels', {
      after: [{ key: firstRound, from: 'start', minMin: 3 * DAY, maxMin: 20 * DAY, strength: 'soft' }],
      sizes: { barrels },
      volumeL,
      from: wood.map((b) => b.hold),
      bias: { nearMin: wallNear(s, Math.max(s.nowMin, at), 0, 9 * HOUR) },
      forecast: true,
      detail: `under 1010: ${litres(volumeL)} = ${full} full barrels and ${rest}`,
    }),
    {
      works: [],
      links: [],
      holds: spare.map((b) => holdOf(s, b, { task: keyOf(s, 'level-barrels'), edge: 'end' })),
    },
  )
}
