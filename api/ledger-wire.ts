/** What the ledger answers, as JSON. Litres are whole millilitres divided by 1,000; shares are 0 to 1. */
import { z } from '@hono/zod-openapi'
import { OUTSIDES } from './cellar/ledger/movement.ts'
import { READING_KINDS, VESSEL_KINDS, VESSEL_STATES } from './protocol/facts.ts'
import { day, moment } from './wire.ts'

const litres = z.number().openapi({ description: 'Litres, to the millilitre', example: 5790 })
const share = z.number().openapi({ description: 'Share, 0 to 1', example: 0.875 })

export const lotRef = z.object({ id: z.string(), code: z.string(), name: z.string() }).openapi('LotRef')
export const vesselRef = z
  .object({ id: z.string(), code: z.string(), kind: z.enum(VESSEL_KINDS), capacityL: litres })
  .openapi('VesselRef')

/** One end of a movement: a vessel with the lot in it there, or what is no vessel. */
export const endWire = z
  .object({
    kind: z.enum(['vessel', ...OUTSIDES]),
    vessel: vesselRef.optional(),
    lot: lotRef.optional(),
    /** In the vessel by the ledger, before and after. */
    beforeL: litres.optional(),
    afterL: litres.optional(),
  })
  .openapi('MovementEnd')

export const movementWire = z
  .object({
    id: z.string(),
    entry: z.number().int().openapi({ description: 'Order of writing' }),
    at: moment,
    writtenAt: moment,
    late: z.boolean().openapi({ description: 'Written more than a day after it happened' }),
    from: endWire,
    to: endWire,
    volumeL: litres,
    plannedL: litres.optional(),
    /** Measured against planned, where a task planned it. */
    withinTolerance: z.boolean().optional(),
    measuredBeforeL: litres.optional().openapi({ description: 'Dipped in the source before' }),
    measuredAfterL: litres.optional().openapi({ description: 'Dipped in the target after' }),
    cause: z.string(),
    people: z.array(z.object({ id: z.string(), name: z.string() })),
    taskKey: z.string().optional(),
    opId: z.string().openapi({ description: 'Movements told in one go share it' }),
    receiptId: z.string().optional(),
    reversesId: z.string().optional(),
    reversedById: z.string().optional(),
    reason: z.string().optional(),
  })
  .openapi('Movement')

/** A share of a whole by some value: `{ value: 'Chardonnay', share: 0.75, volumeL: 3000 }`. */
export const partWire = z.object({ value: z.string(), share, volumeL: litres }).openapi('Part')

export const compositionWire = z
  .object({
    variety: z.array(partWire),
    vintage: z.array(partWire),
    block: z.array(partWire),
    origin: z.array(partWire),
  })
  .openapi('Composition')

/** The fruit or wine that came through the door, and how much of it is in here. */
export const sourceWire = z
  .object({
    receiptId: z.string(),
    kind: z.enum(['fruit', 'bought', 'opening', 'unknown']),
    lot: lotRef.optional(),
    variety: z.string(),
    vintage: z.string(),
    block: z.string(),
    origin: z.string(),
    share,
    volumeL: litres,
  })
  .openapi('Source')

export const addedWire = z
  .object({
    product: z.string(),
    amountG: z.number().openapi({ description: 'Grams of it that are in here, diluted by every blend' }),
    perL: z.number().openapi({ description: 'mg/L for products in grams, uL/L for those told by volume' }),
    unit: z.enum(['mg/L', 'uL/L']),
  })
  .openapi('Added')

export const so2Wire = z
  .object({
    addedMgPerL: z.number().openapi({ description: 'All SO2 put in so far, mg/L, diluted by every blend' }),
    words: z.string().openapi({ description: 'Which products were counted at which share of SO2' }),
    measuredTotalMgPerL: z.number().optional(),
    measuredAt: moment.optional(),
  })
  .openapi('So2Told')

/** How much other wine a label claim lets in. */
export const claimWire = z
  .object({
    attribute: z.enum(['variety', 'vintage', 'origin']),
    value: z.string(),
    share,
    limits: z.array(z.object({ limit: share, holds: z.boolean(), mayBlendL: litres, source: z.string() })),
  })
  .openapi('Claim')

