import type { FermentForecast } from '../../cellar/fermentation.ts'
import { litres } from '../figures.ts'
import { dryWhen, hourAt } from '../forecast.ts'
import { pressLoads } from '../loads.ts'
import { rounds, TWICE } from '../repeat.ts'
import { type Body, chosen, holdOf, KINDS_FOR, malolacticOf, roomFor, STORING_KINDS } from '../rooms.ts'
import { DAY, endMinOf, HOUR, type Setting, volumeAfter, wallNear } from '../setting.ts'
import { FILL, LOSS, MUST_L_PER_T } from '../volumes.ts'
import { joined, keyOf, type Part, type Wait, work } from '../work.ts'
import { cleaned, cleanTanks } from './cleaning.ts'
import { followCourse, SUGAR_AT } from './course.ts'
import type { Fermented } from './fermenting.ts'
import { figure } from './fruit.ts'
import { watchStart } from './pitching.ts'
import { sum } from './settling.ts'

/** Must on its skins: the vessels are filled from the destemmer. */
export function skinBodies(s: Setting): readonly Body[] {
  const c = s.choices
  const mustL = s.fruit.tonnes * MUST_L_PER_T
  const parts = c.vesselParts ?? [{ vessel: c.vessel, share: 1 }]
  const total = sum(parts.map((p) => p.share))
  const taken: string[] = []
  return parts.map((part, i) => {
    const volumeL = (mustL * part.share) / total
    const room = roomFor(s, {
      stage: 'ferment',
      volumeL,
      fill: FILL.ferment,
      kinds: KINDS_FOR[part.vessel],
      pins: s.lot.vesselPins.ferment?.filter((id) => !taken.includes(id)),
      filledBy: keyOf(s, 'destem-crush'),
      ...(parts.length > 1 ? { taken: [...taken] } : {}),
    })
    taken.push(...chosen(room))
    return {
      hold: `${s.lot.code}/ferment${i === 0 ? '' : `-${i + 1}`}`,
      label: part.vessel,
      volumeL,
      room,
      since: { task: keyOf(s, 'clean-tank', 2), edge: 'start' },
      ...malolacticOf(s, i),
    }
  })
}

export interface OnSkins extends Fermented {
  readonly pressed: readonly Body[]
  readonly pressKeys: readonly string[]
  readonly pressedMin: number
  readonly closing: Part
}

/** Cap work, seal, press off; the wine is dry and often through malolactic before it leaves its skins. */
export function onSkins(s: Setting, bodies: readonly Body[], ferment: FermentForecast, arriveMin: number): OnSkins {
  const c = s.choices
  const crushed = keyOf(s, 'destem-crush')
  const crushedMin = endMinOf(s, crushed, arriveMin, 2 * HOUR)
  const ambient = c.yeast === 'ambient'
  const startMin = ambient
    ? crushedMin
    : endMinOf(s, keyOf(s, 'inoculate'), wallNear(s, crushedMin, 0, 17 * HOUR), HOUR)
  const anchorKey = ambient ? crushed : keyOf(s, 'inoculate')
  const ends = dryWhen(s, ferment, startMin)
  const days = bodies.map((_, i) => c.vesselParts?.[i]?.skinFermentDays ?? c.skinFermentDays)
  const watching = ambient ? watchStart(s, crushed, startMin, bodies) : undefined
  const course = followCourse(s, bodies, ferment, {
    anchorKey,
    startMin,
    firstAfter: watching?.last,
    untilMin: ends.likelyMin,
  })
  const lastPressMin = crushedMin + Math.max(...days) * DAY
  const capUntilMin = Math.min(startMin + (hourAt(ferment, SUGAR_AT.density1000) ?? 15 * 24) * HOUR, lastPressMin - DAY)
  const cap = rounds(s, {
    step: 'work-cap',
    anchor: { key: crushed, endMin: crushedMin, minMin: 12 * HOUR },
    slots: TWICE,
    wants: () => true,
    untilMin: capUntilMin,
    options: () => ({
      sizes: { vessels: sum(bodies.map((b) => b.room.count)) },
      from: bodies.map((b) => b.hold),
      detail: 'cap wetted; never let it dry',
    }),
  })
  const sealing = bodies.filter((_, i) => crushedMin + days[i]! * DAY > capUntilMin + 5 * DAY)
  const pressing = bodies.map((body, i) => pressOff(s, body, i, days[i]!, crushedMin, cap.last))
  const part = joined(
    cleanTanks(s, 'ferment', bodies, arriveMin + HOUR),
    ambient
      ? undefined
      : work(s, 'inoculate', {
          after: [{ key: crushed, maxMin: 24 * HOUR }],
          volumeL: sum(bodies.map((b) => b.volumeL)),
          to: bodies.map((b) => b.hold),
        }),
    watching?.part,
    course.part,
    cap.part,
    sealing.length > 0
      ? work(s, 'seal-skins', {
          after: [cap.last ? { key: cap.last, maxMin: 3 * DAY, strength: 'soft' } : { key: crushed, minMin: 5 * DAY }],
          from: sealing.map((b) => b.hold),
          forecast: true,
          detail: 'under 1000: lid on, CO2, headspace under 3 %',
        })
      : undefined,
    ...pressing.map((p) => p.part),
    { works: [], links: [], holds: [] },
  )
  return {
    part,
    closing: {
      works: [],
      links: [],
      holds: bodies.map((b, i) => holdOf(s, b, { task: keyOf(s, 'press-skins', i + 1), edge: 'end' })),
    },
    bodies,
    ended: keyOf(s, 'check-dry'),
    ends,
    startMin,
    anchorKey,
    lastRound: course.last,
    pressed: pressing.map((p) => p.body),
    pressKeys: pressing.map((p) => p.key),
    pressedMin: Math.max(...pressing.map((p) => p.atMin)),
  }
}

