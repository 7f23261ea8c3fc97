import { z } from '@hono/zod-openapi'
import type { Calculation } from '../calc/calculation.ts'
import { STATUSES, TOPICS } from '../calc/calculation.ts'
import { CALCULATIONS, describeCalculation } from '../calc.ts'
import { problem } from '../problem.ts'
import { answers, describe, routes, takes } from './route.ts'

const listed = z
  .object({
    name: z.string(),
    title: z.string(),
    topic: z.enum(TOPICS),
    source: z.string(),
    status: z.enum(STATUSES),
    documents: z
      .array(z.object({ cite: z.string(), address: z.url() }))
      .openapi({ description: 'Where to read its sources' }),
    hasMemory: z.boolean().openapi({ description: 'Some of it was recalled, not read: verify before use' }),
    caution: z.string().optional(),
    input: z.record(z.string(), z.unknown()).openapi({ description: 'JSON Schema of the fields' }),
    output: z.record(z.string(), z.unknown()).openapi({ description: 'JSON Schema of the figures' }),
  })
  .openapi('CalculationListed')

const LIST = CALCULATIONS.map(describeCalculation)

const sheet = routes().openapi(
  describe({
    method: 'get',
    path: '/api/calc',
    operationId: 'listCalculations',
    tags: ['Bench sheet'],
    summary: 'Every calculation with the schema of its fields',
    responses: { 200: answers(z.object({ calculations: z.array(listed) }), 'All calculations') },
  }),
  (c) => c.json({ calculations: LIST }, 200),
)

for (const calculation of CALCULATIONS) addCalculation(calculation)

/** One operation a calculation, so that each has its named fields in the OpenAPI document. */
function addCalculation(calculation: Calculation) {
  const answer = z.object({
    name: z.literal(calculation.name),
    result: calculation.output,
    steps: z.array(z.string()).openapi({ description: 'The arithmetic, line by line' }),
    warnings: z.array(z.string()),
    source: z.string(),
    status: z.enum(STATUSES),
    caution: z.string().optional(),
  })
  sheet.openapi(
    describe({
      method: 'post',
      path: `/api/calc/${calculation.name}`,
      operationId: `calc${pascal(calculation.name)}`,
      tags: ['Bench sheet'],
      summary: calculation.title,
      description: `${calculation.source}. Status: ${calculation.status}.${calculation.caution ? ` ${calculation.caution}` : ''}`,
      request: { body: takes(calculation.input.strict()) },
      responses: { 200: answers(answer, 'The figures, how they came about and what to know') },
    }),
    (c) => c.json(worked(calculation, c.req.valid('json')), 200),
  )
}

/** The formulas refuse what lies outside their range; that is a proper no, not a bug. */
function worked(calculation: Calculation, input: Record<string, unknown>) {
  try {
    const { result, steps, warnings } = calculation.run(input)
    return {
      name: calculation.name,
      result,
      steps: [...steps],
      warnings: [...(warnings ?? [])],
      source: calculation.source,
      status: calculation.status,
      caution: calculation.caution,
    }
  } catch (error) {
    if (!(error instanceof RangeError)) throw error
    const field = error.message.split(' ')[0] ?? ''
    throw problem(422, 'out-of-range', 'A figure lies outside the range of the formula', {
      detail: error.message,
      errors: [{ pointer: field in calculation.input.shape ? `#/${field}` : '#', detail: error.message }],
    })
  }
}

function pascal(name: string): string {
  return name.replaceAll(/(?:^|-)([a-z0-9])/g, (_, letter: string) => letter.toUpperCase())
}

export const calc = sheet
