import { describe, expect, it } from 'vitest'
import { documentsOf } from '../../api/calc/documents.ts'
import { CALCULATIONS, describeCalculation } from '../../api/calc.ts'
import { answerProblem } from '../../api/problem.ts'
import { calc } from '../../api/routes/calc.ts'
import { routes } from '../../api/routes/route.ts'
import { type PublishedRow, publishedRows } from '../helpers/published.ts'

const app = routes().route('/', calc)
app.onError((error, c) => answerProblem(error, c))

interface Answer {
  readonly status: number
  readonly type: string
  readonly body: {
    readonly result: Record<string, unknown>
    readonly steps: string[]
    readonly warnings: string[]
    readonly source: string
    readonly status: string
    readonly detail?: string
    readonly errors?: { pointer: string; detail: string }[]
  }
}

async function post(name: string, input: unknown): Promise<Answer> {
  const response = await app.request(`/api/calc/${name}`, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify(input),
  })
  return {
    status: response.status,
    type: response.headers.get('content-type') ?? '',
    body: (await response.json()) as Answer['body'],
  }
}

interface Schema {
  readonly type?: string
  readonly properties?: Record<string, Schema>
  readonly required?: string[]
  readonly items?: Schema
  readonly example?: unknown
  readonly default?: unknown
  readonly unit?: string
  readonly description?: string
  readonly minimum?: number
  readonly enum?: unknown[]
}

/** An input made of the examples that the schema itself gives. */
function exampleOf(schema: Schema): unknown {
  if (schema.example !== undefined) return schema.example
  if (schema.default !== undefined) return schema.default
  if (schema.type === 'array') return [exampleOf(schema.items ?? {})]
  if (schema.properties)
    return Object.fromEntries(
      Object.entries(schema.properties)
        .filter(([key]) => schema.required?.includes(key))
        .map(([key, part]) => [key, exampleOf(part)]),
    )
  throw new Error(`no example in ${JSON.stringify(schema)}`)
}

/** Every number of a schema, with its path. */
function numbersOf(schema: Schema, path = ''): { path: string; schema: Schema }[] {
  if (schema.type === 'number' || schema.type === 'integer') return [{ path, schema }]
  if (schema.type === 'array') return numbersOf(schema.items ?? {}, `${path}[]`)
  return Object.entries(schema.properties ?? {}).flatMap(([key, part]) => numbersOf(part, `${path}/${key}`))
}

describe('the bench sheet', () => {
  it('lists each calculation once, with the schema of its fields', async () => {
    const response = await app.request('/api/calc')
    const { calculations } = (await response.json()) as { calculations: { name: string }[] }
    expect(calculations.map((c) => c.name)).toEqual(CALCULATIONS.map((c) => c.name))
    expect(new Set(calculations.map((c) => c.name)).size).toBe(CALCULATIONS.length)
  })

  it.each(CALCULATIONS.map((c) => [c.name, c] as const))(
    '%s works with its own examples, shows steps and source',
    async (name, c) => {
      const described = describeCalculation(c)
      const { status, body } = await post(name, exampleOf(described.input as Schema))
      expect(status, JSON.stringify(body)).toBe(200)
      expect(body.source).toBe(c.source)
      expect(body.status).toBe(c.status)
      for (const key of (described.output as Schema).required ?? []) expect(body.result, key).toHaveProperty(key)
      for (const value of Object.values(body.result))
        if (typeof value === 'number') expect(Number.isFinite(value)).toBe(true)
    },
  )

  it.each(CALCULATIONS.map((c) => [c.name, c] as const))('%s names the unit and range of every number', (_, c) => {
    for (const { path, schema } of numbersOf(describeCalculation(c).input as Schema)) {
      expect(schema.minimum, path).toBeTypeOf('number')
      expect(schema.unit !== undefined || path.includes('/loads'), path).toBe(true)
    }
  })

  it.each(CALCULATIONS.map((c) => [c.name, c] as const))(
    '%s refuses a field it does not know and a number below its range',
    async (name, c) => {
      const schema = describeCalculation(c).input as Schema
      const good = exampleOf(schema) as Record<string, unknown>
      const unknown = await post(name, { ...good, volumeGallons: 1 })
      expect(unknown.status).toBe(422)
      expect(unknown.body.errors?.[0]?.pointer).toBe('#/volumeGallons')
      const [key, part] = Object.entries(schema.properties ?? {}).find(([, p]) => p.type === 'number') ?? []
      if (key === undefined || part === undefined) return
      const low = await post(name, { ...good, [key]: (part.minimum ?? 0) - 1 })
      expect(low.status).toBe(422)
      expect(low.type).toContain('application/problem+json')
      expect(low.body.errors?.[0]).toEqual({ pointer: `#/${key}`, detail: `must be at least ${part.minimum}` })
      expect((await post(name, { ...good, [key]: 'much' })).status).toBe(422)
    },
  )

  it('says no to a must without a way to be dry at the stop, and to a refractometer in wine, with what was expected', async () => {
    const refused = await post('refractometer', { readingPct: 18, tempC: 18, alcoholPctVol: 6 })
    expect(refused.status).toBe(422)
    expect(refused.body.detail).toMatch(/expected 0 to 0.2/)
    const never = await post('stop-plan', {
      sugarGPerL: 300,
      yanMgPerL: 60,
      tempC: 35,
      stopSugarGPerL: 5,
      volumeL: 1000,
      powerKW: 5,
    })
    expect(never.status).toBe(422)
    expect(never.body.detail).toMatch(/expected a level the ferment reaches/)
  })
})

