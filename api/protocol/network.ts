import type { FermentForecast } from '../cellar/fermentation.ts'
import type { Hold, Link } from '../schedule/types.ts'
import type { Entering } from './loads.ts'
import type { Body } from './rooms.ts'
import { HOUR, isDone, type Setting } from './setting.ts'
import { ageing } from './stages/ageing.ts'
import { cleaned } from './stages/cleaning.ts'
import { fermentBodies, needsMoveToStop, sharesOf } from './stages/ferment-rooms.ts'
import { checkDry, type Fermented, fermenting, stops } from './stages/fermenting.ts'
import { closeJuiceTank, juiceTank } from './stages/filling.ts'
import { type FinishDates, finishDates } from './stages/finish-dates.ts'
import { finishing } from './stages/finishing.ts'
import { fruit } from './stages/fruit.ts'
import { levelled, levelling } from './stages/levelling.ts'
import { malolactic } from './stages/malolactic.ts'
import { loadsThere } from './stages/press-away.ts'
import { pressing, pressStartMin } from './stages/pressing.ts'
import { rackedVolumes, settleTanks, settling } from './stages/settling.ts'
import { onSkins, skinBodies } from './stages/skins.ts'
import { stopping } from './stages/stopping.ts'
import { troubled } from './stages/trouble.ts'
import { STEPS, stepOf } from './steps.ts'
import { joined, keyOf, linksTo, type Part, type Work, work } from './work.ts'

/** A lot's work from the first sample to release, before it has dates. */
export interface Network extends Part {
  readonly ferment: FermentForecast
  readonly fermentStartMin: number
  /** Litres in ferment: clear juice, or must where it ferments on its skins. */
  readonly fermentL: number
  readonly ends: Fermented['ends']
  readonly dates: FinishDates
}

/** The choices of a lot become tasks, links and holds. Pure: the same lot and facts give the same network. */
export function buildNetwork(s: Setting, ferment: FermentForecast): Network {
  const made =
    s.choices.processing === 'on-skins' && s.choices.skinFermentDays > 0 ? skinLot(s, ferment) : juiceLot(s, ferment)
  const asked = joined(made, troubled(s, made))
  return { ...made, ...withoutOvertaken(s, joined(asked, remembered(s, asked))) }
}

type Made = Network

/** Pressed first, then fermented as juice. */
function juiceLot(s: Setting, ferment: FermentForecast): Made {
  const c = s.choices
  const entering: Entering = c.processing === 'whole-bunch' ? 'wholeBunchT' : 'destemmedT'
  const loads = loadsThere(s, entering)
  const arrived = fruit(s, loads, false)
  const juice = pressing(s, loads, arrived, cleaned(s, 'settle'))
  const shares = sharesOf(s, rackedShares(s, juice.bodies))
  const filling = fermentBodies(s, shares)
  const tanks = filling.filter((b) => !b.room.barrels)
  const level = stops(s)
    ? undefined
    : levelled(
        s,
        filling.filter((b) => b.room.barrels),
      )
  const bodies = level ? [...tanks, ...level.kept, ...level.spare] : filling
  const rested = level ? [...tanks, ...level.full] : filling
  const wood = bodies.filter((b) => b.room.barrels)
  const holding = wood.length > 0 ? juiceTank(s, wood, juice.bodies) : undefined
  const filled: readonly Body[] = [...bodies.filter((b) => !b.room.barrels), ...(holding ? [holding] : [])]
  const must = settling(s, juice, filled, (i) =>
    juice.bodies.length > 1 && filled[i] ? [filled[i]!.hold] : filled.map((b) => b.hold),
  )
  const fermented = fermenting(s, must, bodies, ferment)
  const before = joined(
    arrived.part,
    settleTanks(s, juice, pressStartMin(s, arrived.arriveMin)),
    juice.part,
    must.part,
    fermented.part,
    holding ? { works: [], links: [], holds: [closeJuiceTank(s, holding)] } : undefined,
  )
  if (stops(s)) {
    const stopped = stopping(s, fermented, ferment, needsMoveToStop(bodies, shares))
    const dates = finishDates(s, stopped.endedMin)
    const aged = ageing(s, {
      bodies: stopped.bodies,
      endedKey: stopped.ended,
      endedMin: stopped.endedMin,
      kind: 'stopped',
      dates,
      malolactic: { part: { works: [], links: [], holds: [] } },
      clean: true,
    })
    return finished(fermented, ferment, dates, joined(before, stopped.part, aged.part, finishing(s, aged, dates)))
  }
  const dates = finishDates(s, fermented.ends.likelyMin)
  const mlf = malolactic(s, rested, fermented.ended, fermented.ends.likelyMin)
  const aged = ageing(s, {
    bodies: rested,
    endedKey: fermented.ended,
    endedMin: fermented.ends.likelyMin,
    kind: 'dry',
    dates,
    malolactic: mlf,
    clean: false,
  })
  const foamOver =
    level && wood.length > 0
      ? levelling(s, wood, level.spare, ferment, fermented.startMin, fermented.anchorKey)
      : undefined
  return finished(
    fermented,
    ferment,
    dates,
    joined(before, foamOver, checkDry(s, fermented), mlf.part, aged.part, finishing(s, aged, dates)),
  )
}

