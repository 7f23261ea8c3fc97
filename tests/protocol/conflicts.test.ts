import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { choices, STYLES } from '../../api/protocol/choices.ts'
import { blocking, CONFLICTS, conflictOf, findConflicts } from '../../api/protocol/conflicts.ts'
import { defaultsFor } from '../../api/protocol/defaults.ts'
import { referenceOf } from '../../api/protocol/references.ts'
import { stepOf } from '../../api/protocol/steps.ts'
import { anyContext, type Change, contextOf } from './cases.ts'

interface Case {
  readonly id: string
  readonly level: 'block' | 'warn' | 'info'
  /** In the words of the table of conflicts. */
  readonly fires: readonly (readonly [words: string, change: Change])[]
  readonly silent: readonly (readonly [words: string, change: Change])[]
}

const skins = { processing: 'destem', skinContactH: 6 } as const
const after = { malolactic: 'after', firstSo2: 'after-malolactic', maturationC: 16 } as const
const stop = { endPoint: 'stop', stopSugarGPerL: 20, firstSo2: 'at-once' } as const
const stirred = { stirring: 'weekly', grossLees: 'keep' } as const
const barrel = { vessel: 'used-barrel', fermentTempC: 18 } as const
const tirage = { finish: 'tirage' } as const

/** Levels and limits as the table of conflicts prints them; each limit is tried on both sides. */
const CASES: readonly Case[] = [
  {
    id: 'K01',
    level: 'block',
    fires: [
      ['malolactic after, SO2 at crush 61', { choices: { ...after, so2CrushMgPerL: 61 } }],
      ['allowed, 80', { choices: { ...after, malolactic: 'allow', so2CrushMgPerL: 80 } }],
      ['co-inoculated, 61', { choices: { ...after, malolactic: 'co', so2CrushMgPerL: 61 } }],
      ['partial, 61', { choices: { ...after, malolactic: 'partial', so2CrushMgPerL: 61 } }],
      ['total SO2 measured at 65', { choices: after, more: { latest: { 'total-so2': 65 } } }],
    ],
    silent: [
      ['SO2 at crush 60', { choices: { ...after, so2CrushMgPerL: 60 } }],
      ['malolactic refused, 80', { choices: { so2CrushMgPerL: 80 } }],
      [
        'total SO2 measured at 65 once malic is gone',
        { choices: after, more: { latest: { 'total-so2': 65, malic: 0.05 } } },
      ],
    ],
  },
  {
    id: 'K02',
    level: 'block',
    fires: [
      ['wanted, rests at 14', { choices: { ...after, maturationC: 14 } }],
      [
        'rests at 14 and malic is still 0.1',
        { choices: { ...after, maturationC: 14 }, more: { latest: { malic: 0.1 } } },
      ],
      ['the wine is measured at 13', { choices: after, more: { phase: 'wine', latest: { temp: 13 } } }],
    ],
    silent: [
      ['rests at 15', { choices: { ...after, maturationC: 15 } }],
      ['rests at 14 and malic is 0.09', { choices: { ...after, maturationC: 14 }, more: { latest: { malic: 0.09 } } }],
      ['refused, rests at 4', { choices: { maturationC: 4 } }],
      ['a juice at 10 is not yet the wine', { choices: after, more: { phase: 'juice', latest: { temp: 10 } } }],
    ],
  },
  {
    id: 'K03',
    level: 'warn',
    fires: [
      ['pH 3.05 in the fruit', { choices: after, fruit: { pH: 3.05 } }],
      ['pH measured at 3.09', { choices: after, more: { latest: { pH: 3.09 } } }],
    ],
    silent: [
      ['pH 3.1', { choices: after, fruit: { pH: 3.1 } }],
      [
        'the reading at 3.2 overrides the fruit at 3.0',
        { choices: after, fruit: { pH: 3 }, more: { latest: { pH: 3.2 } } },
      ],
    ],
  },
  {
    id: 'K04',
    level: 'block',
    fires: [
      ['first SO2 after dry', { choices: { ...after, firstSo2: 'after-dry' } }],
      ['first SO2 at once', { choices: { ...after, firstSo2: 'at-once' } }],
      ['after pressing, 12 days on skins', { style: 'orange', choices: { skinFermentDays: 12 } }],
    ],
    silent: [
      ['first SO2 after malolactic', { choices: after }],
      ['after pressing, 45 days on skins', { style: 'orange' }],
      [
        'after dry, malolactic declared done',
        { choices: { ...after, firstSo2: 'after-dry' }, more: { malolacticDone: true } },
      ],
    ],
  },
  {
    id: 'K05',
    level: 'warn',
    fires: [
      ['refused, stirred, 0.5 molecular', { choices: { stirring: 'monthly', molecularSo2MgPerL: 0.5 } }],
      ['refused, rests at 15, 0.5 molecular', { choices: { maturationC: 15, molecularSo2MgPerL: 0.5 } }],
      [
        'refused, measured at 16, 0.5 molecular',
        { choices: { molecularSo2MgPerL: 0.5 }, more: { phase: 'wine', latest: { temp: 16 } } },
      ],
    ],
    silent: [
      ['refused, rests at 14, 0.5 molecular', { choices: { maturationC: 14, molecularSo2MgPerL: 0.5 } }],
      ['refused, stirred, 0.6 molecular', { choices: { stirring: 'monthly', molecularSo2MgPerL: 0.6 } }],
    ],
  },
  {
    id: 'K06',
    level: 'block',
    fires: [['ambient, 31 mg/L', { choices: { yeast: 'ambient', so2CrushMgPerL: 31 } }]],
    silent: [
      ['ambient, 30 mg/L', { choices: { yeast: 'ambient', so2CrushMgPerL: 30 } }],
      ['selected, 60 mg/L', { choices: { so2CrushMgPerL: 60 } }],
    ],
  },
  {
    id: 'K07',
    level: 'warn',
    fires: [
      ['ambient at 13', { choices: { yeast: 'ambient', fermentTempC: 13 } }],
      [
        'ambient, measured at 12 while it ferments',
        { choices: { yeast: 'ambient', fermentTempC: 18 }, more: { phase: 'ferment', latest: { temp: 12 } } },
      ],
    ],
    silent: [
      [
        'ambient at 18, the juice still at 10',
        { choices: { yeast: 'ambient', fermentTempC: 18 }, more: { phase: 'juice', latest: { temp: 10 } } },
      ],
      ['ambient at 14', { choices: { yeast: 'ambient', fermentTempC: 14 } }],
      ['selected at 13', {}],
    ],
  },
  {
    id: 'K08',
    level: 'warn',
    fires: [['ambient, stop', { choices: { ...stop, yeast: 'ambient' } }]],
    silent: [
      ['selected, stop', { choices: stop }],
      ['ambient, dry', { choices: { yeast: 'ambient' } }],
    ],
  },
  {
    id: 'K09',
    level: 'block',
    fires: [
      ...(['used-barrel', 'new-barrel', 'puncheon', 'cask', 'amphora', 'concrete', 'unjacketed-tank'] as const).map(
        (vessel) => [`stop in ${vessel}`, { choices: { ...stop, vessel } }] as const,
      ),
      [
        'stop with one part in barrels',
        {
          choices: {
            ...stop,
            vesselParts: [
              { vessel: 'jacketed-tank', share: 0.6 },
              { vessel: 'used-barrel', share: 0.4 },
            ],
          },
        },
      ],
    ],
    silent: [
      ['stop in a jacketed tank', { choices: stop }],
      ['stop in a pressure tank', { choices: { ...stop, vessel: 'pressure-tank' } }],
      ['stop in concrete with a plate', { choices: { ...stop, vessel: 'concrete' }, more: { concretePlate: true } }],
      ['dry in a barrel', { choices: barrel }],
    ],
  },
  {
    id: 'K10',
    level: 'block',
    fires: [['stop, no filter', { choices: { ...stop, filtration: 'none' } }]],
    silent: [
      ['stop, sterile', { choices: { ...stop, filtration: 'sterile' } }],
      ['dry, no filter', { choices: { filtration: 'none' } }],
    ],
  },
  {
    id: 'K11',
    level: 'block',
    fires: [
      ['stop, no filter in the cellar', { choices: stop, more: { filterInCellar: false } }],
      // 3,000 L from 13 to 4 C in 24 h: 3000 x 1.03 x 3.9 x 9 / 86,400 = 1.26 kW.
      ['stop, 1.2 kW free', { choices: stop, more: { chillerFreeKW: 1.2 } }],
    ],
    silent: [
      ['stop, 1.3 kW free', { choices: stop, more: { chillerFreeKW: 1.3, filterInCellar: true } }],
      ['stop, nothing known of the cellar', { choices: stop }],
      ['dry, no filter in the cellar', { more: { filterInCellar: false, chillerFreeKW: 0 } }],
    ],
  },
  {
    id: 'K12',
    level: 'warn',
    fires: [['stop, malolactic after', { choices: { ...stop, malolactic: 'after' } }]],
    silent: [
      ['stop, refused', { choices: stop }],
      ['dry, malolactic after', { choices: after }],
    ],
  },
  {
    id: 'K13',
    level: 'warn',
    fires: [
      ['stirred, kept, juice planned at 151 NTU', { choices: { ...stirred, clarityNtu: 151 } }],
      [
        'stirred, kept, juice measured at 190 NTU',
        { choices: stirred, more: { phase: 'juice', latest: { ntu: 190 } } },
      ],
      [
        'stirred, kept, not cleared at all',
        { choices: { ...stirred, clarification: 'none', juiceOxygen: 'moderate' } },
      ],
    ],
    silent: [
      ['stirred, kept, 150 NTU', { choices: { ...stirred, clarityNtu: 150 } }],
      ['stirred, racked off, 200 NTU', { choices: { stirring: 'weekly', clarityNtu: 200 } }],
      ['kept, not stirred, 200 NTU', { choices: { grossLees: 'keep', clarityNtu: 200 } }],
    ],
  },
  {
    id: 'K14',
    level: 'info',
    fires: [['monthly in a jacketed tank', { choices: { stirring: 'monthly' } }]],
    silent: [
      ['weekly in barrels', { choices: { ...barrel, stirring: 'weekly' } }],
      ['a tank with a mixer', { choices: { stirring: 'monthly' }, more: { mixerInCellar: true } }],
      ['a tank, not stirred', {}],
    ],
  },
  {
    id: 'K15',
    level: 'warn',
    fires: [
      ['weekly, volatile acidity rising', { choices: { ...barrel, stirring: 'weekly' }, more: { vaRising: true } }],
      [
        'weekly, free SO2 8 after malolactic',
        {
          choices: { ...barrel, ...after, stirring: 'weekly' },
          more: { malolacticDone: true, latest: { 'free-so2': 8 } },
        },
      ],
      [
        'weekly, no SO2 ever, malolactic done',
        { choices: { ...barrel, ...after, firstSo2: 'never', stirring: 'weekly' }, more: { malolacticDone: true } },
      ],
    ],
    silent: [
      ['monthly, volatile acidity rising', { choices: { ...barrel, stirring: 'monthly' }, more: { vaRising: true } }],
      [
        'weekly, free SO2 10 after malolactic',
        {
          choices: { ...barrel, ...after, stirring: 'weekly' },
          more: { malolacticDone: true, latest: { 'free-so2': 10 } },
        },
      ],
      [
        'weekly, malolactic still running without SO2',
        { choices: { ...barrel, ...after, stirring: 'weekly' }, more: { latest: { malic: 1.4, 'free-so2': 2 } } },
      ],
    ],
  },
  {
    id: 'K16',
    level: 'block',
    fires: [['pieces, slow oxygen expected', { choices: { oak: 'pieces', expectsSlowOxygen: true } }]],
    silent: [
      ['pieces, aroma expected', { choices: { oak: 'pieces', expectsOakAroma: true } }],
      ['used barrels, slow oxygen expected', { choices: { ...barrel, oak: 'used', expectsSlowOxygen: true } }],
      ['pieces in barrels that breathe', { choices: { ...barrel, oak: 'pieces', expectsSlowOxygen: true } }],
    ],
  },
  {
    id: 'K17',
    level: 'block',
    fires: [
      ['cask, aroma expected', { choices: { vessel: 'cask', oak: 'cask', fermentTempC: 18, expectsOakAroma: true } }],
      [
        'fermented in a cask, no other oak, aroma expected',
        { choices: { vessel: 'cask', fermentTempC: 18, expectsOakAroma: true } },
      ],
      ['fermented in steel, rests in a cask, aroma expected', { choices: { oak: 'cask', expectsOakAroma: true } }],
      [
        'barrels 6 years old, aroma expected',
        { choices: { ...barrel, oak: 'used', expectsOakAroma: true }, more: { barrelYears: 6 } },
      ],
    ],
    silent: [
      ['cask, no aroma expected', { choices: { vessel: 'cask', oak: 'cask', fermentTempC: 18 } }],
      [
        'barrels 5 years old, aroma expected',
        { choices: { ...barrel, oak: 'used', expectsOakAroma: true }, more: { barrelYears: 5 } },
      ],
      [
        'cask with pieces, aroma expected',
        { choices: { vessel: 'cask', oak: 'pieces', fermentTempC: 18, expectsOakAroma: true } },
      ],
    ],
  },
  {
    id: 'K18',
    level: 'warn',
    fires: [
      ['crisp, 41 % new', { choices: { vessel: 'used-barrel', oak: 'new', oakNewShare: 0.41, fermentTempC: 16 } }],
      [
        'crisp, half of it in new barrels',
        {
          choices: {
            vesselParts: [
              { vessel: 'jacketed-tank', share: 0.5 },
              { vessel: 'new-barrel', share: 0.5 },
            ],
            fermentTempC: 16,
          },
        },
      ],
      ['off-dry, 50 % new', { style: 'offdry', choices: { oak: 'new', oakNewShare: 0.5 } }],
    ],
    silent: [
      [
        'crisp, a third of it in new barrels',
        {
          choices: {
            vesselParts: [
              { vessel: 'jacketed-tank', share: 0.7 },
              { vessel: 'new-barrel', share: 0.3 },
            ],
            fermentTempC: 16,
          },
        },
      ],
      ['crisp, 40 % new', { choices: { vessel: 'used-barrel', oak: 'new', oakNewShare: 0.4, fermentTempC: 16 } }],
      ['textured, 60 % new', { style: 'textured', choices: { oakNewShare: 0.6 } }],
    ],
  },
  {
    id: 'K19',
    level: 'warn',
    fires: [
      ['crisp, protected, new barrels', { choices: { vessel: 'new-barrel', oak: 'new', fermentTempC: 16 } }],
      [
        'textured for thiols, protected, 30 % new',
        { style: 'textured', choices: { juiceOxygen: 'protective' }, more: { thiolGoal: true } },
      ],
    ],
    silent: [
      ['crisp, protected, used barrels', { choices: { ...barrel, oak: 'used' } }],
      [
        'crisp, moderate oxygen, new barrels',
        { choices: { vessel: 'new-barrel', oak: 'new', juiceOxygen: 'moderate', fermentTempC: 16 } },
      ],
      [
        'textured, protected, 30 % new, no thiols wanted',
        { style: 'textured', choices: { juiceOxygen: 'protective' } },
      ],
    ],
  },
  {
    id: 'K20',
    level: 'block',
    fires: [
      ['barrels at 13, no cool room', { choices: { ...barrel, fermentTempC: 13 }, more: { coldRoomInCellar: false } }],
      ['barrels at 13 in a room of 12', { choices: { ...barrel, fermentTempC: 13 }, more: { barrelRoomC: 12 } }],
    ],
    silent: [
      ['barrels at 14, no cool room', { choices: { ...barrel, fermentTempC: 14 }, more: { coldRoomInCellar: false } }],
      ['barrels at 13 in a room of 9', { choices: { ...barrel, fermentTempC: 13 }, more: { barrelRoomC: 9 } }],
      ['a tank at 13, no cool room', { more: { coldRoomInCellar: false } }],
    ],
  },
  {
    id: 'K21',
    level: 'warn',
    fires: [
      [
        '6 h on skins, fruit at 16, not cooled',
        { choices: { ...skins, fruitCooling: 'none' }, fruit: { fruitTempC: 16 } },
      ],
      [
        'cold room chosen, none in the cellar',
        {
          choices: { ...skins, fruitCooling: 'cold-room' },
          fruit: { fruitTempC: 20 },
          more: { coldRoomInCellar: false },
        },
      ],
      [
        'must chiller chosen, none in the cellar',
        {
          choices: { ...skins, fruitCooling: 'must-chiller' },
          fruit: { fruitTempC: 20 },
          more: { mustChillerInCellar: false },
        },
      ],
    ],
    silent: [
      ['6 h on skins, fruit at 15', { choices: { ...skins, fruitCooling: 'none' }, fruit: { fruitTempC: 15 } }],
      [
        '6 h on skins, fruit at 20, a night in the cold room',
        {
          choices: { ...skins, fruitCooling: 'cold-room' },
          fruit: { fruitTempC: 20 },
          more: { coldRoomInCellar: true },
        },
      ],
      [
        '6 h on skins, fruit at 20, dry ice',
        { choices: { ...skins, fruitCooling: 'dry-ice' }, fruit: { fruitTempC: 20 } },
      ],
      [
        '6 h on skins, fruit at 20, must chiller',
        { choices: { ...skins, fruitCooling: 'must-chiller' }, fruit: { fruitTempC: 20 } },
      ],
      ['no skin contact, fruit at 25', { choices: { fruitCooling: 'none' }, fruit: { fruitTempC: 25 } }],
    ],
  },
  {
    id: 'K22',
    level: 'warn',
    fires: [['6 h on skins, 31 mg/L', { choices: { ...skins, so2CrushMgPerL: 31 } }]],
    silent: [
      ['6 h on skins, 30 mg/L', { choices: { ...skins, so2CrushMgPerL: 30 } }],
      ['no skin contact, 50 mg/L', {}],
    ],
  },
  {
    id: 'K23',
    level: 'block',
    fires: [
      ['6 h on skins, 6 % rot expected', { choices: skins, fruit: { rotPct: 6 } }],
      ['6 h on skins, 8 % rot at the scale', { choices: skins, more: { latest: { rot: 8 } } }],
    ],
    silent: [
      ['6 h on skins, 5 % rot', { choices: skins, fruit: { rotPct: 5 } }],
      [
        '6 h on skins, 2 % at the scale where 8 % was feared',
        { choices: skins, fruit: { rotPct: 8 }, more: { latest: { rot: 2 } } },
      ],
      ['no skin contact, 10 % rot', { fruit: { rotPct: 10 } }],
    ],
  },
  {
    id: 'K24',
    level: 'block',
    fires: [
      ['skin contact, whole bunch', { choices: { skinContactH: 4, processing: 'whole-bunch', pickMode: 'hand' } }],
      ['ferment on skins, whole bunch', { style: 'orange', choices: { processing: 'whole-bunch' } }],
    ],
    silent: [
      ['skin contact, destemmed', { choices: { skinContactH: 4, processing: 'destem' } }],
      ['whole bunch, no skins', { choices: { processing: 'whole-bunch', pickMode: 'hand' } }],
    ],
  },
  {
    id: 'K25',
    level: 'block',
    fires: [
      ['tirage, free SO2 16', { choices: tirage, more: { latest: { 'free-so2': 16 } } }],
      ['tirage, ascorbic acid used', { choices: tirage, more: { ascorbicUsed: true } }],
      ['tirage, sorbic acid used', { choices: tirage, more: { sorbicUsed: true } }],
    ],
    silent: [
      ['tirage, free SO2 15', { choices: tirage, more: { latest: { 'free-so2': 15 } } }],
      ['bottling, free SO2 30', { more: { latest: { 'free-so2': 30 }, ascorbicUsed: true } }],
    ],
  },
  {
    id: 'K26',
    level: 'warn',
    fires: [
      ['tirage, alcohol measured at 11.6', { choices: tirage, more: { latest: { alcohol: 11.6 } } }],
      ['tirage, the pick gives 12.0', { choices: tirage, more: { potentialAlcoholPctVol: 12 } }],
      ['tirage, picked at 22 Brix', { choices: tirage, fruit: { brix: 22 } }],
    ],
    silent: [
      ['tirage, alcohol measured at 11.5', { choices: tirage, more: { latest: { alcohol: 11.5 } } }],
      ['tirage, picked at 18.2 Brix', { choices: tirage, fruit: { brix: 18.2 } }],
      ['bottling, 14 %', { more: { latest: { alcohol: 14 } } }],
    ],
  },
  {
    id: 'K27',
    level: 'warn',
    fires: [
      ['39 NTU, no nutrients', { choices: { clarityNtu: 39, nutrientTargetMgPerL: 0, fermentTempC: 16 } }],
      ['39 NTU at 12', { choices: { clarityNtu: 39, fermentTempC: 12 } }],
      [
        'measured at 25 NTU, set at 12',
        { choices: { fermentTempC: 12 }, more: { phase: 'juice', latest: { ntu: 25 } } },
      ],
    ],
    silent: [
      ['40 NTU at 12', { choices: { clarityNtu: 40, fermentTempC: 12 } }],
      ['39 NTU, fed, at 13', { choices: { clarityNtu: 39, fermentTempC: 13 } }],
      [
        'filtered wine of 1 NTU is not juice',
        { choices: { fermentTempC: 12 }, more: { phase: 'wine', latest: { ntu: 1 } } },
      ],
    ],
  },
  {
    id: 'K28',
    level: 'warn',
    fires: [['not cleared, protected', { choices: { clarification: 'none' } }]],
    silent: [
      ['not cleared, some air', { choices: { clarification: 'none', juiceOxygen: 'moderate' } }],
      ['short settle, protected', { choices: { clarification: 'short-settle' } }],
    ],
  },
  {
    id: 'K29',
    level: 'block',
    fires: [
      [
        'flotation, juice chilled to 11',
        { style: 'neutral', choices: { fruitCooling: 'must-chiller', fruitCoolToC: 11 } },
      ],
      ['flotation, juice measured at 11', { style: 'neutral', more: { phase: 'juice', latest: { temp: 11 } } }],
      ['flotation without the wait', { style: 'neutral', more: { enzymeWaited: false } }],
    ],
    silent: [
      ['flotation at 12', { style: 'neutral', fruit: { fruitTempC: 12 } }],
      ['settling at 11', { fruit: { fruitTempC: 11 } }],
      ['floated long ago, wine at 4', { style: 'neutral', more: { phase: 'wine', latest: { temp: 4 } } }],
    ],
  },
  {
    id: 'K30',
    level: 'block',
    fires: [
      ['oxidative, 20 mg/L', { choices: { juiceOxygen: 'oxidative', so2CrushMgPerL: 20 } }],
      [
        'oxidative, ascorbic acid',
        { choices: { juiceOxygen: 'oxidative', so2CrushMgPerL: 0 }, more: { ascorbicUsed: true } },
      ],
    ],
    silent: [
      ['oxidative, no SO2', { choices: { juiceOxygen: 'oxidative', so2CrushMgPerL: 0 } }],
      ['moderate, 50 mg/L', { choices: { juiceOxygen: 'moderate' } }],
    ],
  },
  {
    id: 'K31',
    level: 'warn',
    fires: [
      ...(['new', 'used', 'cask'] as const).map(
        (oak) =>
          [
            `fermented in steel, rests 4 months in ${oak} wood, never SO2`,
            { choices: { ...after, firstSo2: 'never', fineLeesMonths: 4, oak } },
          ] as const,
      ),
      [
        'never SO2, 4 months in barrels, malolactic unfinished',
        { choices: { ...barrel, ...after, firstSo2: 'never', fineLeesMonths: 4 } },
      ],
    ],
    silent: [
      [
        'never SO2, 4 months, no wood yet known but pieces in steel',
        { choices: { ...after, firstSo2: 'never', fineLeesMonths: 4, oak: 'pieces' } },
      ],
      ['never SO2, 3 months in barrels', { choices: { ...barrel, ...after, firstSo2: 'never', fineLeesMonths: 3 } }],
      [
        'never SO2, 4 months in barrels, malic gone',
        { choices: { ...barrel, ...after, firstSo2: 'never', fineLeesMonths: 4 }, more: { latest: { malic: 0.05 } } },
      ],
      ['never SO2, 4 months in steel', { choices: { ...after, firstSo2: 'never', fineLeesMonths: 4 } }],
    ],
  },
  {
    id: 'K32',
    level: 'warn',
    fires: [
      ['no stabilisation, sterile, bottled', { choices: { proteinStability: 'none', tartrateStability: 'none' } }],
      [
        'bulk that will travel long',
        { choices: { tartrateStability: 'none', finish: 'bulk' }, more: { marketLong: true } },
      ],
    ],
    silent: [
      ['bentonite and cold, sterile', {}],
      [
        'no stabilisation, polished only',
        { choices: { proteinStability: 'none', tartrateStability: 'none', filtration: 'polish' } },
      ],
      ['sold at the door at once', { choices: { tartrateStability: 'none' }, more: { marketLong: false } }],
    ],
  },
  {
    id: 'K33',
    level: 'warn',
    fires: [
      [
        'bentonite after the additive',
        { choices: { tartrateStability: 'additive' }, more: { bentoniteAfterAdditive: true } },
      ],
    ],
    silent: [
      [
        'bentonite before the additive',
        { choices: { tartrateStability: 'additive' }, more: { bentoniteAfterAdditive: false } },
      ],
    ],
  },
  {
    id: 'K34',
    level: 'block',
    fires: [['400 L have no vessel', { more: { day: { vesselShortL: 400 } } }]],
    silent: [['all litres have a vessel', { more: { day: { vesselShortL: 0 } } }]],
  },
  {
    id: 'K35',
    level: 'block',
    fires: [['86 % of the chiller', { more: { day: { coolingShare: 0.86 } } }]],
    silent: [['85 % of the chiller', { more: { day: { coolingShare: 0.85 } } }]],
  },
  {
    id: 'K36',
    level: 'block',
    fires: [['press hours 1.1 times the shifts', { more: { day: { pressShare: 1.1 } } }]],
    silent: [['press hours just fill the shifts', { more: { day: { pressShare: 1 } } }]],
  },
  {
    id: 'K37',
    level: 'warn',
    fires: [
      ['variety claimed, 84 % left', { choices: { claims: ['variety'] }, more: { composition: { variety: 0.84 } } }],
      [
        'vintage claimed, 94 % left, the rule asks 95',
        { choices: { claims: ['vintage'] }, more: { composition: { vintage: 0.94 }, shareLimit: 0.95 } },
      ],
    ],
    silent: [
      ['variety claimed, 85 % left', { choices: { claims: ['variety'] }, more: { composition: { variety: 0.85 } } }],
      [
        'variety claimed, 76 % left, the rule asks 75',
        { choices: { claims: ['variety'] }, more: { composition: { variety: 0.76 }, shareLimit: 0.75 } },
      ],
      ['nothing claimed, 50 %', { more: { composition: { variety: 0.5, place: 0.2 } } }],
    ],
  },
  {
    id: 'K38',
    level: 'warn',
    fires: [
      [
        'claimed, 29 days',
        { style: 'orange', choices: { claims: ['white-wine-with-maceration'], skinFermentDays: 29 } },
      ],
      [
        'claimed, one part with 12 days',
        {
          style: 'orange',
          choices: {
            claims: ['white-wine-with-maceration'],
            skinFermentDays: 46,
            vesselParts: [
              { vessel: 'amphora', share: 0.4 },
              { vessel: 'open-tank', share: 0.6, skinFermentDays: 12 },
            ],
          },
        },
      ],
    ],
    silent: [
      [
        'claimed, 30 days',
        { style: 'orange', choices: { claims: ['white-wine-with-maceration'], skinFermentDays: 30 } },
      ],
      ['not claimed, 10 days', { style: 'orange', choices: { skinFermentDays: 10 } }],
    ],
  },
  {
    id: 'K39',
    level: 'warn',
    fires: [
      ['sweet, ambient', { style: 'sweet', choices: { yeast: 'ambient', so2CrushMgPerL: 20 } }],
      ['sweet, no nutrients', { style: 'sweet', choices: { nutrientTargetMgPerL: 0 } }],
    ],
    silent: [
      ['sweet, selected and fed', { style: 'sweet' }],
      ['textured, ambient', { style: 'textured' }],
    ],
  },
  {
    id: 'K40',
    level: 'warn',
    fires: [['machine, whole bunch', { choices: { processing: 'whole-bunch' } }]],
    silent: [
      ['machine, destemmed and crushed', {}],
      ['hand, whole bunch', { choices: { processing: 'whole-bunch', pickMode: 'hand' } }],
    ],
  },
]