export const quarantineWire = z
  .object({ id: z.string(), since: moment, reason: z.string(), person: z.string() })
  .openapi('Quarantine')

/** What is in a vessel. */
export const contentWire = z
  .object({
    vessel: vesselRef,
    state: z.enum(VESSEL_STATES),
    lot: lotRef.nullable(),
    volumeL: litres,
    sinceAt: moment.optional().openapi({ description: 'Not empty since' }),
    quarantined: z.boolean(),
  })
  .openapi('Content')

export const stockWire = z
  .object({
    at: moment,
    contents: z.array(contentWire),
    lots: z.array(z.object({ lot: lotRef, volumeL: litres, vessels: z.number().int(), quarantined: z.boolean() })),
    totalL: litres,
  })
  .openapi('Stock')

export const holdingWire = z
  .object({ vessel: vesselRef, lot: lotRef, fromAt: moment, toAt: moment.optional(), mostL: litres })
  .openapi('Holding')

export const readingToldWire = z
  .object({
    id: z.string(),
    lot: lotRef,
    vesselCode: z.string().optional(),
    kind: z.enum(READING_KINDS),
    value: z.number(),
    takenAt: moment,
    share: share.optional().openapi({ description: 'Of the wine asked about, the share that came through that lot' }),
  })
  .openapi('ReadingTold')

export const additionToldWire = z
  .object({
    id: z.string(),
    lot: lotRef,
    vesselCode: z.string().optional(),
    product: z.string(),
    amount: z.number(),
    unit: z.enum(['g', 'kg', 'mL', 'L']),
    batchNo: z.string().optional(),
    treatedL: litres,
    addedAt: moment,
    person: z.string(),
    taskKey: z.string().optional(),
    reversed: z.boolean(),
  })
  .openapi('AdditionTold')

/** What is in this vessel and how did it get there. */
export const vesselLedgerWire = z
  .object({
    at: moment,
    content: contentWire,
    composition: compositionWire,
    sources: z.array(sourceWire),
    added: z.array(addedWire),
    so2: so2Wire,
    claims: z.array(claimWire),
    quarantine: quarantineWire.nullable(),
    /** Movements in and out since it was last empty, newest first; at most 200. */
    movements: z.array(movementWire),
    movementsLeftOff: z.number().int(),
    /** Lots it has held, newest first. */
    held: z.array(holdingWire),
    readings: z.array(readingToldWire),
    /** Work that stands to be done about its state. */
    stateNote: z.string().optional(),
  })
  .openapi('VesselLedger')

/** Where a lot is, what it is made of, what was done to it. */
export const lotLedgerWire = z
  .object({
    at: moment,
    lot: lotRef,
    endedAt: moment.optional(),
    volumeL: litres,
    where: z.array(contentWire),
    composition: compositionWire,
    sources: z.array(sourceWire),
    added: z.array(addedWire),
    so2: so2Wire,
    claims: z.array(claimWire),
    quarantine: quarantineWire.nullable(),
    parents: z.array(z.object({ lot: lotRef, share, volumeL: litres, at: moment })),
    children: z.array(z.object({ lot: lotRef, share, volumeL: litres, at: moment })),
    oak: z.array(
      z.object({
        vessel: vesselRef,
        fills: z.number().int().optional(),
        fromAt: moment,
        toAt: moment.optional(),
        mostL: litres,
        viaLot: lotRef,
      }),
    ),
    readings: z.array(readingToldWire),
    additions: z.array(additionToldWire),
    movements: z.array(movementWire),
    movementsLeftOff: z.number().int(),
  })
  .openapi('LotLedger')

export const traceNodeWire = z
  .object({
    id: z.string(),
    kind: z.enum(['lot', 'receipt', 'outside']),
    label: z.string(),
    lot: lotRef.optional(),
    /** Steps from the wine asked about: 0 itself. */
    rank: z.number().int(),
    /** Back: litres of the wine asked about that came through here. Forward: litres of it that went through here. */
    volumeL: litres,
    share,
    vessels: z.array(z.string()).openapi({ description: 'Vessel codes it went through' }),
    quarantined: z.boolean(),
  })
  .openapi('TraceNode')

