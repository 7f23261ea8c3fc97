import { sulphite } from '../doses.ts'
import { litres } from '../figures.ts'
import { DAY, HOUR, minOf, type Setting, volumeAfter } from '../setting.ts'
import { LOSS } from '../volumes.ts'
import { joined, keyOf, type Part, type Wait, work } from '../work.ts'
import { cleaned, cleanTanks } from './cleaning.ts'
import type { FinishDates } from './finish-dates.ts'
import { at, closing, type Flow, holdsOf, into, keys, litresOf, near } from './finish-flow.ts'

export function filterCoarse(s: Setting, flow: Flow, dates: FinishDates): Flow {
  const key = keyOf(s, 'filter-coarse')
  const volumeL = volumeAfter(s, key, litresOf(flow.bodies) * (1 - LOSS.filter))
  const target = into(s, 'finish', volumeL, flow.bodies, 'filter', key, { pins: s.lot.vesselPins.finish })
  const part = joined(
    flow.part,
    cleanTanks(s, 'filter', [target], at(s, dates.filterOn, 8)),
    work(s, 'filter-coarse', {
      after: [...flow.ready.map((w): Wait => ({ key: w.key, ...soonAfter(w.key) })), cleaned(s, 'filter')],
      volumeL: litresOf(flow.bodies),
      from: holdsOf(flow.bodies),
      to: [target.hold],
      bias: near(s, dates.filterOn, 8),
      detail: `${litres(volumeL)}${s.choices.filtration === 'polish' ? ', polish' : ''}`,
    }),
    closing(s, flow.bodies, key),
  )
  return { part, bodies: [target], ready: [{ key }] }
}

/** The last week: panel, SO2, filter, gas, release, and the membrane on the morning of the line. */
export function releaseChain(s: Setting, flow: Flow, dates: FinishDates, filtersLast: boolean): Part {
  const c = s.choices
  const volumeL = litresOf(flow.bodies)
  const tests = c.proteinStability === 'by-test' || c.tartrateStability !== 'none'
  const lastTest = tests ? keyOf(s, 'test-stability', dates.restTestOn ? 2 : 1) : undefined
  const membrane = c.filtration === 'sterile' && c.finish === 'bottling'
  const base = c.finish === 'tirage'
  const panel = joined(
    work(s, 'pre-bottling', {
      after: [lastTest ? { key: lastTest, maxMin: 21 * DAY, strength: 'soft' } : undefined, ...keys(flow.ready)],
      elapsedMin: DAY,
      bias: near(s, dates.panelOn, 8),
      from: holdsOf(flow.bodies),
      detail: base ? 'free SO2 under 15, CO2 under 0.4 g/L, over 10 C' : 'full panel',
    }),
    c.endPoint === 'dry-then-sweeten'
      ? work(s, 'sweeten', {
          after: [lastTest ? { key: lastTest, maxMin: 14 * DAY, strength: 'soft' } : { key: keyOf(s, 'pre-bottling') }],
          volumeL,
          from: holdsOf(flow.bodies),
          bias: near(s, dates.panelOn.add({ days: 1 }), 9),
          detail: `to ${c.stopSugarGPerL ?? 8} g/L; sterile filter now compulsory`,
        })
      : undefined,
    work(s, 'final-so2', {
      after: [{ key: keyOf(s, 'pre-bottling'), maxMin: 7 * DAY }],
      volumeL,
      from: holdsOf(flow.bodies),
      doses: [
        c.firstSo2 === 'never' || base
          ? undefined
          : sulphite(5, volumeL, 'target + 5 mg/L free; the panel says what is missing'),
      ],
      bias: near(s, dates.so2On, 9),
      detail: base ? 'none while free is right; written as 0' : 'target free + 5 mg/L',
    }),
  )
  const last =
    filtersLast && c.filtration !== 'none'
      ? filterCoarse(s, { ...flow, ready: [{ key: keyOf(s, 'final-so2') }] }, dates)
      : flow
  const releaseKey = keyOf(s, 'release')
  const membraneKey = keyOf(s, 'filter-membrane')
  const dueMin = at(s, dates.finishOn, 24)
  const gases = membrane && filtersLast
  return joined(
    panel,
    last.part,
    work(s, 'release', {
      after: [
        { key: keyOf(s, 'pre-bottling'), maxMin: 7 * DAY },
        { key: keyOf(s, 'final-so2'), minMin: 12 * HOUR, maxMin: 3.2 * DAY, strength: 'soft' },
        // Signed with the litres that are there: a polished wine when it is polished, one for the membrane the day before.
        last !== flow && !membrane ? { key: keyOf(s, 'filter-coarse') } : undefined,
      ],
      from: holdsOf(last.bodies),
      bias: near(s, dates.releaseOn, 9),
      releaseMin: afterCopper(s),
      dueMin,
      dueStrength: 'hard',
      detail: base ? 'tirage-ready: signed, volume, code' : 'signed, volume, code',
    }),
    gases
      ? work(s, 'gas-adjust', {
          after: [{ key: keyOf(s, 'filter-coarse'), maxMin: 14 * DAY, strength: 'soft' }],
          volumeL: litresOf(last.bodies),
          from: holdsOf(last.bodies),
          bias: near(s, dates.filterOn, 14.5),
          detail: 'oxygen under 0.5 mg/L, CO2 about 1 g/L',
        })
      : undefined,
    membrane
      ? work(s, 'filter-membrane', {
          after: [
            { key: keyOf(s, 'filter-coarse'), maxMin: DAY, reason: 'depth filter within 24 h before' },
            { key: releaseKey },
            gases ? { key: keyOf(s, 'gas-adjust') } : undefined,
          ],
          volumeL: litresOf(last.bodies),
          from: holdsOf(last.bodies),
          bias: near(s, dates.finishOn, 6),
          dueMin,
          dueStrength: 'hard',
          detail: 'integrity before and after; on the way to the line',
        })
      : undefined,
    closing(s, last.bodies, membrane ? membraneKey : releaseKey),
  )
}

/** Copper settles for a week before wine is filled: change 16 of the practice (S43, S44). */
const COPPER_DAYS = 7

function afterCopper(s: Setting): number | undefined {
  const coppered = s.additions.filter((a) => /copper/i.test(a.product)).map((a) => minOf(s, a.addedAt))
  return coppered.length > 0 ? Math.max(...coppered) + COPPER_DAYS * DAY : undefined
}

/**
 * How soon after clearing wine is tested or filtered: it should not throw a new deposit. Common practice. Wine that
 * was never cleared waits for its other reasons, however long.
 */
export function soonAfter(key: string): Pick<Wait, 'maxMin' | 'strength'> {
  if (key.includes('/cold-stab/')) return { maxMin: 7 * DAY, strength: 'soft' }
  if (key.includes('/rack-fining/')) return { maxMin: 21 * DAY, strength: 'soft' }
  return {}
}