const holds = (id: string, change: Change) => findConflicts(contextOf(change)).some((rule) => rule.id === id)

describe('conflicts', () => {
  it('are K01 to K40, each with a case here', () => {
    const table = Array.from({ length: 40 }, (_, i) => `K${String(i + 1).padStart(2, '0')}`)
    expect(CONFLICTS.map((rule) => rule.id).filter((id) => id.startsWith('K'))).toEqual(table)
    expect(CASES.map((entry) => entry.id)).toEqual(table)
  })

  for (const entry of CASES)
    describe(`${entry.id} (${entry.level}): ${conflictOf(entry.id).when}`, () => {
      it('has the level of the table', () => expect(conflictOf(entry.id).level).toBe(entry.level))
      for (const [words, change] of entry.fires)
        it(`stands against: ${words}`, () => expect(holds(entry.id, change)).toBe(true))
      for (const [words, change] of entry.silent)
        it(`is silent for: ${words}`, () => expect(holds(entry.id, change)).toBe(false))
    })

  it('say why, show a way out, and point at answers, steps and sources that exist', () => {
    for (const rule of CONFLICTS) {
      expect(rule.reason, rule.id).toMatch(/\.$/)
      expect(rule.wayOut, rule.id).toMatch(/\.$/)
      expect(rule.fields.length, rule.id).toBeGreaterThan(0)
      for (const field of rule.fields) expect(Object.keys(choices.shape), `${rule.id} ${field}`).toContain(field)
      if (rule.firstStep) expect(stepOf(rule.firstStep).id).toBe(rule.firstStep)
      if (rule.basis.kind === 'source') expect(rule.basis.refs?.length, rule.id).toBeGreaterThan(0)
      for (const ref of rule.basis.refs ?? []) expect(referenceOf(ref), `${rule.id} ${ref}`).toBeDefined()
    }
  })

  it('come with the gravest first', () => {
    const found = findConflicts(contextOf({ choices: { ...stop, vessel: 'cask', yeast: 'ambient', fermentTempC: 11 } }))
    const levels = found.map((rule) => rule.level)
    expect(levels).toEqual([...levels].sort((a, b) => 'bwi'.indexOf(a.charAt(0)) - 'bwi'.indexOf(b.charAt(0))))
    expect(new Set(levels)).toEqual(new Set(['block', 'warn', 'info']))
  })

  it('for any answers and any readings, even nonsense, are found without failing, and twice the same', () => {
    fc.assert(
      fc.property(anyContext, (context) => {
        const before = JSON.stringify(context)
        const first = findConflicts(context).map((rule) => rule.id)
        expect(findConflicts(context).map((rule) => rule.id)).toEqual(first)
        expect(JSON.stringify(context)).toBe(before)
        expect(new Set(first).size).toBe(first.length)
      }),
      { numRuns: 500 },
    )
  })
})