export const traceEdgeWire = z
  .object({
    from: z.string(),
    to: z.string(),
    volumeL: litres.openapi({ description: 'Litres of the wine asked about that went along here' }),
    movedL: litres.openapi({ description: 'All litres that went along here' }),
    share,
    firstAt: moment,
    lastAt: moment,
    movements: z.number().int(),
    causes: z.array(z.string()),
    vessels: z.array(z.object({ from: z.string().nullable(), to: z.string().nullable() })),
  })
  .openapi('TraceEdge')

export const traceWire = z
  .object({
    at: moment,
    direction: z.enum(['back', 'forward']),
    root: z.string(),
    totalL: litres,
    nodes: z.array(traceNodeWire),
    edges: z.array(traceEdgeWire),
    sources: z.array(sourceWire).openapi({ description: 'Back only: every parcel with its share; they add up to 1' }),
    /** Forward only: vessels that hold some of it now. */
    reached: z.array(z.object({ content: contentWire, share, volumeL: litres })),
    cut: z.boolean().openapi({ description: 'The graph was too large and is not whole' }),
  })
  .openapi('Trace')

export const movementsWire = z
  .object({
    movements: z.array(movementWire),
    next: z.string().nullable().openapi({ description: 'Send as `before` for the next page' }),
  })
  .openapi('Movements')

/** What an entry did, or would do. */
export const enteredWire = z
  .object({
    written: z.boolean().openapi({ description: 'False for a preview' }),
    movements: z.array(movementWire),
    /** The vessels touched, as they are after it. */
    contents: z.array(
      z.object({
        content: contentWire,
        composition: compositionWire,
        before: compositionWire.nullable(),
      }),
    ),
    warnings: z.array(z.string()),
  })
  .openapi('Entered')

export const lotsEnteredWire = enteredWire
  .extend({
    lots: z.array(lotRef),
    ended: z.array(lotRef),
    tasksCancelled: z.number().int(),
    tasksNew: z.number().int(),
  })
  .openapi('LotsEntered')

export const registerColumn = z.object({
  key: z.string(),
  title: z.string(),
  kind: z.enum(['text', 'moment', 'volume', 'number', 'share']),
})

export const registerWire = z
  .object({
    name: z.string(),
    title: z.string(),
    fromOn: day,
    toOn: day,
    unit: z.enum(['L', 'gal']),
    unitNote: z.string(),
    columns: z.array(registerColumn),
    rows: z.array(z.record(z.string(), z.union([z.string(), z.number(), z.null()]))),
    totals: z.record(z.string(), z.number()),
    closes: z.boolean().optional().openapi({ description: 'Volume balance only: opening + in = out + closing' }),
    leftOff: z.number().int(),
  })
  .openapi('Register')

export const lossesWire = z
  .object({
    months: z.array(z.string()).openapi({ description: 'YYYY-MM in the cellar' }),
    causes: z.array(z.object({ cause: z.string(), byMonthL: z.array(litres), totalL: litres })),
    totalL: litres,
    /** Of all that came in during the period and was there before it. */
    share,
  })
  .openapi('Losses')

const yieldShape = {
  tonnes: z.number(),
  pressedL: litres,
  pressedLPerT: z.number(),
  clearL: litres.nullable().openapi({ description: 'Racked off juice lees, where that was written down' }),
  clearLPerT: z.number().nullable(),
}

export const yieldsWire = z
  .object({
    rows: z.array(
      z.object({
        block: z.string(),
        vintage: z.string(),
        variety: z.string(),
        lots: z.array(lotRef.extend(yieldShape)),
        ...yieldShape,
      }),
    ),
  })
  .openapi('Yields')

export const countLineWire = z
  .object({
    vessel: vesselRef,
    lot: lotRef.nullable(),
    bookL: litres,
    countedL: litres,
    differenceL: litres.openapi({ description: 'Counted minus book' }),
    toleranceL: litres,
    withinTolerance: z.boolean(),
    /** What has to be told before it can be written: cause and reason. */
    needsReason: z.boolean(),
    movementId: z.string().optional(),
    cause: z.string().optional(),
    reason: z.string().optional(),
  })
  .openapi('CountLine')