/** Where a published value is found on the bench sheet: operation, its input, the figure. */
const AT: Readonly<
  Record<string, (i: PublishedRow['input']) => readonly [name: string, input: object, figure: string]>
> = {
  densityOfBrix: (i) => ['convert-sugar', { value: i.brix, unit: 'brix' }, 'densityKgPerM3'],
  sgOfBrix: (i) => ['convert-sugar', { value: i.brix, unit: 'brix' }, 'sg'],
  oechsleOfBrix: (i) => ['convert-sugar', { value: i.brix, unit: 'brix' }, 'oechsle'],
  baumeOfBrix: (i) => ['convert-sugar', { value: i.brix, unit: 'brix' }, 'baume'],
  solidsGPerL: (i) => ['convert-sugar', { value: i.brix, unit: 'brix' }, 'solidsGPerL'],
  sugarOfBrix: (i) => ['convert-sugar', { value: i.brix, unit: 'brix' }, 'sugarGPerL'],
  potentialAlcoholOiv: (i) => ['convert-sugar', { value: i.brix, unit: 'brix' }, 'potentialAlcoholPctVol'],
  potentialAlcoholManual: (i) => ['convert-sugar', { value: i.brix, unit: 'brix' }, 'potentialAlcoholManualPctVol'],
  brixOfSg: (i) => ['convert-sugar', { value: i.sg, unit: 'sg' }, 'brix'],
  oechsleOfKmw: (i) => ['convert-sugar', { value: i.kmw, unit: 'kmw' }, 'oechsle'],
  hydrometerAt20: (i) => ['hydrometer', i, 'sg'],
  refractometerCorrection: (i) => ['refractometer', i, 'correctionPct'],
  dryDays: (i) => ['ferment-curve', i, 'dryDays'],
  dryHours: (i) => ['ferment-curve', i, 'dryH'],
  restAfter100Days: (i) => ['ferment-curve', i, 'restGPerL'],
  fastestDay: (i) => ['ferment-curve', i, 'fastestGPerLPerDay'],
  growthMax: (i) => ['ferment-rates', { ...i, yanMgPerL: 200 }, 'growthMaxPerH'],
  ethanolRateMax: (i) => ['ferment-rates', { ...i, yanMgPerL: 200 }, 'ethanolMaxGPerGPerH'],
  killRate: (i) => ['ferment-rates', { ...i, yanMgPerL: 200 }, 'killLPerGPerH'],
  cellYield: (i) => ['ferment-rates', { ...i, tempC: 15 }, 'cellYieldGPerG'],
  freeSo2Needed: ({ pK, ...i }) => [
    'free-so2-needed',
    { ...i, pkMethod: pK === 1.77 ? '1.77' : '1.81' },
    'freeSo2MgPerL',
  ],
  molecularPct: (i) => ['molecular-so2', { ...i, freeSo2MgPerL: 10 }, 'molecularPct'],
  molecularSo2: (i) => ['molecular-so2', i, 'molecularMgPerL'],
  molecularSo2Oiv: (i) => ['molecular-so2', { ...i, pkMethod: 'oiv' }, 'molecularMgPerL'],
  oivPkTable: (i) => ['so2-pk', i, 'pKT'],
  oivPk: (i) => ['so2-pk', i, 'pKM'],
  metabisulphiteG: (i) => ['metabisulphite', i, 'doseG'],
  totalSo2Limit: (i) => ['so2-limit', i, 'totalMgPerL'],
  dapG: (i) => ['dap', i, 'dapG'],
  yanMgPerL: (i) => ['yan', i, 'yanMgPerL'],
  yanWanted: (i) => ['yan', { ...i, ammoniaMgPerL: 60, alphaAminoMgPerL: 110 }, 'wantedMgPerL'],
  yeastG: (i) => ['yeast', { ...i, mustC: 18 }, 'yeastG'],
  malolacticAcidFall: (i) => ['malolactic-acid', i, 'acidFallGPerLTartaric'],
  malolacticPoints: (i) => ['malolactic', i, 'points'],
  malolacticWeeks: (i) => ['malolactic', i, 'weeksLikely'],
  acidMeqPerL: (i) => ['acid-units', i, 'meqPerL'],
  bentoniteWaterMaxL: (i) => ['bentonite', i, 'waterMaxL'],
  specificHeat: (i) => ['specific-heat', i, 'specificHeatJPerKgK'],
  fermentationKW: (i) => ['ferment-heat', i, 'kW'],
  fermentationHeatKcal: (i) => ['ferment-heat', { ...i, sugarGPerLPerDay: 20 }, 'totalKcal'],
  co2LPerL: (i) => ['co2', { ...i, volumeL: 1000, sugarGPerLPerDay: 20 }, 'co2LPerL'],
  freshAirOfFerment: (i) => ['co2', i, 'freshAirM3PerH'],
  co2PpmAtOxygen: (i) => ['air-advice', { ...i, co2Ppm: 1000 }, 'co2PpmAtOxygen'],
  barrelSurfaceM2: (i) => ['oak', { barrelL: i.volumeL, fills: 0 }, 'surfaceM2'],
  surfaceCm2PerL: (i) => ['oak', { barrelL: i.volumeL, fills: 0 }, 'surfaceCm2PerL'],
  relativeSurface: (i) => ['oak', { barrelL: i.volumeL, fills: 0 }, 'relativeSurface'],
  scaledOxygen: (i) => [
    'oak',
    { barrelL: i.volumeL, fills: 0, oxygenAt225MgPerLPerYear: i.at225 },
    'oxygenMgPerLPerYear',
  ],
  barrelVolumeL: (i) => ['barrel-geometry', i, 'volumeL'],
  litresPerTonne: (i) => ['yield-units', i, 'litresPerTonne'],
  yearlyLossL: (i) => ['topping', { ...i, barrels: 1, intervalDays: 30 }, 'lossLPerBarrelYear'],
  coldTempC: (i) => ['cold-stabilisation', i, 'tempC'],
}

