/** The shapes that travel as JSON: one schema each, which is the type, the check and the OpenAPI document. Moments are ISO 8601 with Z. */
import { z } from '@hono/zod-openapi'
import { choices } from './protocol/choices.ts'
import { MACHINE_KINDS, READING_KINDS, ROLES, VESSEL_KINDS, VESSEL_STATES } from './protocol/facts.ts'
import { FAMILIES, PHASE_KINDS, TASK_STATES } from './protocol/types.ts'

export const moment = z.iso.datetime().openapi({ description: 'A moment, UTC', example: '2027-03-22T05:00:00Z' })
export const day = z.iso.date().openapi({ description: 'A day in the cellar', example: '2027-03-22' })

export const doseWire = z.object({
  product: z.string(),
  amount: z.number(),
  unit: z.enum(['g', 'kg', 'mL', 'L']),
  volumeL: z.number(),
  arithmetic: z.string(),
  basis: z.string(),
})

export const brokenWire = z.object({
  rule: z.string(),
  strength: z.enum(['hard', 'soft']),
  taskKeys: z.array(z.string()),
  words: z.string(),
})

export const taskWire = z
  .object({
    key: z.string(),
    lotId: z.string().nullable(),
    lotCode: z.string(),
    lotName: z.string(),
    step: z.string(),
    family: z.enum(FAMILIES),
    name: z.string(),
    detail: z.string(),
    startAt: moment,
    endAt: moment,
    grain: z.enum(['day', 'minute']).openapi({
      description: 'day: of its start only the day is meant, hour and hands are named nearer to it',
    }),
    crewMin: z.number(),
    people: z.array(z.string()).openapi({ description: 'Person ids' }),
    crew: z.number(),
    streams: z.literal(true).optional().openapi({ description: 'Done by the crew of other work, as one stream' }),
    site: z.string().optional().openapi({ description: 'Site where it is done; absent: the cellar itself' }),
    fromVessels: z.array(z.string()).openapi({ description: 'Vessel codes' }),
    toVessels: z.array(z.string()),
    machines: z.array(z.string()).openapi({ description: 'Machine codes' }),
    volumeL: z.number().optional().openapi({ description: 'Litres it moves or treats, as planned' }),
    state: z.enum(TASK_STATES),
    late: z.boolean(),
    earliestAt: moment,
    latestAt: moment,
    slackMin: z.number(),
    forecast: z.boolean(),
    spread: z.object({ earliestAt: moment, latestAt: moment }).optional(),
    pinned: z.boolean(),
    doses: z.array(doseWire),
    records: z.array(z.enum(READING_KINDS)),
    caution: z.string(),
    materials: z.array(z.string()),
    why: z.string(),
    whyNotLater: z.string(),
    prev: z.array(z.string()),
    next: z.array(z.string()),
    waits: z
      .array(
        z.object({
          key: z.string(),
          from: z.enum(['start', 'end']),
          minMin: z.number(),
          maxMin: z.number().optional(),
          soft: z.literal(true).optional(),
        }),
      )
      .optional()
      .openapi({
        description:
          'Its links: minutes it may start after an edge of the task before. Absent on plans stored before links told it',
      }),
    conflicts: z.array(z.string()),
    broken: z.array(brokenWire),
    cancelReason: z.string().optional(),
    doneAt: moment.optional(),
    donePeople: z.array(z.string()).optional(),
    skipReason: z.string().optional(),
    taken: z
      .object({ personId: z.string(), at: moment })
      .optional()
      .openapi({ description: 'Who began it, while it is under way' }),
    told: z
      .string()
      .optional()
      .openapi({ description: 'What stands told of it last, other than words: what a person who acts now has seen' }),
    cautionRead: z
      .object({ personId: z.string(), at: moment })
      .optional()
      .openapi({ description: 'Who last read its caution' }),
    leaving: z
      .enum(['no', 'yes', 'with-reason'])
      .optional()
      .openapi({ description: 'Whether it may be left out: no, yes, or with a reason' }),
    change: z
      .object({
        at: moment,
        fromStartAt: moment,
        toStartAt: moment,
        fromGrain: z.enum(['day', 'minute']).optional(),
        toGrain: z.enum(['day', 'minute']).optional(),
        words: z.string(),
      })
      .optional()
      .openapi({ description: 'Its last move: from, to and the cause. Of a grain of day only the day is meant' }),
    doseWas: z
      .object({ at: moment, doses: z.array(doseWire) })
      .optional()
      .openapi({
        description: 'The doses as somebody last saw them: volume or reading changed since. Acknowledge them',
      }),
    revision: z.number().int(),
    changedAt: moment,
  })
  .openapi('Task')

