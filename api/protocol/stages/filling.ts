import { litres } from '../figures.ts'
import { type Body, chosen, holdOf, litresEach, roomFor, SETTLING_KINDS } from '../rooms.ts'
import { HOUR, type Setting, wallNear } from '../setting.ts'
import { FILL } from '../volumes.ts'
import { joined, keyOf, type Part, type Wait, work } from '../work.ts'
import { type Must, sum } from './settling.ts'

/** Barrels made ready, filled to 89 %, looked at for leaks. */
export function fillWood(
  s: Setting,
  must: Must,
  wood: readonly Body[],
): { readonly part: Part; readonly key: string; readonly guessMin: number } {
  const barrels = sum(wood.map((b) => b.room.count))
  const fresh = sum(wood.filter((b) => b.label === 'new-barrel').map((b) => b.room.count))
  const volumeL = sum(wood.map((b) => b.volumeL))
  const guessMin = must.readyMin + 30
  const key = keyOf(s, 'fill-barrels')
  const sizes = { barrels, newBarrels: fresh, vessels: barrels }
  const inBarrelsL = sum(wood.map((b) => b.room.count * litresEach(b.volumeL, b.room)))
  const fillPct = Math.round((100 * inBarrelsL) / sum(wood.map((b) => b.room.count * b.room.eachL)))
  const kegs = volumeL - inBarrelsL >= 1 ? `, ${litres(volumeL - inBarrelsL)} to kegs` : ''
  const part = joined(
    work(s, 'prep-barrels', {
      sizes,
      to: wood.map((b) => b.hold),
      bias: { nearMin: wallNear(s, guessMin, -1, 13.5 * HOUR) },
      detail: `${barrels} barrels${fresh > 0 ? `, ${fresh} new: soak overnight` : ''}`,
    }),
    work(s, 'fill-barrels', {
      after: [
        ...must.racked.map((r): Wait => ({ key: r.key, maxMin: fillWithinMin(must) })),
        { key: keyOf(s, 'prep-barrels'), maxMin: 24 * HOUR },
        s.choices.yeast === 'ambient' ? undefined : { key: keyOf(s, 'inoculate'), maxMin: 48 * HOUR, strength: 'soft' },
      ],
      sizes,
      volumeL,
      from: [`${s.lot.code}/juice`],
      to: wood.map((b) => b.hold),
      detail: `${rowsOf(wood).join(', ')} = ${litres(inBarrelsL)}, ${fillPct} % full${kegs}`,
    }),
    ...[1, 24, 72].map((hours, i) =>
      work(s, 'check-leaks', {
        count: i + 1,
        after: [
          {
            key,
            minMin: hours * HOUR - (i === 0 ? 0 : 4 * HOUR),
            maxMin: (hours + 14) * HOUR,
            strength: i === 0 ? 'hard' : 'soft',
          },
        ],
        sizes,
        detail: `${hours} h after filling`,
      }),
    ),
  )
  return { part, key, guessMin }
}

/** Within a day of racking; later only where a large, cold juice takes longer to warm before its yeast. */
const fillWithinMin = (must: Must): number =>
  Math.max(
    24 * HOUR,
    ...must.ready.filter((w) => w.key.includes('/rack-juice/')).map((w) => (w.maxMin ?? 0) + 6 * HOUR),
  )

/** `5 x 203 L, 11 x 203 L`: new ones and used ones, whether or not some are emptied later. */
function rowsOf(wood: readonly Body[]): readonly string[] {
  return [...new Set(wood.map((b) => b.label))].map((label) => {
    const row = wood.filter((b) => b.label === label)
    return `${sum(row.map((b) => b.room.count))} x ${Math.round(litresEach(row[0]!.volumeL, row[0]!.room))} L`
  })
}

/** The tank that holds the racked juice until barrels are full. */
export function juiceTank(s: Setting, wood: readonly Body[], settledIn: readonly Body[]): Body {
  const volumeL = sum(wood.map((b) => b.volumeL))
  return {
    hold: `${s.lot.code}/juice`,
    label: 'juice',
    volumeL,
    room: roomFor(s, {
      stage: 'juice',
      volumeL,
      fill: FILL.settle,
      kinds: SETTLING_KINDS,
      pins: s.lot.vesselPins.juice,
      not: settledIn.flatMap((b) => chosen(b.room)),
    }),
    since: { task: keyOf(s, 'clean-tank', 2), edge: 'start' },
  }
}

export const closeJuiceTank = (s: Setting, tank: Body) =>
  holdOf(s, tank, { task: keyOf(s, 'fill-barrels'), edge: 'end' })
