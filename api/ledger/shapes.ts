/** Rows of the ledger as they travel. */
import type { AdditionRow } from '../../db/queries/dosed.ts'
import { type Ends, listEnds } from '../../db/queries/levels.ts'
import type { MovementRow, ReceiptRow } from '../../db/queries/movements.ts'
import type { Db } from '../../db/types.ts'
import { KMBS_SO2_SHARE } from '../cellar/addition.ts'
import { type ATTRIBUTES, CLAIM_SHARES, mayStillBlendL } from '../cellar/ledger/composition.ts'
import type { Level } from '../cellar/ledger/page.ts'
import { toleranceShare } from '../cellar/ledger/tolerance.ts'
import type {
  AddedWire,
  AdditionToldWire,
  ClaimWire,
  CompositionWire,
  ContentWire,
  MovementEndWire,
  MovementWire,
  SourceWire,
} from '../ledger-wire.ts'
import { isoOf } from '../time.ts'
import { type Look, lotRef, readNames, vesselRef } from './look.ts'

/** Millilitres as litres: a whole number divided by 1,000 is the nearest there is. */
export const inL = (ml: number): number => ml / 1000

/** Computed litres, which are no whole millilitres: to the tenth of one. */
export const roundL = (ml: number): number => Math.round(ml * 10) / 10_000

const LATE_MS = 24 * 3_600_000

export async function movementsToWire(db: Db, look: Look, rows: readonly MovementRow[]): Promise<MovementWire[]> {
  await readNames(db, look, {
    vessels: rows.flatMap((r) => [r.fromVesselId, r.toVesselId]),
    lots: rows.flatMap((r) => [r.fromLotId, r.toLotId]),
  })
  const ends = await listEnds(db, look.cellarId, rows)
  return rows.map((r) => movementToWire(look, r, ends.get(r.id)))
}

function movementToWire(look: Look, r: MovementRow, ends: Ends | undefined): MovementWire {
  const end = (
    kind: MovementRow['fromKind'],
    [vesselId, lotId]: readonly [string | null, string | null],
    [beforeMl, afterMl]: readonly [number | null | undefined, number | null | undefined],
  ): MovementEndWire => ({
    kind,
    ...(vesselId === null ? {} : { vessel: vesselRef(look, vesselId) }),
    ...(lotId === null ? {} : { lot: lotRef(look, lotId) }),
    ...(typeof beforeMl === 'number' && typeof afterMl === 'number'
      ? { beforeL: inL(beforeMl), afterL: inL(afterMl) }
      : {}),
  })
  const kind = r.toVesselId === null ? undefined : look.vessels.get(r.toVesselId)?.kind
  const share = toleranceShare([kind])
  return {
    id: r.id,
    entry: r.entry,
    at: isoOf(r.at.epochMilliseconds),
    writtenAt: isoOf(r.writtenAt.epochMilliseconds),
    late: r.writtenAt.epochMilliseconds - r.at.epochMilliseconds > LATE_MS,
    from: end(r.fromKind, [r.fromVesselId, r.fromLotId], [ends?.fromBeforeMl, ends?.fromAfterMl]),
    to: end(r.toKind, [r.toVesselId, r.toLotId], [ends?.toBeforeMl, ends?.toAfterMl]),
    volumeL: inL(r.volumeMl),
    ...(r.plannedMl === null
      ? {}
      : {
          plannedL: inL(r.plannedMl),
          withinTolerance: Math.abs(r.volumeMl - r.plannedMl) <= r.plannedMl * share,
        }),
    ...(r.measuredBeforeMl === null ? {} : { measuredBeforeL: inL(r.measuredBeforeMl) }),
    ...(r.measuredAfterMl === null ? {} : { measuredAfterL: inL(r.measuredAfterMl) }),
    cause: r.cause,
    people: r.people.map((id) => ({ id, name: look.person(id) })),
    ...(r.taskKey === null ? {} : { taskKey: r.taskKey }),
    opId: r.opId,
    ...(r.receiptId === null ? {} : { receiptId: r.receiptId }),
    ...(r.reversesId === null ? {} : { reversesId: r.reversesId }),
    ...(ends?.reversedById ? { reversedById: ends.reversedById } : {}),
    ...(r.reason === null ? {} : { reason: r.reason }),
  }
}

export function contentToWire(look: Look, vesselId: string, level: Level | undefined): ContentWire {
  const v = look.vessels.get(vesselId)
  const isFull = level !== undefined && level.afterMl > 0
  const lotId = isFull ? level.afterLotId : undefined
  return {
    vessel: vesselRef(look, vesselId),
    state: isFull ? 'full' : v?.state === 'full' ? 'dirty' : (v?.state ?? 'clean'),
    lot: lotId === undefined ? null : lotRef(look, lotId),
    volumeL: isFull ? inL(level.afterMl) : 0,
    ...(isFull ? { sinceAt: isoOf(level.sinceMs) } : {}),
    quarantined: lotId !== undefined && look.quarantined.has(lotId),
  }
}

const UNKNOWN: Omit<ReceiptRow, 'id'> = {
  kind: 'opening',
  lotId: '',
  variety: 'unknown',
  vintage: 'unknown',
  block: 'unknown',
  origin: 'unknown',
}