describe('published values asked for over HTTP', () => {
  const rows = [
    'sugar',
    'fermentation',
    'sulfur',
    'sulfur-limits',
    'additions',
    'heat',
    'gas',
    'wood',
    'volume',
    'topping',
    'exposure',
    'cold',
  ]
    .flatMap((topic) => publishedRows(topic))
    .filter((row) => row.measure in AT && typeof row.expected === 'number')

  it('are the great majority', () => {
    expect(rows.length).toBeGreaterThan(280)
  })

  it.each(rows.map((row) => [row.id, row] as const))('%s comes out within its tolerance', async (_, row) => {
    const [name, input, figure] = AT[row.measure]?.(row.input) ?? ['', {}, '']
    const { status, body } = await post(name, input)
    expect(status, JSON.stringify(body)).toBe(200)
    const got = body.result[figure] as number
    const { abs = 0, rel = 0, factor } = row.tolerance
    const expected = row.expected as number
    if (factor !== undefined) {
      expect(got).toBeLessThanOrEqual(expected * factor)
      expect(got).toBeGreaterThanOrEqual(expected / factor)
    } else
      expect(Math.abs(got - expected)).toBeLessThanOrEqual(Math.max(abs, rel * Math.abs(expected)) * (1 + 1e-9) + 1e-9)
  })
})

describe('the documents of a calculation', () => {
  it.each(CALCULATIONS.filter((c) => c.status === 'source').map((c) => [c.name, c] as const))(
    '%s, which stands on a source, leads to one',
    (_, c) => {
      const { documents } = describeCalculation(c)
      if (c.name !== 'reference-figures') expect(documents.length).toBeGreaterThan(0)
      for (const document of documents) expect(new URL(document.address).protocol).toBe('https:')
    },
  )

  it('are those its source names, no others', () => {
    expect(documentsOf('27 CFR 4.22 and NIST SP 811').map((d) => d.cite)).toEqual([
      '27 CFR 4.22',
      'NIST Special Publication 811, appendix B',
    ])
    expect(documentsOf('Conservation of mass')).toEqual([])
  })

  it('says memory wherever any of it was recalled', () => {
    for (const c of CALCULATIONS) {
      const isRecalled = c.status === 'memory' || c.source.includes('from memory')
      expect(describeCalculation(c).hasMemory, c.name).toBe(isRecalled)
    }
  })
})
