/** What people send: strict, so that nothing is set by accident. Ranges are what a cellar can hold, chosen by us. */
import { z } from '@hono/zod-openapi'
import { code, day, heldVersion, id, line, moment, opId, prose, zone } from './fields.ts'
import { EXACT_WEEKS, MACHINE_KINDS, ROLES, VESSEL_KINDS, VESSEL_STATES } from './protocol/facts.ts'

const minuteOfDay = z.number().int().min(0).max(1440)

export const ratesBody = z.strictObject({
  receptionTPerH: z.number().gt(0).max(200),
  sortingTPerH: z.number().gt(0).max(200),
  pressLoadingTPerH: z.number().gt(0).max(200),
  floatLPerH: z.number().gt(0).max(200_000),
  chillKW: z.number().min(0).max(5000),
  heatKW: z.number().min(0).max(5000),
})

const wayMin = z.number().int().min(0).max(600)

const siteBody = z.strictObject({
  name: line(40),
  awayMin: wayMin.openapi({ description: 'Minutes from the cellar itself, and back' }),
  to: z
    .record(line(40), wayMin)
    .optional()
    .openapi({ description: 'Minutes to other sites by their name; absent: over the cellar' }),
})

const cellarFields = {
  name: line(80).openapi({ example: 'Ostrel Yard' }),
  hemisphere: z.enum(['north', 'south']),
  vintage: z.number().int().min(2000).max(2100),
  zone,
  units: z.enum(['metric', 'us']).default('metric'),
  sugarUnit: z.enum(['brix', 'density', 'oechsle', 'baume', 'kmw']).default('brix'),
  language: z.enum(['en', 'es', 'fr', 'pt', 'it', 'de']).default('en'),
  holidays: z
    .array(z.strictObject({ on: day, name: line(60) }))
    .max(100)
    .optional(),
  /** Weeks from today that are planned to the minute and by name. */
  exactWeeks: z.number().int().min(EXACT_WEEKS.least).max(EXACT_WEEKS.most).optional(),
  /** Places away from the cellar itself, and the minutes between them. */
  sites: z.array(siteBody).max(20).optional(),
  rates: ratesBody.optional(),
}

export const newCellarBody = z
  .strictObject({ ...cellarFields, owner: line(80).openapi({ description: 'Name of the owner', example: 'Alex' }) })
  .openapi('NewCellar', {
    example: { name: 'Ostrel Yard', hemisphere: 'south', vintage: 2027, zone: 'Pacific/Auckland', owner: 'Alex' },
  })

export const anotherCellarBody = z.strictObject(cellarFields).openapi('AnotherCellar', {
  example: { name: 'Lower Yard', hemisphere: 'south', vintage: 2027, zone: 'Pacific/Auckland' },
})

export const cellarBody = z.strictObject({ ...cellarFields, version: heldVersion }).openapi('CellarChange', {
  example: { name: 'Ostrel Yard', hemisphere: 'south', vintage: 2027, zone: 'Pacific/Auckland', version: 1 },
})

const shift = z
  .strictObject({
    weekdays: z.array(z.number().int().min(1).max(7)).max(7),
    startMin: minuteOfDay,
    /** Past midnight: more than 1440. */
    endMin: z.number().int().min(0).max(2160),
    fromOn: day.optional(),
    untilOn: day.optional(),
  })
  .refine((s) => s.weekdays.length === 0 || s.endMin > s.startMin, {
    message: 'must end after it starts',
    path: ['endMin'],
  })

const SKILL = /^[a-z][a-z0-9-]{0,39}$/
export const skill = z.string().regex(SKILL, 'must be a skill in small letters, such as forklift')

const personFields = {
  name: line(80),
  role: z.enum(ROLES),
  post: prose(80).default(''),
  skills: z.array(skill).max(30).default([]),
  language: z.enum(['en', 'es', 'fr', 'pt', 'it', 'de']).default('en'),
  shifts: z.array(shift).max(40).default([]),
  fromOn: day.optional(),
  untilOn: day.optional(),
}

