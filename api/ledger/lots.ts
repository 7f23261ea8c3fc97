/** Lots that part and lots that join: wine, shares and plans go on in the new lots. */

import type { LotNamed } from '../../db/queries/ledger-names.ts'
import { levelsAt } from '../../db/queries/levels.ts'
import { addLots, findLot, type StoredLot, saveLot } from '../../db/queries/lots.ts'
import { listMovements } from '../../db/queries/movements.ts'
import type { Db } from '../../db/types.ts'
import { millilitres } from '../cellar/ledger/movement.ts'
import type { Level } from '../cellar/ledger/page.ts'
import { newId } from '../ids.ts'
import type { MergeBody, SplitBody } from '../ledger-bodies.ts'
import type { LotRefWire } from '../ledger-wire.ts'
import { fieldProblem, problem } from '../problem.ts'
import type { Lot, Parent } from '../protocol/facts.ts'
import type { Temporal } from '../time.ts'
import type { Draft } from './draft.ts'
import { type Drafted, momentOf, quarantined, type Who } from './entry.ts'
import { type Look, lotFor, vesselFor } from './look.ts'

export interface Regrouped extends Drafted {
  readonly lots: readonly Lot[]
  readonly ended: readonly LotNamed[]
  readonly at: Temporal.Instant
}

type Held = Map<string, { ml: number; lotId: string | undefined }>

async function heldAt(db: Db, look: Look, at: Temporal.Instant): Promise<Held> {
  const levels: ReadonlyMap<string, Level> = await levelsAt(db, look.cellarId, at)
  return new Map([...levels].map(([id, l]) => [id, { ml: l.afterMl, lotId: l.afterMl > 0 ? l.afterLotId : undefined }]))
}

/** With its answers and fruit. @throws 404 */
async function wholeLot(db: Db, look: Look, name: string): Promise<StoredLot> {
  const found = await findLot(db, look.cellarId, lotFor(look, name).id)
  if (!found) throw new Error(`the lot ${name} has a name and no row`)
  return found
}

const of = (held: Held, id: string) => held.get(id) ?? { ml: 0, lotId: undefined }

/** @throws a problem where the code is taken */
function freeCode(look: Look, code: string, pointer: string): void {
  if (look.lots.all().some((l) => l.code === code))
    throw problem(409, 'already-there', 'There is a lot with this code already', {
      errors: [{ pointer, detail: `is taken: ${code}` }],
    })
}

/** Children with vessels of the parent as they stand, or with litres moved for them. Nothing is written yet. */
export async function splitOf(db: Db, look: Look, body: SplitBody, who: Who): Promise<Regrouped> {
  const parent = await wholeLot(db, look, body.lot)
  const at = momentOf(body, look, who.nowAt)
  const people = body.people?.length ? body.people : [who.personId]
  const held = await heldAt(db, look, at)
  const parentMl = litresOf(held, parent.id)
  if (parentMl === 0) throw fieldProblem('#/lot', `${parent.code} has no wine in any vessel then, by the ledger`)
  const drafts: Draft[] = []
  const children: Lot[] = []
  const codes = new Set<string>()
  body.children.forEach((c, i) => {
    freeCode(look, c.code, `#/children/${i}/code`)
    if (codes.has(c.code)) throw fieldProblem(`#/children/${i}/code`, 'is named twice')
    codes.add(c.code)
    if (c.vessels.length + c.moves.length === 0)
      throw fieldProblem(`#/children/${i}/vessels`, 'names no wine: give vessels or moves')
    const id = newId(who.nowAt.epochMilliseconds)
    const common = { at, people, cause: 'split', ...(body.reason ? { reason: body.reason } : {}) }
    let ml = 0
    const vessels = new Set<string>()
    c.vessels.forEach((name, k) => {
      const v = vesselFor(look, name)
      const there = of(held, v.id)
      if (there.lotId !== parent.id)
        throw fieldProblem(`#/children/${i}/vessels/${k}`, `${v.code} does not hold ${parent.code} then`)
      drafts.push({
        ...common,
        from: { vesselId: v.id, lotId: parent.id },
        to: { vesselId: v.id, lotId: id },
        volumeMl: there.ml,
      })
      held.set(v.id, { ml: there.ml, lotId: id })
      vessels.add(v.id)
      ml += there.ml
    })
    c.moves.forEach((m, k) => {
      const from = vesselFor(look, m.from)
      const to = vesselFor(look, m.to)
      const pointer = `#/children/${i}/moves/${k}`
      const there = of(held, from.id)
      const target = of(held, to.id)
      if (there.lotId !== parent.id)
        throw fieldProblem(`${pointer}/from`, `${from.code} does not hold ${parent.code} then`)
      if (target.ml > 0 && target.lotId !== id) throw fieldProblem(`${pointer}/to`, `${to.code} is not empty then`)
      const volumeMl = m.volumeL === undefined ? there.ml : millilitres(m.volumeL)
      drafts.push({
        ...common,
        from: { vesselId: from.id, lotId: parent.id },
        to: { vesselId: to.id, lotId: id },
        volumeMl,
      })
      held.set(from.id, { ml: there.ml - volumeMl, lotId: there.ml > volumeMl ? parent.id : undefined })
      held.set(to.id, { ml: target.ml + volumeMl, lotId: id })
      vessels.add(to.id)
      ml += volumeMl
    })
    const scale = ml / parentMl
    children.push(
      childOf(parent, {
        id,
        code: c.code,
        name: c.name,
        choices: c.choices ?? parent.choices,
        vessels: [...vessels],
        parents: [{ lotId: parent.id, share: 1, at: at.toString(), scale }],
        scale,
      }),
    )
  })
  const isAll = litresOf(held, parent.id) <= 0
  return { drafts, warnings: [], lots: children, ended: isAll ? [lotFor(look, parent.id)] : [], at }
}

