/** Every calculation of the bench sheet in one list: the routes, the OpenAPI document and the page are made from it. */
import { z } from '@hono/zod-openapi'
import { acidCalculations } from './calc/acid.ts'
import { additionCalculations } from './calc/additions.ts'
import { airCalculations } from './calc/air.ts'
import type { Calculation } from './calc/calculation.ts'
import { documentsOf } from './calc/documents.ts'
import { fermentationCalculations } from './calc/fermentation.ts'
import { modelCalculations } from './calc/fermentation-model.ts'
import { finingCalculations } from './calc/fining.ts'
import { readingCalculations } from './calc/readings.ts'
import { sugarCalculations } from './calc/sugar.ts'
import { sulfurCalculations } from './calc/sulfur.ts'
import { sulfurKeepingCalculations } from './calc/sulfur-keeping.ts'
import { volumeCalculations } from './calc/volumes.ts'

export const CALCULATIONS: readonly Calculation[] = [
  ...sugarCalculations,
  ...fermentationCalculations,
  ...modelCalculations,
  ...sulfurCalculations,
  ...sulfurKeepingCalculations,
  ...additionCalculations,
  ...acidCalculations,
  ...finingCalculations,
  ...volumeCalculations,
  ...airCalculations,
  ...readingCalculations,
]

/** A calculation as the page lists it: the form is drawn from the schema. */
export function describeCalculation(c: Calculation) {
  return {
    name: c.name,
    title: c.title,
    topic: c.topic,
    source: c.source,
    status: c.status,
    documents: [...documentsOf(c.source)],
    hasMemory: c.status === 'memory' || /from memory/.test(c.source),
    ...(c.caution === undefined ? {} : { caution: c.caution }),
    input: z.toJSONSchema(c.input, { io: 'input' }) as Record<string, unknown>,
    output: z.toJSONSchema(c.output, { io: 'output' }) as Record<string, unknown>,
  }
}
