import fc from 'fast-check'
import { type Choices, choices, STYLES, type Style, VESSEL_CHOICES } from '../../api/protocol/choices.ts'
import { defaultsFor } from '../../api/protocol/defaults.ts'
import type { Fruit } from '../../api/protocol/facts.ts'
import type { ConflictContext } from '../../api/protocol/types.ts'

/** Sound, cool fruit in the middle of every range. */
export const SOUND: Fruit = {
  tonnes: 4.4,
  brix: 21.5,
  pH: 3.3,
  acidGPerLTartaric: 7.5,
  malicGPerL: 3,
  yanMgPerL: 180,
  fruitTempC: 14,
  rotPct: 1,
  yieldLPerT: 690,
}

export interface Change {
  readonly style?: Style
  readonly choices?: Partial<Choices>
  readonly fruit?: Partial<Fruit>
  readonly more?: Partial<Omit<ConflictContext, 'choices' | 'fruit'>>
}

/** A crisp lot of sound fruit, before any reading, with what a case changes. */
export const contextOf = (change: Change = {}): ConflictContext => ({
  choices: { ...defaultsFor(change.style ?? 'crisp'), ...change.choices },
  fruit: { ...SOUND, ...change.fruit },
  volumeL: 3000,
  latest: {},
  ...change.more,
})

const share = fc.double({ min: 0.01, max: 1, noNaN: true })
const whole = (min: number, max: number) => fc.integer({ min, max })
const real = (min: number, max: number) => fc.double({ min, max, noNaN: true })
const maybe = <T>(arbitrary: fc.Arbitrary<T>) => fc.option(arbitrary, { nil: undefined })

/** Any answers the form may send, through the form's own schema. */
export const anyChoices: fc.Arbitrary<Choices> = fc
  .record({
    style: fc.constantFrom(...STYLES),
    pickMode: fc.constantFrom('hand', 'machine'),
    pickHour: whole(0, 23),
    pickPasses: maybe(whole(1, 6)),
    fruitCooling: fc.constantFrom('none', 'cold-room', 'must-chiller', 'dry-ice'),
    fruitCoolToC: maybe(real(4, 16)),
    processing: fc.constantFrom('whole-bunch', 'destem', 'destem-crush', 'on-skins'),
    juiceOxygen: fc.constantFrom('protective', 'moderate', 'oxidative'),
    so2CrushMgPerL: real(0, 80),
    skinContactH: real(0, 72),
    skinContactC: maybe(real(4, 20)),
    skinFermentDays: whole(0, 240),
    pressProgram: fc.constantFrom(
      'short',
      'standard',
      'whole-bunch-gentle',
      'sparkling-fractions',
      'long-slow',
      'basket',
    ),
    fractions: fc.constantFrom(1, 2, 3),
    clarification: fc.constantFrom('none', 'short-settle', 'cold-settle', 'flotation', 'centrifuge'),
    clarityNtu: maybe(real(20, 400)),
    settleH: maybe(real(0, 48)),
    vessel: fc.constantFrom(...VESSEL_CHOICES),
    vesselParts: maybe(
      fc.array(
        fc.record(
          {
            vessel: fc.constantFrom(...VESSEL_CHOICES),
            share,
            skinFermentDays: whole(0, 240),
            malolactic: fc.boolean(),
          },
          { requiredKeys: ['vessel', 'share'] },
        ),
        { minLength: 2, maxLength: 6 },
      ),
    ),
    yeast: fc.constantFrom('selected', 'ambient', 'vineyard-starter', 'non-saccharomyces'),
    yeastGPerHL: maybe(real(10, 60)),
    fermentTempC: real(8, 30),
    fermentEndTempC: maybe(real(8, 30)),
    nutrientTargetMgPerL: real(0, 350),
    endPoint: fc.constantFrom('dry', 'stop', 'by-itself', 'dry-then-sweeten'),
    stopSugarGPerL: maybe(real(4, 150)),
    malolactic: fc.constantFrom('refuse', 'allow', 'after', 'co', 'partial'),
    malolacticShare: maybe(real(0, 1)),
    grossLees: fc.constantFrom('within-3-days', 'within-10-days', 'keep', 'with-pressing'),
    fineLeesMonths: real(0, 24),
    stirring: fc.constantFrom('none', 'weekly', 'two-weekly', 'monthly', 'by-taste'),
    oak: fc.constantFrom('none', 'new', 'used', 'cask', 'pieces'),
    oakNewShare: maybe(real(0, 1)),
    oakPiecesGPerL: maybe(real(0.1, 10)),
    expectsOakAroma: maybe(fc.boolean()),
    expectsSlowOxygen: maybe(fc.boolean()),
    firstSo2: fc.constantFrom('at-once', 'after-dry', 'after-malolactic', 'after-pressing', 'never'),
    molecularSo2MgPerL: maybe(real(0, 2)),
    maturationC: real(-2, 24),
    proteinStability: fc.constantFrom('by-test', 'none'),
    tartrateStability: fc.constantFrom('none', 'cold', 'seeded-cold', 'additive', 'electrodialysis'),
    filtration: fc.constantFrom('none', 'polish', 'sterile'),
    finish: fc.constantFrom('bottling', 'tirage', 'bulk', 'blend'),
    claims: maybe(fc.subarray(['variety', 'vintage', 'place', 'white-wine-with-maceration'])),
  })
  .map((answers) => choices.parse(answers))

const anything = fc.oneof(real(-1e6, 1e6), fc.constantFrom(Number.NaN, Number.POSITIVE_INFINITY, 0))

/** Any lot: answers that parse, fruit and readings that may be nonsense. */
export const anyContext: fc.Arbitrary<ConflictContext> = fc
  .record({
    choices: anyChoices,
    fruit: fc.record({
      tonnes: anything,
      brix: anything,
      pH: anything,
      acidGPerLTartaric: anything,
      malicGPerL: anything,
      yanMgPerL: anything,
      fruitTempC: anything,
      rotPct: anything,
      yieldLPerT: anything,
    }),
    volumeL: anything,
    latest: fc.dictionary(
      fc.constantFrom(
        'density',
        'temp',
        'pH',
        'malic',
        'free-so2',
        'total-so2',
        'ntu',
        'alcohol',
        'rot',
        'glucose-fructose',
      ),
      anything,
    ),
    phase: maybe(fc.constantFrom('fruit', 'juice', 'ferment', 'wine')),
    chillerFreeKW: maybe(anything),
    filterInCellar: maybe(fc.boolean()),
    mustChillerInCellar: maybe(fc.boolean()),
    coldRoomInCellar: maybe(fc.boolean()),
    malolacticDone: maybe(fc.boolean()),
    vaRising: maybe(fc.boolean()),
    ascorbicUsed: maybe(fc.boolean()),
    shareLimit: maybe(real(0, 1)),
  })
  .map((context) => dropUndefined(context) as unknown as ConflictContext)

function dropUndefined(record: object): object {
  return Object.fromEntries(Object.entries(record).filter(([, value]) => value !== undefined))
}