/** Every parcel with its share, largest first. */
export function sourcesToWire(
  look: Look,
  sourcesMl: ReadonlyMap<string, number>,
  receipts: ReadonlyMap<string, ReceiptRow>,
): SourceWire[] {
  const total = sum(sourcesMl.values())
  return [...sourcesMl]
    .filter(([, ml]) => ml > 0)
    .sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1))
    .map(([id, ml]) => {
      const r = receipts.get(id)
      const { kind, lotId, variety, vintage, block, origin } = r ?? UNKNOWN
      return {
        receiptId: id,
        kind: r ? kind : 'unknown',
        ...(r ? { lot: lotRef(look, lotId) } : {}),
        variety,
        vintage,
        block,
        origin,
        share: total > 0 ? ml / total : 0,
        volumeL: roundL(ml),
      }
    })
}

export function compositionToWire(
  sourcesMl: ReadonlyMap<string, number>,
  receipts: ReadonlyMap<string, ReceiptRow>,
): CompositionWire {
  const total = sum(sourcesMl.values())
  const by = (attribute: (typeof ATTRIBUTES)[number]) => {
    const parts = new Map<string, number>()
    for (const [id, ml] of sourcesMl) {
      const value = receipts.get(id)?.[attribute] || 'unknown'
      parts.set(value, (parts.get(value) ?? 0) + ml)
    }
    return [...parts]
      .filter(([, ml]) => ml > 0)
      .sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1))
      .map(([value, ml]) => ({ value, share: ml / total, volumeL: roundL(ml) }))
  }
  return { variety: by('variety'), vintage: by('vintage'), block: by('block'), origin: by('origin') }
}

/** The sources of the rules, as far as they are known. */
const RULES: Readonly<Record<string, string>> = {
  0.85: 'Australian rule for variety, vintage and region (Triggs, National Liquor News, April 2019). Check your own rules',
}
const FROM_MEMORY = 'From memory, not looked up. Check your own rules'

/** For the first variety, vintage and origin: what may still be blended in under each least share. */
export function claimsOf(composition: CompositionWire, volumeL: number): ClaimWire[] {
  return (['variety', 'vintage', 'origin'] as const).flatMap((attribute) => {
    const first = composition[attribute][0]
    if (!first || first.value === 'unknown') return []
    return [
      {
        attribute,
        value: first.value,
        share: first.share,
        limits: CLAIM_SHARES.map((limit) => ({
          limit,
          holds: first.share >= limit - 1e-9,
          mayBlendL: Math.floor(mayStillBlendL(volumeL, Math.min(1, first.share), limit) * 1000) / 1000,
          source: RULES[limit] ?? FROM_MEMORY,
        })),
      },
    ]
  })
}

/** Amounts by product, diluted by every blend. */
export function addedToWire(added: ReadonlyMap<string, number>, volumeMl: number): AddedWire[] {
  return [...added]
    .filter(([, amount]) => amount > 1e-9)
    .sort((a, b) => (a[0] < b[0] ? -1 : 1))
    .map(([key, amount]) => {
      const [unit = 'g', ...name] = key.split(':')
      return {
        product: name.join(':'),
        amountG: round(amount, 6),
        perL: volumeMl > 0 ? round((amount * 1_000_000) / volumeMl, 4) : 0,
        unit: unit === 'mL' ? ('uL/L' as const) : ('mg/L' as const),
      }
    })
}

const SULPHITE = /sul(ph|f)it|sul(ph|f)ur dioxide|\bso2\b|\bkms\b|bisul/i

/** All SO2 put in, as far as weighed products tell; a solution's strength is not known. */
export function so2Of(added: readonly AddedWire[]): { readonly addedMgPerL: number; readonly words: string } {
  const sulphites = added.filter((a) => SULPHITE.test(a.product))
  const weighed = sulphites.filter((a) => a.unit === 'mg/L')
  const poured = sulphites.filter((a) => a.unit === 'uL/L')
  const addedMgPerL = round(
    weighed.reduce((mg, a) => mg + a.perL * (/dioxide|^so2$/i.test(a.product) ? 1 : KMBS_SO2_SHARE), 0),
    2,
  )
  const words = [
    weighed.length > 0
      ? `${weighed.map((a) => a.product).join(', ')} counted at ${KMBS_SO2_SHARE} g SO2 a gram (potassium metabisulphite by formula)`
      : 'no sulphite was written down',
    ...(poured.length > 0
      ? [`${poured.map((a) => a.product).join(', ')} by volume not counted: its strength is not known`]
      : []),
  ].join('; ')
  return { addedMgPerL, words }
}

export const additionToWire = (look: Look, a: AdditionRow & { readonly stands: boolean }): AdditionToldWire => ({
  id: a.id,
  lot: lotRef(look, a.lotId),
  ...(a.vesselId === null ? {} : { vesselCode: look.vessel(a.vesselId) }),
  product: a.product,
  amount: a.amount,
  unit: a.unit,
  ...(a.batchNo === null ? {} : { batchNo: a.batchNo }),
  treatedL: a.treatedL,
  addedAt: a.addedAt.toString(),
  person: look.person(a.personId),
  ...(a.taskKey === null ? {} : { taskKey: a.taskKey }),
  reversed: !a.stands,
})

const sum = (values: Iterable<number>): number => [...values].reduce((a, b) => a + b, 0)
const round = (value: number, digits: number): number => Number(value.toFixed(digits))