/** A new lot of several: litres moved together, and vessels whose wine is part of it where it lies. */
export async function mergeOf(db: Db, look: Look, body: MergeBody, who: Who): Promise<Regrouped> {
  const at = momentOf(body, look, who.nowAt)
  const people = body.people?.length ? body.people : [who.personId]
  freeCode(look, body.code, '#/code')
  if (body.vessels.length + body.moves.length === 0)
    throw fieldProblem('#/moves', 'names no wine: give moves or vessels')
  const held = await heldAt(db, look, at)
  const before = new Map([...held].map(([k, v]) => [k, { ...v }]))
  const id = newId(who.nowAt.epochMilliseconds)
  const common = { at, people, cause: 'blend', ...(body.reason ? { reason: body.reason } : {}) }
  const fromMl = new Map<string, number>()
  const drafts: Draft[] = []
  const vessels = new Set<string>()
  const take = (lotId: string, ml: number) => {
    const barred = look.quarantined.get(lotId)
    if (barred) throw quarantined(look, lotId, barred.reason)
    fromMl.set(lotId, (fromMl.get(lotId) ?? 0) + ml)
  }
  const rename = (vesselId: string) => {
    const there = of(held, vesselId)
    if (there.lotId === undefined || there.lotId === id) return
    take(there.lotId, there.ml)
    drafts.push({ ...common, from: { vesselId, lotId: there.lotId }, to: { vesselId, lotId: id }, volumeMl: there.ml })
    held.set(vesselId, { ml: there.ml, lotId: id })
    vessels.add(vesselId)
  }
  body.vessels.forEach((name, i) => {
    const v = vesselFor(look, name)
    if (of(held, v.id).lotId === undefined) throw fieldProblem(`#/vessels/${i}`, `${v.code} is empty then`)
    rename(v.id)
  })
  body.moves.forEach((m, i) => {
    const from = vesselFor(look, m.from)
    const to = vesselFor(look, m.to)
    const there = of(held, from.id)
    if (from.id === to.id) throw fieldProblem(`#/moves/${i}/to`, 'is where it came from')
    if (there.lotId === undefined) throw fieldProblem(`#/moves/${i}/from`, `${from.code} is empty then`)
    // What lies in the target becomes part of the blend before the rest comes to it.
    rename(to.id)
    const lossMl = millilitres(m.lossL)
    const volumeMl = m.volumeL === undefined ? there.ml - lossMl : millilitres(m.volumeL)
    if (volumeMl <= 0) throw fieldProblem(`#/moves/${i}/lossL`, `is as much as ${from.code} holds`)
    if (there.lotId !== id) take(there.lotId, volumeMl)
    drafts.push({
      ...common,
      from: { vesselId: from.id, lotId: there.lotId },
      to: { vesselId: to.id, lotId: id },
      volumeMl,
    })
    if (lossMl > 0)
      drafts.push({
        ...common,
        from: { vesselId: from.id, lotId: there.lotId },
        to: { outside: 'loss' },
        volumeMl: lossMl,
        cause: 'pump and hose',
      })
    const leftMl = there.ml - volumeMl - lossMl
    held.set(from.id, { ml: leftMl, lotId: leftMl > 0 ? there.lotId : undefined })
    held.set(to.id, { ml: of(held, to.id).ml + volumeMl, lotId: id })
    vessels.add(to.id)
  })
  const totalMl = [...fromMl.values()].reduce((a, b) => a + b, 0)
  const ranked = [...fromMl].sort((a, b) => b[1] - a[1]).map(([lotId]) => lotId)
  const planFrom = body.planFrom === undefined ? ranked[0] : lotFor(look, body.planFrom).id
  if (planFrom === undefined || !fromMl.has(planFrom))
    throw fieldProblem('#/planFrom', 'must be one of the lots that are blended')
  const order = [planFrom, ...ranked.filter((l) => l !== planFrom)]
  const parents = order.map((lotId): Parent => {
    const all = litresOf(before, lotId)
    const share = (fromMl.get(lotId) ?? 0) / totalMl
    return { lotId, share, at: at.toString(), ...(lotId === planFrom ? { scale: all > 0 ? totalMl / all : 1 } : {}) }
  })
  const first = await wholeLot(db, look, planFrom)
  const lots = order.map((l) => lotFor(look, l))
  const same = (values: readonly string[]) =>
    new Set(values).size === 1 ? (values[0] ?? '') : [...new Set(values)].join(' / ').slice(0, 80)
  const lot: Lot = {
    ...childOf(first, {
      id,
      code: body.code,
      name: body.name,
      choices: body.choices ?? first.choices,
      vessels: [...vessels],
      parents,
      scale: 1,
    }),
    variety: same(lots.map((l) => l.variety)),
    block: same(lots.map((l) => l.block)),
    place: same(lots.map((l) => l.place)),
  }
  const ended = lots.filter((l) => litresOf(held, l.id) <= 0)
  return { drafts, warnings: [], lots: [lot], ended, at }
}