/** A task as it is drawn: without what only a hand that does it needs to know, which is more than half of it. */
export const drawnTaskWire = taskWire
  .omit({
    detail: true,
    volumeL: true,
    spread: true,
    doses: true,
    records: true,
    caution: true,
    materials: true,
    why: true,
    next: true,
    conflicts: true,
    cancelReason: true,
    doneAt: true,
    donePeople: true,
    skipReason: true,
    taken: true,
    told: true,
    cautionRead: true,
    leaving: true,
    change: true,
    doseWas: true,
    revision: true,
    changedAt: true,
  })
  .openapi('DrawnTask')

export const phaseWire = z
  .object({
    key: z.string(),
    lotId: z.string(),
    lotCode: z.string(),
    kind: z.enum(PHASE_KINDS),
    vessels: z.array(z.object({ code: z.string(), kind: z.enum(VESSEL_KINDS) })),
    volumeL: z.number(),
    startAt: moment,
    endAt: moment,
    endSpread: z.object({ earliestAt: moment, latestAt: moment }).optional(),
    ratePerDay: z.array(z.number()),
    tempC: z.number(),
  })
  .openapi('Phase')

export const conflictWire = z
  .object({
    lotId: z.string(),
    id: z.string(),
    level: z.enum(['block', 'warn', 'info']),
    reason: z.string(),
    wayOut: z.string(),
    fields: z.array(z.string()),
    firstTaskKey: z.string().optional(),
    signedReason: z.string().optional(),
  })
  .openapi('Conflict')

export const fruitWire = z
  .object({
    tonnes: z.number().min(0.01).max(500),
    brix: z.number().min(8).max(50),
    pH: z.number().min(2.5).max(4.5),
    acidGPerLTartaric: z.number().min(1).max(20),
    malicGPerL: z.number().min(0).max(12),
    yanMgPerL: z.number().min(0).max(600),
    fruitTempC: z.number().min(-2).max(45),
    rotPct: z.number().min(0).max(100),
    yieldLPerT: z.number().min(200).max(850),
  })
  .openapi('Fruit')

export const lotWire = z
  .object({
    id: z.string(),
    code: z.string(),
    name: z.string(),
    variety: z.string(),
    block: z.string(),
    place: z.string(),
    vintage: z.number().int(),
    pickOn: day,
    fruit: fruitWire,
    choices,
    choicesVersion: z.number().int(),
    volumeL: z.number(),
    vessels: z.array(z.string()),
    phase: z.enum(PHASE_KINDS).nullable(),
    dry: z.object({ earliestAt: moment, likelyAt: moment, latestAt: moment }).optional(),
    nextTaskKey: z.string().optional(),
    lateCount: z.number().int(),
    conflicts: z.array(conflictWire),
    parents: z.array(z.object({ lotId: z.string(), share: z.number() })),
    endedAt: moment.optional(),
    unplanned: z.boolean().optional().openapi({ description: 'In the books, with no work of its own' }),
    version: z.number().int(),
  })
  .openapi('Lot')

export const vesselWire = z
  .object({
    id: z.string(),
    code: z.string(),
    kind: z.enum(VESSEL_KINDS),
    volumeL: z.number(),
    jacket: z.boolean(),
    insulated: z.boolean(),
    pressureBar: z.number(),
    row: z.string().optional(),
    fills: z.number().int().optional(),
    site: z.string().optional(),
    state: z.enum(VESSEL_STATES),
    now: z
      .object({
        lotCode: z.string(),
        lotName: z.string(),
        volumeL: z.number(),
        sinceAt: moment,
        freeAt: moment.optional(),
      })
      .nullable(),
    next: z.array(z.object({ lotCode: z.string(), fromAt: moment, toAt: moment })),
    bookings: z.array(z.object({ fromAt: moment, toAt: moment, why: z.string() })),
    version: z.number().int(),
  })
  .openapi('Vessel')