/** What enters the press is a share of what was crushed; the press is the lot's until it is washed. */
function pressOff(s: Setting, body: Body, i: number, days: number, crushedMin: number, lastCap: string | undefined) {
  const key = keyOf(s, 'press-skins', i + 1)
  const share = body.volumeL / (s.fruit.tonnes * MUST_L_PER_T)
  const tonnes = s.fruit.tonnes * share
  const atMin = wallNear(s, crushedMin, days, 8 * HOUR)
  const volumeL = volumeAfter(s, key, tonnes * s.fruit.yieldLPerT * (1 - LOSS.skins))
  const loads = pressLoads(tonnes, 'fermentedT', s.choices.pressProgram, s.machines)
  const load = loads[0]!
  const pins = s.lot.vesselPins.store ?? []
  const pressed: Body = {
    hold: `${s.lot.code}/store${i === 0 ? '' : `-${i + 1}`}`,
    label: body.label,
    volumeL,
    room: roomFor(s, {
      stage: 'store',
      volumeL,
      fill: FILL.store,
      kinds: [...STORING_KINDS, 'puncheon', 'barrel', 'cask'],
      pins: pins.slice(i, i + 1),
      filledBy: key,
      kegs: true,
    }),
    since: { task: keyOf(s, 'clean-tank', 10 + i), edge: 'start' },
    ...malolacticOf(s, i),
  }
  const wait: Wait[] = lastCap ? [{ key: lastCap, minMin: i === 0 ? DAY : 0, strength: 'soft' }] : []
  const wood = pressed.room.barrels
  const body2: Body = wood ? { ...pressed, since: { task: key, edge: 'start' } } : pressed
  const many = loads.length > 1 ? `${loads.length} loads of ${figure(load.tonnes)} t` : `${figure(tonnes)} t`
  const part = joined(
    wood
      ? work(s, 'prep-barrels', {
          count: i + 1,
          sizes: { barrels: pressed.room.count, newBarrels: 0 },
          to: [pressed.hold],
          bias: { nearMin: atMin - 18 * HOUR },
          detail: `${pressed.room.count} for the pressed wine`,
        })
      : { ...cleanFor(s, pressed, i, atMin) },
    work(s, 'press-skins', {
      count: i + 1,
      after: [
        ...(days > 20 ? [] : wait),
        {
          key: keyOf(s, 'destem-crush'),
          minMin: Math.max(1, days - 1) * DAY,
          maxMin: (days + 5) * DAY,
          strength: 'soft',
          reason: `${days} days on skins`,
        },
        wood
          ? { key: keyOf(s, 'prep-barrels', i + 1), maxMin: 24 * HOUR }
          : { ...cleaned(s, 'skins'), key: keyOf(s, 'clean-tank', 10 + i) },
      ],
      sizes: { tonnes },
      elapsedMin: Math.round((2 + tonnes * 0.5 + (loads.length - 1) * load.programH) * HOUR),
      without: ['press', 'basket-press'],
      volumeL,
      from: [body.hold],
      to: [pressed.hold],
      bias: { nearMin: atMin },
      detail: `${days} days on skins; ${many}; ${litres(volumeL)} of wine`,
    }),
    work(s, 'clean-press', {
      count: i + 1,
      after: [{ key, maxMin: 2 * HOUR }],
      elapsedMin: Math.round(load.washH * HOUR),
      crewMin: Math.round(load.washH * HOUR),
      without: ['press', 'basket-press'],
      detail: 'full wash',
    }),
    {
      works: [],
      links: [],
      holds: [
        {
          key: `${s.lot.code}/press-${i + 1}`,
          group: s.lot.code,
          from: { task: key, edge: 'start' },
          to: { task: keyOf(s, 'clean-press', i + 1), edge: 'end' },
          candidates: load.presses,
          count: 1,
          cleanMin: 0,
        },
      ],
    },
  )
  return { part, key, body: body2, atMin }
}

const cleanFor = (s: Setting, body: Body, i: number, atMin: number): Part =>
  work(s, 'clean-tank', {
    count: 10 + i,
    volumeL: body.room.eachL * body.room.count,
    to: [body.hold],
    bias: { nearMin: wallNear(s, atMin, -1, 15 * HOUR) },
    detail: 'for the pressed wine',
  })
