/** What people send about a lot: its fruit, its answers, the reasons signed. */
import { z } from '@hono/zod-openapi'
import { code, day, heldVersion, id, line, moment, opId, prose } from './fields.ts'
import { choices } from './protocol/choices.ts'
import { defaultsFor } from './protocol/defaults.ts'
import { Temporal } from './time.ts'
import { conflictWire, fruitWire } from './wire.ts'

const signed = z
  .array(z.strictObject({ conflict: line(10), reason: line(500) }))
  .max(60)
  .default([])
  .openapi({ description: 'Blocking conflicts that a winemaker accepts, each with the reason' })

const strictChoices = choices.strict()
const strictFruit = fruitWire.strict()

const lotFields = {
  name: line(80),
  variety: line(80),
  block: prose(80).default(''),
  place: prose(80).default(''),
  vintage: z.number().int().min(2000).max(2100).optional(),
  pickOn: day,
  fruit: strictFruit,
}

const FRUIT_EXAMPLE = {
  tonnes: 6,
  brix: 21.8,
  pH: 3.2,
  acidGPerLTartaric: 7.5,
  malicGPerL: 3,
  yanMgPerL: 180,
  fruitTempC: 16,
  rotPct: 1,
  yieldLPerT: 680,
}

export const newLotBody = z
  .strictObject({
    opId: opId.optional(),
    code,
    ...lotFields,
    style: choices.shape.style.optional().openapi({ description: 'Takes this style’s usual answers. Or send choices' }),
    choices: strictChoices.optional(),
    signed,
  })
  .refine((b) => (b.style === undefined) !== (b.choices === undefined), {
    message: 'needs either style or choices',
    path: ['choices'],
  })
  .openapi('NewLot', {
    example: {
      code: 'L30',
      name: 'Top terrace',
      variety: 'Chenin Blanc',
      pickOn: '2027-03-25',
      fruit: FRUIT_EXAMPLE,
      style: 'crisp',
      signed: [],
    },
  })

export const lotBody = z
  .strictObject({
    ...lotFields,
    vesselPins: z.record(z.string().regex(/^[a-z][a-z0-9-]{0,29}$/), z.array(id).max(100)).optional(),
    endedAt: moment.nullable().optional(),
    version: heldVersion,
  })
  .openapi('LotChange', {
    example: {
      name: 'Lower block Sauvignon',
      variety: 'Sauvignon Blanc',
      block: 'Lower block',
      place: 'Ostrel',
      pickOn: '2027-03-11',
      fruit: FRUIT_EXAMPLE,
      version: 1,
    },
  })

export const choicesBody = z
  .strictObject({ choices: strictChoices, signed, version: heldVersion })
  .openapi('ChoicesChange', {
    example: { choices: defaultsFor('crisp'), signed: [], version: 1 },
  })

export const checkBody = z
  .strictObject({
    choices: strictChoices,
    fruit: strictFruit,
    pickOn: day.optional(),
    /** An existing lot these answers would be for. */
    lot: id.optional(),
  })
  .openapi('ChoicesCheck', {
    example: { choices: defaultsFor('crisp'), fruit: FRUIT_EXAMPLE, pickOn: '2027-03-25' },
  })

export const checked = z
  .object({
    conflicts: z.array(conflictWire),
    dates: z
      .array(z.object({ step: z.string(), name: z.string(), at: moment, forecast: z.boolean() }))
      .openapi({ description: 'The main dates of the plan these answers would give' }),
  })
  .openapi('ChoicesChecked')

type Fields = z.output<z.ZodObject<typeof lotFields>>

/** The part of a lot that its body tells. */
export const lotOf = (body: Fields, lotId: string, lotCode: string) => ({
  id: lotId,
  code: lotCode,
  name: body.name,
  variety: body.variety,
  block: body.block,
  place: body.place,
  vintage: body.vintage ?? Temporal.PlainDate.from(body.pickOn).year,
  pickOn: Temporal.PlainDate.from(body.pickOn),
  fruit: body.fruit,
})
