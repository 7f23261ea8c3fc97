import type { Temporal } from '../../time.ts'
import { BENTONITE_G_PER_HL, perHL, perL, sulphite } from '../doses.ts'
import { litres } from '../figures.ts'
import { type Body, COLD_KINDS, chosen, holdOf, roomFor, STORING_KINDS } from '../rooms.ts'
import { DAY, HOUR, minOf, type Setting, volumeAfter, wallMin } from '../setting.ts'
import { FILL, LOSS } from '../volumes.ts'
import { joined, keyOf, NOTHING, type Part, startsId, type Wait, work } from '../work.ts'
import type { Aged } from './ageing.ts'
import { CLEANING, type CleaningFor, cleaned, cleanTanks } from './cleaning.ts'
import type { FinishDates } from './finish-dates.ts'
import { sum } from './settling.ts'

/** Where the wine is, and what the next work on it waits for. */
interface Flow {
  readonly part: Part
  readonly bodies: readonly Body[]
  readonly ready: readonly Wait[]
}

const TEST_MONDAYS = startsId([[480, 720]], [1], false)

/** Out of wood or together, fined, cold, tested, filtered, released: counted back from the booked day. */
export function finishing(s: Setting, aged: Aged, dates: FinishDates): Part {
  const c = s.choices
  const start: Flow = { part: NOTHING, bodies: aged.bodies, ready: aged.ready.map((key) => ({ key })) }
  if (c.finish === 'blend') return intoBlend(s, start, dates)
  const merged = merge(s, start, dates)
  const fines = c.proteinStability === 'by-test'
  const chills = c.tartrateStability === 'cold' || c.tartrateStability === 'seeded-cold'
  const fined = fines
    ? dates.order === 'together' && chills
      ? finedInCold(s, merged, dates)
      : fine(s, merged, dates)
    : merged
  const cold = chills && !(fines && dates.order === 'together') ? chill(s, fined, dates) : fined
  const tested = fines || c.tartrateStability !== 'none' ? test(s, cold, dates) : cold
  const filteredEarly = dates.restTestOn && c.filtration !== 'none' ? filterCoarse(s, tested, dates) : tested
  return releaseChain(s, filteredEarly, dates, dates.restTestOn === undefined)
}

const at = (s: Setting, on: Temporal.PlainDate, hour: number): number => wallMin(s, on, hour * HOUR)
const near = (s: Setting, on: Temporal.PlainDate, hour: number) => ({ nearMin: at(s, on, hour) })
const holdsOf = (bodies: readonly Body[]): readonly string[] => bodies.map((b) => b.hold)
const litresOf = (bodies: readonly Body[]): number => sum(bodies.map((b) => b.volumeL))
const keys = (waits: readonly Wait[]): readonly Wait[] => waits.map((w) => ({ key: w.key }))

/** All of the lot into one vessel (or two alike): the next hold. */
function into(
  s: Setting,
  name: string,
  volumeL: number,
  from: readonly Body[],
  purpose: CleaningFor,
  filledBy: string,
  wish: { readonly cold?: boolean; readonly pins?: readonly string[] },
): Body {
  const leaving = from.flatMap((b) => chosen(b.room))
  return {
    hold: `${s.lot.code}/${name}`,
    label: '',
    volumeL,
    room: roomFor(s, {
      volumeL,
      fill: FILL.store,
      kinds: wish.cold ? COLD_KINDS : STORING_KINDS,
      cold: wish.cold,
      pins: wish.pins?.filter((id) => !leaving.includes(id)),
      filledBy,
      not: leaving,
    }),
    since: { task: keyOf(s, 'clean-tank', CLEANING[purpose]), edge: 'start' },
  }
}

const closing = (s: Setting, bodies: readonly Body[], key: string): Part => ({
  works: [],
  links: [],
  holds: bodies.map((b) => holdOf(s, b, { task: key, edge: 'end' })),
})

/** Barrels are racked to a tank; parts and fractions that lay apart are blended on a trial. */
function merge(s: Setting, flow: Flow, dates: FinishDates): Flow {
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
function intoBlend(s: Setting, flow: Flow, dates: FinishDates): Part {
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

function trial(s: Setting, flow: Flow, dates: FinishDates): Part {
  return work(s, 'trial-fining', {
    after: flow.ready,
    elapsedMin: DAY,
    bias: near(s, dates.trialOn, 9),
    detail: 'bentonite 0-120 g/hL, heat test 80 C 2 h',
  })
}

function bentonite(s: Setting, flow: Flow, dates: FinishDates): Part {
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
function fine(s: Setting, flow: Flow, dates: FinishDates): Flow {
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
function finedInCold(s: Setting, flow: Flow, dates: FinishDates): Flow {
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
function chill(s: Setting, flow: Flow, dates: FinishDates): Flow {
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

function test(s: Setting, flow: Flow, dates: FinishDates): Flow {
  const early = dates.restTestOn
  const first = work(s, 'test-stability', {
    after: [
      ...flow.ready.map(
        (w): Wait => ({
          key: w.key,
          ...soonAfter(w.key),
        }),
      ),
    ],
    starts: TEST_MONDAYS,
    bias: near(s, early ?? dates.testOn, 9),
    detail: 'heat and cold; a Monday, so that 72 h end on a working day',
  })
  const again = early
    ? work(s, 'test-stability', {
        count: 2,
        after: [{ key: keyOf(s, 'test-stability') }],
        starts: TEST_MONDAYS,
        bias: near(s, dates.testOn, 9),
        detail: 'again: a test older than three weeks does not count',
      })
    : undefined
  return { part: joined(flow.part, first, again), bodies: flow.bodies, ready: [{ key: keyOf(s, 'test-stability') }] }
}

function filterCoarse(s: Setting, flow: Flow, dates: FinishDates): Flow {
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
function releaseChain(s: Setting, flow: Flow, dates: FinishDates, filtersLast: boolean): Part {
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
function soonAfter(key: string): Pick<Wait, 'maxMin' | 'strength'> {
  if (key.includes('/cold-stab/')) return { maxMin: 7 * DAY, strength: 'soft' }
  if (key.includes('/rack-fining/')) return { maxMin: 21 * DAY, strength: 'soft' }
  return {}
}
