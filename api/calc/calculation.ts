/** One calculation of the bench sheet: its schemas are the check, the form, the OpenAPI entry and the answer's shape at once. */
import { z } from '@hono/zod-openapi'

export const TOPICS = ['sugar', 'fermentation', 'sulfur', 'additions', 'volumes', 'air', 'readings'] as const
export type Topic = (typeof TOPICS)[number]

export const STATUSES = ['source', 'derived', 'common-practice', 'memory'] as const
export type Status = (typeof STATUSES)[number]

/** What a calculation gives: its figures, how they came about, and what a person should know. */
export interface Worked<T> {
  readonly result: T
  readonly steps: readonly string[]
  readonly warnings?: readonly string[]
}

export interface Calculation<I extends z.ZodObject = z.ZodObject, O extends z.ZodObject = z.ZodObject> {
  /** Ends the path: `so2-dose`. */
  readonly name: string
  readonly title: string
  readonly topic: Topic
  readonly input: I
  readonly output: O
  readonly source: string
  /** memory: recalled, not read; to be verified, never called legal. */
  readonly status: Status
  /** Shown first where the work can hurt. */
  readonly caution?: string
  run(input: z.infer<I>): Worked<z.infer<O>>
}

export const calculation = <I extends z.ZodObject, O extends z.ZodObject>(c: Calculation<I, O>): Calculation<I, O> => c

/** A number with its unit, range and an example. */
export function num(description: string, unit: string, min: number, max: number, example: number) {
  return z.number().min(min).max(max).meta({ description, example, unit })
}

export const pick = <const T extends readonly [string, ...string[]]>(
  description: string,
  values: T,
  example: T[number],
) => z.enum(values).meta({ description, example })

/** A figure of an answer. */
export const figure = (description: string, unit: string) => z.number().meta({ description, unit })

export const volumeL = num('Litres', 'L', 0.1, 1_000_000, 1000)
export const brix = num('Brix at 20 C', 'Brix', 5, 45, 22)
export const tempC = num('Temperature', 'C', -6, 45, 15)
export const pH = num('pH', '', 2.6, 4.5, 3.2)
export const freeSo2MgPerL = num('Free SO2', 'mg/L', 0, 300, 12)
export const sugarGPerL = num('Fermentable sugar', 'g/L', 0, 400, 220)
export const alcoholPctVol = num('Alcohol', '% vol', 0, 20, 12.5)

export const fixed = (value: number, digits = 1): string => value.toFixed(digits)
