import { litres } from '../figures.ts'
import { DAY, type Setting, volumeAfter } from '../setting.ts'
import { LOSS } from '../volumes.ts'
import { joined, keyOf, type Part, work } from '../work.ts'
import { cleaned, cleanTanks } from './cleaning.ts'
import type { FinishDates } from './finish-dates.ts'
import { at, closing, type Flow, holdsOf, into, keys, litresOf, near } from './finish-flow.ts'
import { sum } from './settling.ts'

/** Barrels are racked to a tank; parts and fractions that lay apart are blended on a trial. */
export function merge(s: Setting, flow: Flow, dates: FinishDates): Flow {
  const wood = flow.bodies.filter((b) => b.room.barrels)
  const barrels = sum(wood.map((b) => b.room.count))
  const apart = flow.bodies.filter((b) => !b.room.barrels)
  const blends = apart.length > 1 || (apart.length === 1 && wood.length > 0)
  if (wood.length === 0 && !blends) return flow
  const key = blends ? keyOf(s, 'blend') : keyOf(s, 'rack-out')
  const volumeL = volumeAfter(s, key, litresOf(apart) + sum(wood.map((b) => b.volumeL)) * (1 - LOSS.rackOut))
  const target = into(s, 'cold', volumeL, flow.bodies, blends ? 'blend' : 'rackOut', key, {
    cold: dates.order === 'together',
    pins: s.lot.vesselPins.cold,
  })
  const fillMin = at(s, dates.mergeOn, 7)
  const trialOn = dates.mergeOn.subtract({ days: 13 })
  const moves: Part = joined(
    cleanTanks(s, blends ? 'blend' : 'rackOut', [target], fillMin),
    blends
      ? work(s, 'blend-trial', {
          after: keys(flow.ready),
          bias: near(s, trialOn, 10),
          detail: 'shares of each part; variety, vintage and place stay written',
        })
      : undefined,
    wood.length > 0
      ? work(s, 'rack-out', {
          after: [
            ...keys(flow.ready),
            ...(blends ? [{ key: keyOf(s, 'blend-trial') }] : []),
            blends ? { ...cleaned(s, 'blend') } : cleaned(s, 'rackOut'),
          ],
          sizes: { barrels },
          volumeL: sum(wood.map((b) => b.volumeL)),
          from: holdsOf(wood),
          to: [target.hold],
          bias: near(s, dates.mergeOn, 7),
          detail: `${barrels} barrels; ${litres(sum(wood.map((b) => b.volumeL)) * (1 - LOSS.rackOut))}; push with N2`,
        })
      : undefined,
    blends
      ? work(s, 'blend', {
          after: [
            { key: keyOf(s, 'blend-trial'), maxMin: 28 * DAY, strength: 'soft' },
            wood.length > 0 ? { key: keyOf(s, 'rack-out') } : cleaned(s, 'blend'),
          ],
          volumeL,
          from: holdsOf(apart),
          to: [target.hold],
          bias: near(s, dates.mergeOn, 8),
          detail: `${litres(volumeL)}; litres of each part written`,
        })
      : undefined,
    wood.length > 0
      ? joined(
          work(s, 'store-barrels', {
            after: [{ key: keyOf(s, 'rack-out'), maxMin: DAY }],
            sizes: { barrels },
            detail: `${barrels} barrels, one fill more; sulphured`,
          }),
          work(s, 'regas-empty', {
            after: [{ key: keyOf(s, 'store-barrels'), minMin: 21 * DAY, maxMin: 42 * DAY }],
            sizes: { barrels },
            bias: near(s, dates.mergeOn.add({ days: 30 }), 9),
            detail: `${barrels} barrels`,
          }),
        )
      : undefined,
    closing(s, wood, keyOf(s, 'rack-out')),
    closing(s, apart, key),
  )
  return { part: joined(flow.part, moves), bodies: [target], ready: [{ key, minMin: DAY }] }
}

/** The lot ends here: tried, measured and moved into the blend, whose tank and finish belong to the lot that takes it. */
export function intoBlend(s: Setting, flow: Flow, dates: FinishDates): Part {
  const volumeL = litresOf(flow.bodies)
  const barrels = sum(flow.bodies.filter((b) => b.room.barrels).map((b) => b.room.count))
  return joined(
    work(s, 'blend-trial', {
      after: keys(flow.ready),
      bias: near(s, dates.mergeOn.subtract({ days: 13 }), 10),
      detail: 'share of this lot; variety, vintage and place stay written',
    }),
    work(s, 'blend', {
      after: [...keys(flow.ready), { key: keyOf(s, 'blend-trial'), maxMin: 28 * DAY, strength: 'soft' }],
      volumeL,
      from: holdsOf(flow.bodies),
      bias: near(s, dates.mergeOn, 8),
      dueMin: at(s, dates.finishOn, 24),
      dueStrength: 'hard',
      detail: `${litres(volumeL)} into the blend; litres and composition written`,
    }),
    barrels > 0
      ? work(s, 'store-barrels', {
          after: [{ key: keyOf(s, 'blend'), maxMin: DAY }],
          sizes: { barrels },
          detail: `${barrels} barrels, one fill more; sulphured`,
        })
      : undefined,
    closing(s, flow.bodies, keyOf(s, 'blend')),
  )
}

export function trial(s: Setting, flow: Flow, dates: FinishDates): Part {
  return work(s, 'trial-fining', {
    after: flow.ready,
    elapsedMin: DAY,
    bias: near(s, dates.trialOn, 9),
    detail: 'bentonite 0-120 g/hL, heat test 80 C 2 h',
  })
}
