/** Where work lies in a cellar of several sites. The cellar itself, the site of all that names none, has the empty name. */
import type { Hold, Task } from '../schedule/types.ts'
import type { Cellar, Facts, Lot, Machine, Site, Vessel } from './facts.ts'
import type { Part, Work } from './work.ts'

export const HOME = ''

/** What stands somewhere: a vessel, a machine. */
type Standing = Pick<Vessel, 'site'>

/** Stages of a lot's wine that a person may pin to a vessel, in the order in which it goes through them. */
export const STAGES = ['must', 'settle', 'juice', 'ferment', 'stop', 'store', 'cold', 'finish'] as const
export type Stage = (typeof STAGES)[number]

/** A site that the cellar does not list any more counts as the cellar itself. */
export const siteOf = (cellar: Pick<Cellar, 'sites'>, what: Standing | undefined): string =>
  cellar.sites?.some((s) => s.name === what?.site) ? (what?.site ?? HOME) : HOME

/** Minutes from each site to each other, the cellar itself first. What is not told goes over the cellar. */
export function travelBetween(sites: readonly Site[]): readonly (readonly number[])[] {
  const told = (a: Site, b: Site) => a.to?.[b.name] ?? b.to?.[a.name] ?? a.awayMin + b.awayMin
  return [
    [0, ...sites.map((s) => s.awayMin)],
    ...sites.map((a) => [a.awayMin, ...sites.map((b) => (a === b ? 0 : told(a, b)))]),
  ]
}

/**
 * Where a lot is at home: where its wine lies; before that where a person wants its juice, or its ferment if there is a
 * press too; else the cellar itself.
 */
export function homeOf(lot: Lot, facts: Facts): string {
  const { cellar, vessels } = facts
  if (!cellar.sites?.length) return HOME
  const at = (id: string | undefined) =>
    siteOf(
      cellar,
      vessels.find((v) => v.id === id),
    )
  const most = (facts.stock ?? [])
    .filter((x) => x.lotId === lot.id)
    .reduce<{ readonly vesselId: string; readonly volumeL: number } | undefined>(
      (a, b) => (a && a.volumeL >= b.volumeL ? a : b),
      undefined,
    )
  const last = facts.transfers
    .filter((t) => t.lotId === lot.id && t.toVesselId !== undefined)
    .reduce<Facts['transfers'][number] | undefined>(
      (a, b) => (a && a.movedAt.epochMilliseconds > b.movedAt.epochMilliseconds ? a : b),
      undefined,
    )
  const lies = most?.vesselId ?? last?.toVesselId
  if (lies !== undefined) return at(lies)
  const { must, settle, ferment } = lot.vesselPins
  const first = must?.[0] ?? settle?.[0]
  if (first !== undefined) return at(first)
  const site = at(ferment?.[0])
  const isPress = (m: Machine) => m.kind === 'press' || m.kind === 'basket-press'
  return facts.machines.some((m) => isPress(m) && siteOf(cellar, m) === site) ? site : HOME
}

/** Machines that a lot's work takes: those of its site; of a kind that is not there, wherever they stand. */
export function machinesAt(facts: Pick<Facts, 'cellar' | 'machines'>, site: string): readonly Machine[] {
  if (!facts.cellar.sites?.length) return facts.machines
  const there = facts.machines.filter((m) => siteOf(facts.cellar, m) === site)
  const kinds = new Set(there.map((m) => m.kind))
  return facts.machines.filter((m) => there.includes(m) || !kinds.has(m.kind))
}

/** Where a stage of a lot lies: at the site of the last vessel pinned up to it. Wine does not go elsewhere by itself. */
export function siteAt(
  s: {
    readonly lot: Pick<Lot, 'vesselPins'>
    readonly cellar: Cellar
    readonly vessels: readonly Vessel[]
    readonly home: string
  },
  stage: Stage,
): string {
  const pinned = STAGES.slice(0, STAGES.indexOf(stage) + 1).findLast((name) => s.lot.vesselPins[name]?.length)
  const id = pinned && s.lot.vesselPins[pinned]?.[0]
  const vessel = s.vessels.find((v) => v.id === id)
  return vessel ? siteOf(s.cellar, vessel) : s.home
}

/** What would do, site by site: where the wine is first, then the others in the order of the cellar's list. */
export function bySite<T extends Standing>(
  cellar: Cellar,
  first: string,
  all: readonly T[],
): readonly (readonly T[])[] {
  if (!cellar.sites?.length) return [all]
  const names = [first, ...[HOME, ...cellar.sites.map((s) => s.name)].filter((name) => name !== first)]
  return names.map((name) => all.filter((one) => siteOf(cellar, one) === name))
}

/** Gives each task of a lot its site and the machines that stand there. */
export function seatedIn(part: Pick<Part, 'holds'>, facts: Facts, home: string): (work: Work) => Task {
  const { cellar } = facts
  if (!cellar.sites?.length) return (work) => work.task
  const names = [HOME, ...cellar.sites.map((s) => s.name)]
  const vessels = new Map(facts.vessels.map((v) => [v.id, v]))
  const holds = new Map(part.holds.map((h) => [h.key, h]))
  const vesselOf = (h: Hold | undefined) => vessels.get(h?.units?.[0] ?? h?.candidates[0] ?? '')
  return ({ task, at, from, to }) => {
    const vessel = vessels.get(at?.[0] ?? '') ?? vesselOf(holds.get(from[0] ?? to[0] ?? ''))
    const site = vessel ? siteOf(cellar, vessel) : home
    const uses = task.uses.map((use) => {
      const there = facts.machines.filter((m) => m.kind === use.pool && siteOf(cellar, m) === site)
      return there.length === 0 ? use : { ...use, units: there.map((m) => m.id) }
    })
    return { ...task, uses, site: names.indexOf(site) }
  }
}
