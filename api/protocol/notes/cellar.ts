import { partly } from './basis.ts'
import { VESSEL_OPTIONS } from './effects.ts'
import type { ChoiceNote } from './types.ts'

/** Choices 8 to 11: press, clear, and where it ferments. */
export const CELLAR_NOTES: readonly ChoiceNote[] = [
  {
    nr: 8,
    keys: ['pressProgram'],
    label: 'Press program',
    question: 'How much pressure, how long?',
    options: {
      pressProgram: [
        { value: 'short', label: 'Short' },
        { value: 'standard', label: 'Standard', does: '2-2.5 h of program.' },
        { value: 'whole-bunch-gentle', label: 'Whole bunch, gentle', does: '3-3.5 h of program.' },
        { value: 'sparkling-fractions', label: 'Sparkling fractions', does: '4 h; 510 and 125 L/t kept apart.' },
        { value: 'long-slow', label: 'Long and slow', does: '5-8 h for shrivelled fruit.' },
        { value: 'basket', label: 'Basket', does: '3-6 h, two people at the turn.' },
      ],
    },
    range: '1.5-8 h, 0.2-2.0 bar',
    wine: 'Gentle: finer juice, less yield.',
    time: '1.5 h to 8 h of press for each load.',
    cost: 'Yield of 350-720 L/t.',
    labour: 'Somebody watches the press.',
    basis: partly('press hours and fraction cuts read; the rest is common practice', 'S38', 'S39'),
  },
  {
    nr: 9,
    keys: ['fractions'],
    label: 'Press fractions',
    question: 'Is the hard press kept apart?',
    options: {
      fractions: [
        { value: '1', label: 'One: all together' },
        { value: '2', label: 'Two: free run and press' },
        { value: '3', label: 'Three' },
      ],
    },
    range: 'cut at 500-600 L/t, or when pH is up by 0.2',
    wine: 'Keeps bitterness and high pH out.',
    time: 'None.',
    cost: 'A second small tank.',
    labour: 'Tasting at the cut.',
    basis: partly('litres of the cuts read', 'S39'),
  },
  {
    nr: 10,
    keys: ['clarification', 'clarityNtu', 'settleH'],
    label: 'Juice clarification',
    question: 'How clear before fermentation?',
    options: {
      clarification: [
        { value: 'none', label: 'None' },
        { value: 'short-settle', label: 'Short settle', does: 'Overnight, about 12 h; some cloud stays.' },
        { value: 'cold-settle', label: 'Cold settle', does: '12-48 h of a cold tank.' },
        { value: 'flotation', label: 'Flotation', does: '4-8 h, at 12 C or more, pectin broken first.' },
        { value: 'centrifuge', label: 'Centrifuge', does: 'At once; a machine to hire.' },
      ],
    },
    range: '0-48 h; target 20-400 NTU, about 100 NTU best balanced',
    wine: 'Clear: esters, cleaner, risk of stuck ferments and volatile acidity. Cloudy: texture, sulphides.',
    time: 'Settling takes 12-48 h of a tank, flotation 4-8 h.',
    cost: 'Enzyme, gas, chilling.',
    labour: 'Racking and work with the lees.',
    basis: partly('NTU, solids and settling against flotation read', 'S32', 'S33', 'S34'),
  },
  {
    nr: 11,
    keys: ['vessel', 'vesselParts'],
    label: 'Fermenting vessel',
    question: 'Where does it ferment?',
    options: { vessel: VESSEL_OPTIONS },
    range: 'parts add up to 1',
    wine: 'Tank: pure. Barrel: oak, oxygen, warmer. Cask, concrete, amphora: texture without oak.',
    time: 'A barrel cannot be chilled or stopped.',
    cost: 'A barrel costs 4-10 times a tank per litre.',
    labour: 'Barrels are filled, topped and stirred by hand.',
    basis: partly('size and age of wood read; the rest is common practice', 'S58'),
  },
]
