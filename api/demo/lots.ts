import type { Choices, Style } from '../protocol/choices.ts'
import { defaultsFor } from '../protocol/defaults.ts'
import type { Fruit, Lot } from '../protocol/facts.ts'
import type { Dates } from './dates.ts'
import { HOLDS } from './holds.ts'

interface Story {
  readonly code: string
  readonly name: string
  readonly variety: string
  readonly block: string
  readonly pick: string
  /** tonnes, Brix, pH, acid, malic, nitrogen, fruit C, rot %, L/t */
  readonly fruit: readonly [number, number, number, number, number, number, number, number, number]
  readonly style: Style
  /** Where the winemaker leaves the style's own answers. */
  readonly answers: Partial<Choices>
  readonly finishOn: string
  readonly signed?: { readonly conflict: string; readonly reason: string; readonly at: string }
}

/** Twelve invented lots; between them each kind of answer occurs at least once. */
const STORIES: readonly Story[] = [
  {
    code: 'L01',
    name: 'Lower block Sauvignon',
    variety: 'Sauvignon Blanc',
    block: 'Lower block',
    pick: '2027-03-11',
    fruit: [8.8, 21.6, 3.18, 8.1, 3.2, 165, 14, 1, 700],
    style: 'crisp',
    answers: { fruitCoolToC: 9, claims: ['variety', 'vintage', 'place'] },
    finishOn: '2027-07-27',
  },
  {
    code: 'L02',
    name: 'Top block Sauvignon',
    variety: 'Sauvignon Blanc',
    block: 'Top block',
    pick: '2027-03-12',
    fruit: [4.3, 22.3, 3.24, 7.6, 2.9, 190, 13, 1, 690],
    style: 'crisp',
    answers: {
      pickMode: 'hand',
      pickHour: 6,
      processing: 'destem',
      // 40 mg/L goes in after pressing: SO2 on the skins would draw phenols (K22 stays on show).
      so2CrushMgPerL: 40,
      skinContactH: 4,
      clarityNtu: 100,
      yeast: 'non-saccharomyces',
      fermentTempC: 15,
      fermentEndTempC: 16,
      // Stays where it fermented, on clean lees, until summer.
      grossLees: 'keep',
      fineLeesMonths: 3,
      stirring: 'monthly',
    },
    finishOn: '2027-07-20',
  },
  {
    code: 'L03',
    name: 'Chardonnay east',
    variety: 'Chardonnay',
    block: 'East slope',
    pick: '2027-03-22',
    fruit: [5.4, 22.8, 3.28, 7.2, 3.0, 185, 12, 1, 620],
    style: 'textured',
    answers: {
      fruitCooling: 'none',
      vesselParts: [
        { vessel: 'new-barrel', share: 5 / 16 },
        { vessel: 'used-barrel', share: 11 / 16 },
      ],
      oakNewShare: 5 / 16,
      fermentTempC: 18,
      fermentEndTempC: 22,
      maturationC: 15,
      claims: ['variety', 'vintage'],
    },
    finishOn: '2028-02-23',
  },
  {
    code: 'L04',
    name: 'Chardonnay west',
    variety: 'Chardonnay',
    block: 'West slope',
    pick: '2027-03-24',
    fruit: [5.0, 22.1, 3.22, 7.6, 3.3, 205, 13, 1, 620],
    style: 'textured',
    answers: {
      fruitCooling: 'cold-room',
      so2CrushMgPerL: 30,
      clarityNtu: 150,
      vessel: 'cask',
      vesselParts: [
        { vessel: 'cask', share: 0.61, malolactic: false },
        { vessel: 'used-barrel', share: 0.39, malolactic: true },
      ],
      yeast: 'selected',
      fermentTempC: 18,
      fermentEndTempC: 20,
      malolactic: 'partial',
      malolacticShare: 0.39,
      stirring: 'by-taste',
      oak: 'cask',
      oakNewShare: undefined,
      expectsOakAroma: false,
    },
    finishOn: '2028-03-08',
  },
  {
    code: 'L05',
    name: 'Chardonnay for sparkling',
    variety: 'Chardonnay',
    block: 'Creek block',
    pick: '2027-02-24',
    fruit: [5.6, 18.2, 2.98, 11.2, 5.4, 210, 15, 1, 635],
    style: 'sparkling',
    answers: {},
    finishOn: '2027-09-14',
  },
  {
    code: 'L06',
    name: 'Pinot Noir pressed white',
    variety: 'Pinot Noir',
    block: 'Hill block',
    pick: '2027-02-27',
    fruit: [3.4, 18.6, 3.05, 10.4, 4.8, 195, 15, 1, 635],
    style: 'sparkling',
    answers: {
      so2CrushMgPerL: 40,
      fermentTempC: 16,
      malolactic: 'after',
      grossLees: 'keep',
      // Malolactic wants warmth: 18 C until malic is gone (S26).
      maturationC: 18,
      firstSo2: 'after-malolactic',
      finish: 'blend',
    },
    finishOn: '2027-06-01',
  },
  {
    code: 'L07',
    name: 'Riesling slope',
    variety: 'Riesling',
    block: 'Slate slope',
    pick: '2027-03-30',
    fruit: [5.8, 20.4, 2.98, 9.4, 4.1, 150, 13, 1, 620],
    style: 'offdry',
    answers: { fruitCooling: 'none', settleH: 40, stopSugarGPerL: 22, maturationC: 4 },
    finishOn: '2027-08-03',
  },
  {
    code: 'L08',
    name: 'Riesling late picked',
    variety: 'Riesling',
    block: 'River bend',
    pick: '2027-04-27',
    fruit: [1.6, 33.5, 3.25, 8.8, 3.6, 120, 14, 4, 420],
    style: 'sweet',
    answers: {
      pickMode: 'hand',
      pickPasses: 2,
      pickHour: 9,
      pressProgram: 'long-slow',
      so2CrushMgPerL: 60,
      settleH: 36,
      vessel: 'used-barrel',
      yeastGPerHL: 50,
      fermentTempC: 18,
      endPoint: 'stop',
      stopSugarGPerL: 110,
      oak: 'used',
    },
    finishOn: '2028-10-10',
    signed: {
      conflict: 'K09',
      reason: 'Goes back to jacketed T13 with more than 20 g/L in hand, and is stopped there.',
      at: '2027-02-15T10:00',
    },
  },
  {
    code: 'L09',
    name: 'Gewurztraminer',
    variety: 'Gewurztraminer',
    block: 'Terrace',
    pick: '2027-03-18',
    fruit: [2.6, 23.4, 3.52, 5.6, 2.2, 170, 13, 1, 680],
    style: 'crisp',
    answers: {
      pickMode: 'hand',
      pickHour: 6,
      // Juice under 12 C does not float (K29).
      fruitCoolToC: 12,
      skinContactH: 12,
      so2CrushMgPerL: 30,
      clarification: 'flotation',
      clarityNtu: 100,
      fermentTempC: 16,
      fermentEndTempC: undefined,
      endPoint: 'stop',
      stopSugarGPerL: 8,
      firstSo2: 'at-once',
    },
    finishOn: '2027-07-15',
  },
  {
    code: 'L10',
    name: 'Pinot Gris on skins',
    variety: 'Pinot Gris',
    block: 'Gravel block',
    pick: '2027-04-01',
    fruit: [2.0, 23.0, 3.35, 6.4, 2.4, 200, 13, 1, 680],
    style: 'orange',
    answers: {
      skinFermentDays: 46,
      vesselParts: [
        { vessel: 'amphora', share: 0.4, skinFermentDays: 46 },
        { vessel: 'open-tank', share: 0.6, skinFermentDays: 12 },
      ],
      fineLeesMonths: 6,
    },
    finishOn: '2028-02-08',
  },
  {
    code: 'L11',
    name: 'Chenin river block',
    variety: 'Chenin Blanc',
    block: 'River block',
    pick: '2027-03-19',
    fruit: [4.2, 22.0, 3.2, 8.0, 3.1, 180, 14, 1, 690],
    style: 'textured',
    answers: {
      fruitCooling: 'none',
      processing: 'destem',
      juiceOxygen: 'oxidative',
      so2CrushMgPerL: 0,
      pressProgram: 'standard',
      clarification: 'cold-settle',
      clarityNtu: 150,
      settleH: 24,
      vessel: 'concrete',
      // The egg holds 1,440 L and the cube 1,284 L of the racked juice.
      vesselParts: [
        { vessel: 'concrete', share: 0.53 },
        { vessel: 'concrete', share: 0.47 },
      ],
      yeast: 'vineyard-starter',
      fermentTempC: 20,
      malolactic: 'refuse',
      // Never leaves the concrete before November.
      grossLees: 'keep',
      fineLeesMonths: 7,
      stirring: 'none',
      oak: 'none',
      oakNewShare: undefined,
      expectsOakAroma: false,
      expectsSlowOxygen: false,
      firstSo2: 'after-dry',
      maturationC: 12,
    },
    finishOn: '2027-12-07',
  },
  {
    code: 'L12',
    name: 'Colombard flat',
    variety: 'Colombard',
    block: 'Flat',
    pick: '2027-03-16',
    fruit: [12.0, 20.8, 3.22, 7.4, 2.8, 160, 15, 1, 720],
    style: 'neutral',
    answers: { oak: 'pieces', oakPiecesGPerL: 1.5, finish: 'bulk' },
    finishOn: '2027-06-10',
  },
]

