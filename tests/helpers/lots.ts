import fc from 'fast-check'
import { type Choices, STYLES, type Style, VESSEL_CHOICES } from '../../api/protocol/choices.ts'
import type { Fruit, Lot } from '../../api/protocol/facts.ts'
import { makeLot } from './make.ts'

/** Six zones: both hemispheres, half hours, and two that change their clocks in a vintage. */
export const ZONES = [
  'Pacific/Auckland',
  'Australia/Adelaide',
  'Europe/Berlin',
  'America/Los_Angeles',
  'Africa/Johannesburg',
  'America/Santiago',
] as const

export const anyFruit: fc.Arbitrary<Fruit> = fc.record({
  tonnes: fc.double({ min: 0.3, max: 60, noNaN: true }).map((t) => Math.round(t * 100) / 100),
  brix: fc.double({ min: 15, max: 36, noNaN: true }),
  pH: fc.double({ min: 2.9, max: 3.7, noNaN: true }),
  acidGPerLTartaric: fc.double({ min: 4, max: 12, noNaN: true }),
  malicGPerL: fc.double({ min: 1, max: 6, noNaN: true }),
  yanMgPerL: fc.integer({ min: 80, max: 300 }),
  fruitTempC: fc.integer({ min: 6, max: 26 }),
  rotPct: fc.integer({ min: 0, max: 10 }),
  yieldLPerT: fc.integer({ min: 350, max: 720 }),
})

const oneOf = <T>(...values: readonly T[]): fc.Arbitrary<T> => fc.constantFrom(...values)

/** Answers that differ from a style's own; each is left as it is as often as not. */
const anyAnswers: fc.Arbitrary<Partial<Choices>> = fc.record(
  {
    pickMode: oneOf('hand' as const, 'machine' as const),
    pickHour: fc.integer({ min: 0, max: 11 }),
    fruitCooling: oneOf('none' as const, 'cold-room' as const, 'must-chiller' as const),
    processing: oneOf('whole-bunch' as const, 'destem' as const, 'destem-crush' as const),
    so2CrushMgPerL: oneOf(0, 20, 30, 50),
    skinContactH: oneOf(0, 4, 12, 48),
    fractions: oneOf(1 as const, 2 as const),
    clarification: oneOf('none' as const, 'short-settle' as const, 'cold-settle' as const, 'flotation' as const),
    vessel: oneOf(...VESSEL_CHOICES),
    yeast: oneOf('selected' as const, 'ambient' as const, 'vineyard-starter' as const, 'non-saccharomyces' as const),
    fermentTempC: fc.integer({ min: 12, max: 24 }),
    nutrientTargetMgPerL: oneOf(0, 150, 200),
    malolactic: oneOf('refuse' as const, 'allow' as const, 'after' as const, 'co' as const),
    grossLees: oneOf('within-3-days' as const, 'within-10-days' as const, 'keep' as const),
    fineLeesMonths: fc.integer({ min: 0, max: 18 }),
    stirring: oneOf('none' as const, 'weekly' as const, 'monthly' as const, 'by-taste' as const),
    oak: oneOf('none' as const, 'pieces' as const),
    firstSo2: oneOf('at-once' as const, 'after-dry' as const, 'after-malolactic' as const, 'never' as const),
    proteinStability: oneOf('by-test' as const, 'none' as const),
    tartrateStability: oneOf('none' as const, 'cold' as const, 'seeded-cold' as const, 'additive' as const),
    filtration: oneOf('none' as const, 'polish' as const, 'sterile' as const),
    finish: oneOf('bottling' as const, 'bulk' as const, 'tirage' as const, 'blend' as const),
  },
  { requiredKeys: [] },
)

export interface AnyLotWish {
  readonly code: string
  readonly pickFrom: string
}

export const anyLot = (wish: AnyLotWish): fc.Arbitrary<Lot> =>
  fc
    .record({
      style: fc.constantFrom<Style>(...STYLES),
      fruit: anyFruit,
      answers: anyAnswers,
      day: fc.integer({ min: 0, max: 30 }),
    })
    .map(({ style, fruit, answers, day }) => {
      const lot = makeLot(style, { code: wish.code, pickOn: wish.pickFrom, fruit, choices: answers })
      return { ...lot, pickOn: lot.pickOn.add({ days: day }) }
    })