export const newPersonBody = z.strictObject({ opId: opId.optional(), ...personFields }).openapi('NewPerson', {
  example: {
    name: 'Robin',
    role: 'hand',
    skills: ['pump'],
    shifts: [{ weekdays: [1, 2, 3, 4, 5], startMin: 420, endMin: 960 }],
  },
})
export const personBody = z.strictObject({ ...personFields, version: heldVersion }).openapi('PersonChange', {
  example: {
    name: 'Kim',
    role: 'hand',
    post: 'press operator',
    skills: ['press', 'forklift', 'pump'],
    shifts: [{ weekdays: [2, 3, 4, 5, 6, 7], startMin: 300, endMin: 840 }],
    version: 1,
  },
})

const absenceFields = { opId: opId.optional(), version: heldVersion }
export const absenceBody = z
  .strictObject({ fromAt: moment, toAt: moment, reason: prose(200).default(''), ...absenceFields })
  .openapi('NewAbsence', {
    example: { fromAt: '2027-03-25T19:00:00Z', toAt: '2027-03-26T06:00:00Z', reason: 'ill', version: 1 },
  })
export const absenceChangeBody = z
  .strictObject({
    fromAt: moment.optional().openapi({ description: 'Absent: as it was' }),
    toAt: moment.optional().openapi({ description: 'Back at. Absent: as it was' }),
    reason: prose(200).optional().openapi({ description: 'Absent: as it was' }),
    ...absenceFields,
  })
  .openapi('AbsenceChange', { example: { toAt: '2027-03-25T22:00:00Z', version: 2 } })
export const absenceBackBody = z.strictObject(absenceFields).openapi('AbsenceBack', { example: { version: 2 } })
export const absenceParams = z.object({
  id: id.openapi({ example: 'kim' }),
  absence: id.openapi({ example: '0190' }),
})

const booking = z.strictObject({ fromAt: moment, toAt: moment, why: line(120) })

const vesselFields = {
  code,
  kind: z.enum(VESSEL_KINDS),
  volumeL: z.number().gt(0).max(1_000_000),
  jacket: z.boolean().default(false),
  insulated: z.boolean().default(false),
  minC: z.number().min(-20).max(30).optional(),
  pressureBar: z.number().min(0).max(12).default(0),
  row: line(16).optional(),
  fills: z.number().int().min(0).max(100).optional(),
  site: line(40).optional().openapi({ description: 'One of the cellar’s sites; absent: the cellar itself' }),
  state: z.enum(VESSEL_STATES).default('clean'),
  bookings: z.array(booking).max(200).default([]),
}

export const newVesselBody = z.strictObject({ opId: opId.optional(), ...vesselFields }).openapi('NewVessel', {
  example: { code: 'T30', kind: 'tank', volumeL: 5000, jacket: true },
})
export const vesselBody = z.strictObject({ ...vesselFields, version: heldVersion }).openapi('VesselChange', {
  example: { code: 'T01', kind: 'tank', volumeL: 6500, jacket: true, pressureBar: 0.3, version: 1 },
})

const pair = z.tuple([z.number().min(0).max(100), z.number().gt(0).max(100)])

const machineFields = {
  code,
  kind: z.enum(MACHINE_KINDS),
  name: line(80),
  capacity: z.number().gt(0).max(1_000_000).default(1),
  press: z
    .strictObject({
      wholeBunchT: pair.optional(),
      destemmedT: pair.optional(),
      fermentedT: pair.optional(),
      programH: z.record(z.string().max(40), z.number().gt(0).max(48)),
      washH: z.number().min(0).max(12),
      rinseH: z.number().min(0).max(12),
    })
    .optional(),
  site: line(40).optional().openapi({ description: 'One of the cellar’s sites; absent: the cellar itself' }),
  bookings: z.array(booking).max(200).default([]),
}

export const newMachineBody = z.strictObject({ opId: opId.optional(), ...machineFields }).openapi('NewMachine', {
  example: { code: 'PU9', kind: 'pump', name: 'Pump, 9,000 L/h', capacity: 9000 },
})
export const machineBody = z.strictObject({ ...machineFields, version: heldVersion }).openapi('MachineChange', {
  example: { code: 'CH', kind: 'chiller', name: 'Chiller, 25 kW', capacity: 17.25, version: 1 },
})

/** The path's id, with one of the invented cellar as example. */
export const idParam = (example: string) => z.object({ id: id.openapi({ example }) })
