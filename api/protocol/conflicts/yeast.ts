import type { ConflictRule } from '../types.ts'
import { CUSTOM, cannotChill, fermentTempOf, inBarrel, juiceNtuOf, partly, source } from './known.ts'

/** Cooling a tank from its ferment to 4 C within a day: the alarm of the stop (above 4 C after 24 h), in kW. */
function stopKW(volumeL: number, fromC: number): number {
  const deltaC = Math.max(0, fromC - 4)
  // Wine 1.03 kg/L and 3.9 kJ/(kg K), as in the formula of the stop.
  return (volumeL * 1.03 * 3.9 * deltaC) / 86_400
}

/** Who ferments, how cold, and whether it can be stopped. */
export const YEAST_CONFLICTS: readonly ConflictRule[] = [
  {
    id: 'K06',
    level: 'block',
    test: (c) => c.choices.yeast === 'ambient' && c.choices.so2CrushMgPerL > 30,
    when: 'ambient yeast and more than 30 mg/L SO2 at crush',
    reason: 'Strong SO2 kills the wild yeast that is expected to start the ferment.',
    wayOut: '20-30 mg/L at most, or selected yeast.',
    fields: ['yeast', 'so2CrushMgPerL'],
    firstStep: 'dose-so2-fruit',
    basis: partly('the level that slows even cultured yeast; the rest is common practice', 'S29'),
  },
  {
    id: 'K07',
    level: 'warn',
    test: (c) => c.choices.yeast === 'ambient' && fermentTempOf(c) < 14,
    when: 'ambient yeast below 14 C',
    reason: 'Wild starts in cold juice take many days and leave room for bad yeasts.',
    wayOut: 'Start at 16-18 C, then cool.',
    fields: ['yeast', 'fermentTempC'],
    firstStep: 'watch-start',
    basis: source('S73', 'S27'),
  },
  {
    id: 'K08',
    level: 'warn',
    test: (c) => c.choices.yeast === 'ambient' && c.choices.endPoint === 'stop',
    when: 'ambient yeast and a stop with sugar left',
    reason: 'An ambient ferment is slow and uneven, so the stop point cannot be planned to the night.',
    wayOut: 'Selected yeast for stopped wines.',
    fields: ['yeast', 'endPoint'],
    firstStep: 'watch-stop',
    basis: CUSTOM,
  },
  {
    id: 'K09',
    level: 'block',
    test: (c) => c.choices.endPoint === 'stop' && cannotChill(c),
    when: 'a stop with sugar left in a barrel, cask, amphora, concrete without plate, or a tank without jacket',
    reason: 'Stopping needs quick cold and these vessels cannot be chilled, so sugar runs away.',
    wayOut: 'Move to a jacketed tank with more than 20 g/L in hand.',
    fields: ['endPoint', 'vessel', 'vesselParts'],
    firstStep: 'stop-chill',
    basis: source('S59'),
  },
  {
    id: 'K10',
    level: 'block',
    test: (c) => c.choices.endPoint === 'stop' && c.choices.filtration === 'none',
    when: 'a stop with sugar left and no filtration',
    reason: 'Yeast left in sweet wine starts again in the bottle.',
    wayOut: 'Sterile membrane, or ferment dry.',
    fields: ['endPoint', 'filtration'],
    firstStep: 'stop-so2',
    basis: CUSTOM,
  },
  {
    id: 'K11',
    level: 'block',
    test: (c) =>
      c.choices.endPoint === 'stop' &&
      (c.filterInCellar === false ||
        (c.chillerFreeKW !== undefined && c.chillerFreeKW < stopKW(c.volumeL, fermentTempOf(c)))),
    when: 'a stop with sugar left and no filter in the cellar, or too little cold to reach 4 C in a day',
    reason: 'SO2 alone does not stop an active ferment.',
    wayOut: 'Rent cold or a filter, or plan dry and sweeten.',
    fields: ['endPoint'],
    firstStep: 'stop-chill',
    basis: source('S59'),
  },
  {
    id: 'K20',
    level: 'block',
    test: (c) =>
      inBarrel(c.choices) &&
      c.choices.fermentTempC < 14 &&
      (c.barrelRoomC !== undefined ? c.barrelRoomC + 4 > c.choices.fermentTempC : c.coldRoomInCellar === false),
    when: 'a barrel ferment below 14 C that the cellar cannot hold',
    reason: 'A barrel has no jacket and follows the room plus 4-8 C while active.',
    wayOut: 'A cool room, or a tank.',
    fields: ['vessel', 'vesselParts', 'fermentTempC'],
    firstStep: 'fill-barrels',
    basis: CUSTOM,
  },
  {
    id: 'K27',
    level: 'warn',
    test: (c) => juiceNtuOf(c) < 40 && (c.choices.nutrientTargetMgPerL === 0 || fermentTempOf(c) < 13),
    when: 'very clear juice, below 40 NTU, without nutrients or below 13 C',
    reason: 'Very clear cold juice lacks lipids and sticks.',
    wayOut: 'Aim for 80-120 NTU, organic nutrient, double yeast.',
    fields: ['clarityNtu', 'nutrientTargetMgPerL', 'fermentTempC'],
    firstStep: 'check-clarity',
    basis: source('S32', 'S33', 'S29'),
  },
  {
    id: 'K39',
    level: 'warn',
    test: (c) => c.choices.style === 'sweet' && (c.choices.yeast === 'ambient' || c.choices.nutrientTargetMgPerL === 0),
    when: 'late harvest sweet with ambient yeast or without nutrients',
    reason: 'High sugar and rot-poor nitrogen stop weak yeast and raise volatile acidity.',
    wayOut: 'Tolerant yeast, double rate, feed.',
    fields: ['yeast', 'nutrientTargetMgPerL'],
    firstStep: 'inoculate',
    basis: source('S29', 'S65'),
  },
]