/** A choice answered `undefined` is a default taken away, not a hole in the record. */
const answered = (choices: Choices): Choices =>
  Object.fromEntries(Object.entries(choices).filter(([, value]) => value !== undefined)) as Choices

function fruitOf(f: Story['fruit']): Fruit {
  const [tonnes, brix, pH, acidGPerLTartaric, malicGPerL, yanMgPerL, fruitTempC, rotPct, yieldLPerT] = f
  return { tonnes, brix, pH, acidGPerLTartaric, malicGPerL, yanMgPerL, fruitTempC, rotPct, yieldLPerT }
}

export function lots(dates: Dates): readonly Lot[] {
  return STORIES.map((s) => ({
    id: s.code,
    code: s.code,
    name: s.name,
    variety: s.variety,
    block: s.block,
    place: 'Ostrel',
    vintage: dates.on(s.pick).year,
    pickOn: dates.on(s.pick),
    fruit: fruitOf(s.fruit),
    choices: answered({ ...defaultsFor(s.style), ...s.answers, finishOn: dates.on(s.finishOn).toString() }),
    choicesVersion: 1,
    signed: s.signed
      ? [{ conflict: s.signed.conflict, reason: s.signed.reason, personId: 'alex', at: dates.at(s.signed.at) }]
      : [],
    parents: [],
    vesselPins: HOLDS[s.code] ?? {},
  }))
}