const litresOf = (held: Held, lotId: string): number =>
  [...held.values()].reduce((ml, h) => ml + (h.lotId === lotId ? h.ml : 0), 0)

function childOf(
  parent: Lot,
  own: {
    readonly id: string
    readonly code: string
    readonly name: string
    readonly choices: Lot['choices']
    readonly vessels: readonly string[]
    readonly parents: readonly Parent[]
    readonly scale: number
  },
): Lot {
  const { endedAt: _, ...rest } = parent
  return {
    ...rest,
    id: own.id,
    code: own.code,
    name: own.name,
    choices: own.choices,
    choicesVersion: 1,
    signed: parent.signed,
    parents: own.parents,
    fruit: { ...parent.fruit, tonnes: Math.max(0.01, Math.round(parent.fruit.tonnes * own.scale * 1000) / 1000) },
    vesselPins: { ferment: own.vessels, store: own.vessels },
  }
}

/** Stores the new lots and ends those whose wine went on in them. Call before the movements are written. */
export async function storeRegrouped(db: Db, look: Look, made: Regrouped, who: Who): Promise<void> {
  await addLots(db, look.cellarId, made.lots, { personId: who.personId, at: who.nowAt })
  for (const lot of made.ended) {
    const stored = await findLot(db, look.cellarId, lot.id)
    if (!stored) continue
    const saved = await saveLot(db, look.cellarId, { ...stored, endedAt: made.at }, stored.version)
    if (!saved.ok) throw problem(409, 'stale', `${lot.code} was changed meanwhile. Look again`)
  }
}

/** Lots that an operation made before, for an answer to a resent request. */
export async function madeBefore(db: Db, look: Look, opId: string): Promise<readonly LotRefWire[] | undefined> {
  const rows = await listMovements(db, look.cellarId, { opId })
  if (rows.length === 0) return undefined
  return [
    ...new Set(rows.flatMap((r) => (r.toLotId === null || r.toLotId === r.fromLotId ? [] : [r.toLotId]))),
  ].flatMap((id) => {
    const lot = look.lots.get(id)
    return lot ? [{ id, code: lot.code, name: lot.name }] : []
  })
}