export const countWire = z
  .object({
    id: z.string().optional(),
    at: moment,
    person: z.string().optional(),
    written: z.boolean(),
    lines: z.array(countLineWire),
    differenceL: litres,
  })
  .openapi('Count')

export const countsWire = z.object({ counts: z.array(countWire) }).openapi('Counts')

export const openingWire = z
  .object({
    written: z.boolean(),
    good: z.number().int(),
    bad: z.number().int(),
    errors: z.array(z.string()),
    columns: z.array(z.string()),
    rows: z.array(
      z.object({
        row: z.number().int().openapi({ description: 'Row of the file; the header is row 1' }),
        vessel: z.string().optional(),
        lot: z.string().optional(),
        newLot: z.boolean(),
        volumeL: litres.optional(),
        errors: z.array(z.object({ column: z.string(), detail: z.string() })),
      }),
    ),
    totalL: litres,
  })
  .openapi('OpeningStock')

const faultFields = {
  rule: z.enum([
    'below-zero',
    'above-limit',
    'balance',
    'shares',
    'addition',
    'stored-state',
    'levels',
    'entry',
    'dip',
    'cause',
  ]),
  words: z.string(),
  movementId: z.string().optional(),
  vesselCode: z.string().optional(),
}

export const checkWire = z
  .object({
    at: moment,
    ok: z.boolean(),
    movements: z.number().int(),
    tookMs: z.number(),
    faults: z.array(z.object(faultFields)).openapi({ description: 'What is wrong' }),
    accepted: z
      .array(z.object({ ...faultFields, accepted: z.object({ movementId: z.string(), words: z.string() }) }))
      .openapi({ description: 'What would be wrong, had nobody written the difference down with its reason' }),
  })
  .openapi('LedgerCheck')

export const checksWire = z.object({ checks: z.array(checkWire) }).openapi('LedgerChecks')

export type LotRefWire = z.infer<typeof lotRef>
export type VesselRefWire = z.infer<typeof vesselRef>
export type MovementEndWire = z.infer<typeof endWire>
export type MovementWire = z.infer<typeof movementWire>
export type MovementsWire = z.infer<typeof movementsWire>
export type PartWire = z.infer<typeof partWire>
export type CompositionWire = z.infer<typeof compositionWire>
export type SourceWire = z.infer<typeof sourceWire>
export type AddedWire = z.infer<typeof addedWire>
export type So2Wire = z.infer<typeof so2Wire>
export type ClaimWire = z.infer<typeof claimWire>
export type QuarantineWire = z.infer<typeof quarantineWire>
export type ContentWire = z.infer<typeof contentWire>
export type StockWire = z.infer<typeof stockWire>
export type HoldingWire = z.infer<typeof holdingWire>
export type ReadingToldWire = z.infer<typeof readingToldWire>
export type AdditionToldWire = z.infer<typeof additionToldWire>
export type VesselLedgerWire = z.infer<typeof vesselLedgerWire>
export type LotLedgerWire = z.infer<typeof lotLedgerWire>
export type TraceNodeWire = z.infer<typeof traceNodeWire>
export type TraceEdgeWire = z.infer<typeof traceEdgeWire>
export type TraceWire = z.infer<typeof traceWire>
export type EnteredWire = z.infer<typeof enteredWire>
export type LotsEnteredWire = z.infer<typeof lotsEnteredWire>
export type RegisterWire = z.infer<typeof registerWire>
export type LossesWire = z.infer<typeof lossesWire>
export type YieldsWire = z.infer<typeof yieldsWire>
export type CountLineWire = z.infer<typeof countLineWire>
export type CountWire = z.infer<typeof countWire>
export type CountsWire = z.infer<typeof countsWire>
export type OpeningWire = z.infer<typeof openingWire>
export type CheckWire = z.infer<typeof checkWire>
export type ChecksWire = z.infer<typeof checksWire>
