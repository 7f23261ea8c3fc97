import type { Machine } from '../protocol/facts.ts'

const machine = (code: string, kind: Machine['kind'], name: string, capacity = 1): Machine => ({
  id: code,
  code,
  kind,
  name,
  capacity,
  bookings: [],
})

/** Chillers give 85 % of their plate, less what pipes and tanks lose standing (common practice). */
const CHILLER_PLATE_KW = 25
const USABLE_SHARE = 0.85
const STANDING_KW = 4

export const MACHINES: readonly Machine[] = [
  {
    ...machine('PA', 'press', 'Pneumatic press, 4,000 L'),
    press: {
      wholeBunchT: [0.7, 2.4],
      destemmedT: [1.8, 6],
      programH: { standard: 2.5, 'whole-bunch-gentle': 3.25, 'sparkling-fractions': 4 },
      washH: 0.75,
      rinseH: 0.25,
    },
  },
  {
    ...machine('PB', 'press', 'Pneumatic press, 1,800 L'),
    press: {
      wholeBunchT: [0.3, 1.1],
      destemmedT: [0.8, 2.7],
      programH: { standard: 2.25, 'whole-bunch-gentle': 3.25, 'sparkling-fractions': 4, 'long-slow': 6 },
      washH: 0.5,
      rinseH: 0.25,
    },
  },
  {
    ...machine('PC', 'basket-press', 'Basket press, 600 L'),
    press: { fermentedT: [0.3, 1], programH: { basket: 3 }, washH: 0.5, rinseH: 0 },
  },
  machine('DS', 'destemmer', 'Destemmer with must pump', 5),
  machine('P2', 'pump', 'Lobe pump 2', 6000),
  machine('P3', 'pump', 'Lobe pump 3', 6000),
  machine('FL', 'flotation-pump', 'Flotation pump', 6000),
  machine('SF', 'filter', 'Sheet filter', 2000),
  machine('FK', 'forklift', 'Forklift'),
  machine('CR', 'cold-room', 'Cold room, 8 t at 6 C', 8),
  machine('CH', 'chiller', 'Chiller, 25 kW', CHILLER_PLATE_KW * USABLE_SHARE - STANDING_KW),
  machine('HT', 'warm-water', 'Warm-water loop, 8 kW', 8),
  machine('ST', 'sorting-table', 'Sorting table'),
  machine('SC', 'scale', 'Platform scale'),
  machine('MX', 'heat-exchanger', 'Must chiller, tube in tube'),
  machine('LB', 'lab', 'Laboratory bench'),
  machine('BW', 'barrel-washer', 'Barrel washer'),
  machine('HW', 'hot-water', 'Hot-water unit'),
]
