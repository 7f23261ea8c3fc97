import { readdirSync, readFileSync } from 'node:fs'
import { measures } from './measures.ts'

/** Published value: what to compute, what the source says, how near is near enough and why. */
export interface PublishedRow {
  readonly id: string
  readonly topic: string
  readonly measure: string
  readonly input: Readonly<Record<string, number | string>>
  readonly expected: number | string
  readonly unit: string
  readonly tolerance: { readonly abs?: number; readonly rel?: number; readonly factor?: number; readonly why: string }
  readonly source: string
  readonly status: 'READ' | 'READ-SECONDARY' | 'DERIVED' | 'MEMORY'
  readonly independent?: boolean
}

export interface Compared {
  readonly row: PublishedRow
  readonly got: number | string
  /** In the row's unit; 0 for words. */
  readonly error: number
  readonly allowed: number
  readonly holds: boolean
}

const folder = new URL('../cellar/', import.meta.url)

export function listPublished(): readonly string[] {
  return readdirSync(folder)
    .filter((f) => f.endsWith('.values.json'))
    .map((f) => f.replace('.values.json', ''))
    .toSorted()
}

export function publishedRows(name: string): readonly PublishedRow[] {
  const parsed: { rows: PublishedRow[] } = JSON.parse(readFileSync(new URL(`${name}.values.json`, folder), 'utf8'))
  if (parsed.rows.length === 0) throw new Error(`${name}.values.json has no row`)
  return parsed.rows
}

export function compare(row: PublishedRow): Compared {
  const measure = measures[row.measure]
  if (!measure) throw new Error(`row ${row.id} asks for ${row.measure}, which nobody measures`)
  const got = measure(row.input)
  if (typeof row.expected === 'string' || typeof got === 'string')
    return { row, got, error: 0, allowed: 0, holds: got === expectedNumber(row.expected) }
  const { abs, rel, factor } = row.tolerance
  const error = Math.abs(got - row.expected)
  const allowed =
    factor === undefined ? Math.max(abs ?? 0, (rel ?? 0) * Math.abs(row.expected)) : row.expected * (factor - 1)
  const holds =
    factor === undefined
      ? error <= allowed * (1 + 1e-9) + 1e-12
      : got <= row.expected * factor && got >= row.expected / factor
  return { row, got, error, allowed, holds }
}

const expectedNumber = (expected: number | string): number | string => {
  const first = typeof expected === 'string' ? Number.parseFloat(expected) : expected
  return typeof expected === 'string' && /^\d+ [a-z]/.test(expected) ? first : expected
}
