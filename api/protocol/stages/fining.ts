import { BENTONITE_G_PER_HL, perHL, perL } from '../doses.ts'
import { litres } from '../figures.ts'
import type { Body } from '../rooms.ts'
import { DAY, HOUR, type Setting, volumeAfter } from '../setting.ts'
import { LOSS } from '../volumes.ts'
import { joined, keyOf, type Part, type Wait, work } from '../work.ts'
import { trial } from './blending.ts'
import { cleaned, cleanTanks } from './cleaning.ts'
import type { FinishDates } from './finish-dates.ts'
import { at, closing, type Flow, holdsOf, into, litresOf, near } from './finish-flow.ts'

export function bentonite(s: Setting, flow: Flow, dates: FinishDates): Part {
  const volumeL = litresOf(flow.bodies)
  const rate = s.choices.fineLeesMonths >= 4 ? BENTONITE_G_PER_HL.onLees : BENTONITE_G_PER_HL.aromatic
  return work(s, 'fine-bentonite', {
    after: [{ key: keyOf(s, 'trial-fining'), maxMin: 14 * DAY }],
    volumeL,
    from: holdsOf(flow.bodies),
    doses: [
      perHL('bentonite', rate, 'g', volumeL, {
        kind: 'source',
        refs: ['S16'],
        note: 'the trial decides; water under 1 %',
      }),
    ],
    bias: near(s, dates.fineOn, 9),
    detail: `${rate} g/hL until the trial speaks; swollen the day before, water under 1 %`,
  })
}

/** Fined, settled, racked clean; the cold comes after. */
export function fine(s: Setting, flow: Flow, dates: FinishDates): Flow {
  const key = keyOf(s, 'rack-fining')
  const volumeL = volumeAfter(s, key, litresOf(flow.bodies) * (1 - LOSS.fining))
  const chills = s.choices.tartrateStability === 'cold' || s.choices.tartrateStability === 'seeded-cold'
  const target = into(s, 'fined', volumeL, flow.bodies, 'fining', key, { cold: chills, pins: s.lot.vesselPins.cold })
  const part = joined(
    flow.part,
    trial(s, flow, dates),
    bentonite(s, flow, dates),
    cleanTanks(s, 'fining', [target], at(s, dates.rackFiningOn, 7)),
    rackFining(s, flow, target, dates, [
      { key: keyOf(s, 'fine-bentonite'), minMin: 5 * DAY, maxMin: 14 * DAY, strength: 'soft' },
    ]),
    closing(s, flow.bodies, key),
  )
  return { part, bodies: [target], ready: [{ key }] }
}

/** Cold on the bentonite, then racked off both. */
export function finedInCold(s: Setting, flow: Flow, dates: FinishDates): Flow {
  const key = keyOf(s, 'rack-fining')
  const volumeL = volumeAfter(s, key, litresOf(flow.bodies) * (1 - LOSS.fining))
  const target = into(s, 'fined', volumeL, flow.bodies, 'fining', key, {})
  const part = joined(
    flow.part,
    trial(s, flow, dates),
    bentonite(s, flow, dates),
    coldWork(s, flow, dates, [
      { key: keyOf(s, 'fine-bentonite'), from: 'start', minMin: DAY, maxMin: 10 * DAY, strength: 'soft' },
    ]),
    cleanTanks(s, 'fining', [target], at(s, dates.rackFiningOn, 7)),
    rackFining(s, flow, target, dates, [
      { key: keyOf(s, 'cold-stab'), maxMin: 3 * DAY, strength: 'soft' },
      { key: keyOf(s, 'fine-bentonite'), minMin: 5 * DAY, maxMin: 14 * DAY, strength: 'soft' },
    ]),
    closing(s, flow.bodies, key),
  )
  return { part, bodies: [target], ready: [{ key }] }
}

const rackFining = (s: Setting, flow: Flow, target: Body, dates: FinishDates, after: readonly Wait[]): Part =>
  work(s, 'rack-fining', {
    after: [...after, cleaned(s, 'fining')],
    volumeL: litresOf(flow.bodies),
    from: holdsOf(flow.bodies),
    to: [target.hold],
    bias: near(s, dates.rackFiningOn, 7),
    detail: `${litres(target.volumeL)}`,
  })

/** The cold of a wine that is racked clean, or was not fined. */
export function chill(s: Setting, flow: Flow, dates: FinishDates): Flow {
  const ready = flow.ready.map(
    (w): Wait => ({
      ...w,
      ...(w.key === keyOf(s, 'rack-fining') ? { maxMin: 28 * DAY, strength: 'soft' as const } : {}),
    }),
  )
  return {
    part: joined(flow.part, coldWork(s, flow, dates, ready)),
    bodies: flow.bodies,
    ready: [{ key: keyOf(s, 'cold-stab'), maxMin: 5 * DAY, strength: 'soft' }],
  }
}

function coldWork(s: Setting, flow: Flow, dates: FinishDates, after: readonly Wait[]): Part {
  const volumeL = litresOf(flow.bodies)
  const seeded = s.choices.tartrateStability === 'seeded-cold'
  return work(s, 'cold-stab', {
    after,
    crewOf: after[0]?.key,
    elapsedMin: dates.coldH * HOUR,
    volumeL,
    from: holdsOf(flow.bodies),
    to: [],
    doses: [seeded || dates.order === 'apart' ? perL('cream of tartar', 3, volumeL) : undefined],
    bias: near(s, dates.coldOn, dates.order === 'apart' ? 10 : 8),
    starts: null,
    detail: `-4 C for ${Math.round(dates.coldH / 24)} days${dates.order === 'together' && s.choices.proteinStability === 'by-test' ? ', on the bentonite' : ''}`,
  })
}