/** Fermented on skins, pressed when the wine is made. */
function skinLot(s: Setting, ferment: FermentForecast): Made {
  const bodies = skinBodies(s)
  const loads = [{ tonnes: s.fruit.tonnes, presses: [], programH: 0, washH: 0, rinseH: 0 }]
  const arrived = fruit(s, loads, true)
  const skins = onSkins(s, bodies, ferment, arrived.arriveMin)
  const mlf = malolactic(s, bodies, skins.ended, skins.ends.likelyMin)
  const endedMin = Math.max(skins.pressedMin + 5 * HOUR, skins.ends.likelyMin)
  const dates = finishDates(s, endedMin)
  const lastPress = skins.pressKeys.reduce((a, b, i) =>
    (s.choices.vesselParts?.[i]?.skinFermentDays ?? s.choices.skinFermentDays) >=
    (s.choices.vesselParts?.[skins.pressKeys.indexOf(a)]?.skinFermentDays ?? s.choices.skinFermentDays)
      ? b
      : a,
  )
  const aged = ageing(s, {
    bodies: skins.pressed,
    endedKey: lastPress,
    endedMin: skins.pressedMin,
    kind: 'pressed',
    dates,
    malolactic: mlf,
    clean: true,
  })
  const filled: Part = { works: [], links: linksTo(keyOf(s, 'destem-crush'), cleaned(s, 'ferment')), holds: [] }
  return finished(
    skins,
    ferment,
    dates,
    joined(
      arrived.part,
      filled,
      skins.part,
      skins.closing,
      checkDry(s, skins),
      mlf.part,
      aged.part,
      finishing(s, aged, dates),
    ),
  )
}

const finished = (f: Fermented, ferment: FermentForecast, dates: FinishDates, part: Part): Made => ({
  ...part,
  ferment,
  fermentStartMin: f.startMin,
  fermentL: f.bodies.reduce((litres, b) => litres + b.volumeL, 0),
  ends: f.ends,
  dates,
})

const rackedShares = (s: Setting, bodies: readonly Body[]) =>
  rackedVolumes(s, bodies).map((volumeL, i) => ({ volumeL, label: bodies[i]!.label }))

/** What was done stays in the plan, even where the choices no longer ask for it. */
function remembered(s: Setting, part: Part): Part {
  const here = new Set(part.works.map((w) => w.task.key))
  return joined(
    ...[...s.ticks].flatMap(([key, tick]) => {
      const [code, step = '', count = '1'] = key.split('/')
      if (code !== s.lot.code || here.has(key) || !STEPS.some((known) => known.id === step)) return []
      if (!tick.done && !tick.skipped && !tick.started) return []
      return [work(s, step, { count: Number(count), crewOf: key, without: stepOf(step).machines.map((m) => m.kind) })]
    }),
  )
}

/**
 * Work that nobody did and later work has overtaken is not work any more: its links pass through it.
 * Links whose ends are missing are dropped; holds begin and end with the nearest work that is left.
 */
export function withoutOvertaken(s: Setting, part: Part): Part {
  const works = new Map(part.works.map((w) => [w.task.key, w]))
  const done = new Set([...works.keys()].filter((key) => isDone(s, key) || s.ticks.get(key)?.started))
  const followers = new Map<string, string[]>()
  for (const link of part.links) followers.set(link.prev, [...(followers.get(link.prev) ?? []), link.next])
  const overtaken = new Set([...works.keys()].filter((key) => !done.has(key) && reaches(key, followers, done)))
  const kept = part.works.filter((w) => !overtaken.has(w.task.key))
  const here = new Set(kept.map((w) => w.task.key))
  return {
    works: kept.map((w) => (w.crewOf && !here.has(w.crewOf) ? { ...w, crewOf: undefined } : w)),
    links: part.links.filter((l) => here.has(l.prev) && here.has(l.next)),
    holds: part.holds.flatMap((h) => withEdges(h, here, part.links, part.works)),
  }
}

/** Whether anything done lies behind a task. */
function reaches(key: string, followers: ReadonlyMap<string, readonly string[]>, done: ReadonlySet<string>): boolean {
  const seen = new Set<string>([key])
  const queue = [key]
  for (let at = queue.pop(); at !== undefined; at = queue.pop()) {
    for (const next of followers.get(at) ?? []) {
      if (done.has(next)) return true
      if (seen.has(next)) continue
      seen.add(next)
      queue.push(next)
    }
  }
  return false
}

/** A hold whose cleaning was never written begins with the filling; one whose emptying is gone is over. */
function withEdges(
  hold: Hold,
  here: ReadonlySet<string>,
  links: readonly Link[],
  works: readonly Work[],
): readonly Hold[] {
  const from = here.has(hold.from.task)
    ? hold.from
    : (links
        .filter((l) => l.prev === hold.from.task && here.has(l.next))
        .map((l) => ({ task: l.next, edge: 'start' as const }))[0] ??
      works
        .filter((w) => w.to.includes(hold.key) && here.has(w.task.key))
        .map((w) => ({ task: w.task.key, edge: 'start' as const }))[0])
  if (!from || !here.has(hold.to.task)) return []
  return [{ ...hold, from }]
}