export const shiftWire = z.object({
  weekdays: z.array(z.number().int().min(1).max(7)),
  startMin: z.number().int().min(0).max(1440),
  endMin: z.number().int().min(0).max(2160),
  fromOn: day.optional(),
  untilOn: day.optional(),
})

export const personWire = z
  .object({
    id: z.string(),
    name: z.string(),
    role: z.enum(ROLES),
    post: z.string(),
    skills: z.array(z.string()),
    language: z.string(),
    shifts: z.array(shiftWire),
    fromOn: day.optional(),
    untilOn: day.optional(),
    absences: z.array(z.object({ id: z.string(), fromAt: moment, toAt: moment, reason: z.string() })),
    /** Gone for good, and kept for what they did. */
    removedAt: moment.optional(),
    version: z.number().int(),
  })
  .openapi('Person')

export const machineWire = z
  .object({
    id: z.string(),
    code: z.string(),
    kind: z.enum(MACHINE_KINDS),
    name: z.string(),
    capacity: z.number(),
    site: z.string().optional(),
    bookings: z.array(z.object({ fromAt: moment, toAt: moment, why: z.string() })),
    version: z.number().int(),
  })
  .openapi('Machine')

export const readingWire = z
  .object({
    id: z.string(),
    lotId: z.string(),
    vesselCode: z.string().optional(),
    kind: z.enum(READING_KINDS),
    value: z.number(),
    takenAt: moment,
    personId: z.string().optional(),
    taskKey: z.string().optional(),
    correctsId: z.string().optional(),
    note: z.string().optional(),
  })
  .openapi('Reading')

export const cellarWire = z
  .object({
    id: z.string(),
    name: z.string(),
    hemisphere: z.enum(['north', 'south']),
    vintage: z.number().int(),
    zone: z.string(),
    units: z.enum(['metric', 'us']),
    sugarUnit: z.enum(['brix', 'density', 'oechsle', 'baume', 'kmw']),
    language: z.string(),
    holidays: z.array(z.object({ on: day, name: z.string() })),
    exactWeeks: z.number().int().openapi({
      description: 'Weeks that are planned to the minute and by name; beyond them work is planned to the day',
    }),
    sites: z.array(
      z.object({ name: z.string(), awayMin: z.number().int(), to: z.record(z.string(), z.number().int()).optional() }),
    ),
    nowAt: moment,
    demo: z.boolean(),
    planRevision: z.number().int(),
    version: z.number().int(),
  })
  .openapi('Cellar')

export const problemWire = z
  .object({
    type: z.string(),
    title: z.string(),
    status: z.number().int(),
    detail: z.string().optional(),
    instance: z.string().optional(),
    errors: z.array(z.object({ pointer: z.string(), detail: z.string() })).optional(),
  })
  .openapi('Problem')

export type TaskWire = z.infer<typeof taskWire>
export type DrawnTaskWire = z.infer<typeof drawnTaskWire>
export type PhaseWire = z.infer<typeof phaseWire>
export type ConflictWire = z.infer<typeof conflictWire>
export type LotWire = z.infer<typeof lotWire>
export type VesselWire = z.infer<typeof vesselWire>
export type PersonWire = z.infer<typeof personWire>
export type MachineWire = z.infer<typeof machineWire>
export type ReadingWire = z.infer<typeof readingWire>
export type CellarWire = z.infer<typeof cellarWire>
export type ProblemWire = z.infer<typeof problemWire>

export type { Trouble as StorageTrouble } from '../db/room.ts'
export type * from './ledger-wire.ts'
export type { ProposedMove } from './protocol/announced.ts'
export type { HandoverWire } from './routes/handovers.ts'
export type { UnsettledWire } from './routes/operations.ts'
export type { PhotoWire } from './routes/photos.ts'
export type { RecordCheckWire, WorkLogWire } from './routes/record.ts'
export type { TroubleWire } from './routes/troubles.ts'