describe('answers that do not go together (common practice)', () => {
  const together: readonly (readonly [id: string, words: string, wrong: Change, right: Change])[] = [
    [
      'H01',
      'shares of 60 and 30 %',
      {
        choices: {
          vesselParts: [
            { vessel: 'jacketed-tank', share: 0.6 },
            { vessel: 'cask', share: 0.3 },
          ],
        },
      },
      { style: 'textured' },
    ],
    ['H02', 'a stop without its sugar', { choices: { endPoint: 'stop' } }, { style: 'offdry' }],
    [
      'H03',
      'a must chiller for whole bunches',
      { style: 'textured', choices: { fruitCooling: 'must-chiller' } },
      { style: 'textured' },
    ],
    [
      'H04',
      'a part through malolactic, nobody knows which',
      { choices: { ...after, malolactic: 'partial' } },
      { choices: { ...after, malolactic: 'partial', malolacticShare: 0.4 } },
    ],
    ['H05', 'on skins for no days', { style: 'orange', choices: { skinFermentDays: 0 } }, { style: 'orange' }],
    ['H05', 'destemmed and pressed, with days on skins', { choices: { skinFermentDays: 5 } }, {}],
    [
      'H06',
      'sweetened and only polished',
      { choices: { endPoint: 'dry-then-sweeten', filtration: 'polish' } },
      { choices: { endPoint: 'dry-then-sweeten' } },
    ],
  ]
  for (const [id, words, wrong, right] of together)
    it(`${id} warns of ${words}, and not of its cure`, () => {
      expect(conflictOf(id).level).toBe('warn')
      expect(holds(id, wrong)).toBe(true)
      expect(holds(id, right)).toBe(false)
    })

  it('partial malolactic is clear where the vessels say which', () => {
    const parts = [
      { vessel: 'cask', share: 0.62 },
      { vessel: 'used-barrel', share: 0.38, malolactic: true },
    ] as const
    expect(holds('H04', { choices: { ...after, malolactic: 'partial', vesselParts: [...parts] } })).toBe(false)
  })
})

describe('the defaults of a style', () => {
  for (const style of STYLES) {
    it(`${style} raise no block and no signature`, () => {
      const found = findConflicts({ ...contextOf(), choices: defaultsFor(style) })
      expect(blocking(found, []).map((rule) => rule.id)).toEqual([])
      expect(found.filter((rule) => rule.id.startsWith('H'))).toEqual([])
    })
  }

  it('sparkling from ripe fruit is warned of its alcohol, from early fruit is not', () => {
    expect(holds('K26', { style: 'sparkling' })).toBe(true)
    expect(holds('K26', { style: 'sparkling', fruit: { brix: 18.2, pH: 2.98 } })).toBe(false)
  })
})

describe('a block', () => {
  const found = findConflicts(contextOf({ choices: { ...stop, vessel: 'used-barrel', fermentTempC: 18 } }))

  it('keeps a protocol from being saved', () => {
    expect(blocking(found, []).map((rule) => rule.id)).toEqual(['K09'])
  })

  it('gives way to a reason the winemaker signed', () => {
    expect(blocking(found, [{ conflict: 'K09', reason: 'Goes to tank T12 at 140 g/L' }])).toEqual([])
  })

  it('does not give way to an empty reason or to one for another conflict', () => {
    expect(blocking(found, [{ conflict: 'K09', reason: '  ' }]).map((rule) => rule.id)).toEqual(['K09'])
    expect(blocking(found, [{ conflict: 'K10', reason: 'filter rented' }]).map((rule) => rule.id)).toEqual(['K09'])
  })

  it('is never made of warnings', () => {
    const warned = findConflicts(contextOf({ choices: { processing: 'whole-bunch' } }))
    expect(warned.map((rule) => rule.id)).toContain('K40')
    expect(blocking(warned, [])).toEqual([])
  })

  it('of unknown name is a bug', () => expect(() => conflictOf('K99')).toThrow(RangeError))
})
