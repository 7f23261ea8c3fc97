import type { Machine } from './protocol/facts.ts'

/**
 * What a small cellar usually has, so that a first lot is dated at once. Common practice for some 50 t; each is shown
 * under Cellar, where its figures are to be set to what stands there.
 */
export const USUAL_MACHINES: readonly Omit<Machine, 'id'>[] = [
  {
    ...usual('PR', 'press', 'Press, about 2,500 L'),
    press: {
      wholeBunchT: [0.4, 1.5],
      destemmedT: [1, 3.75],
      programH: { short: 1.5, standard: 2.5, 'whole-bunch-gentle': 3.25, 'sparkling-fractions': 4, 'long-slow': 6 },
      washH: 0.75,
      rinseH: 0.25,
    },
  },
  {
    ...usual('BP', 'basket-press', 'Basket press'),
    press: { fermentedT: [0.2, 1], programH: { basket: 3 }, washH: 0.5, rinseH: 0 },
  },
  usual('DS', 'destemmer', 'Destemmer with must pump', 5),
  usual('PU', 'pump', 'Transfer pump', 6000),
  usual('FL', 'flotation-pump', 'Flotation pump', 6000),
  usual('FI', 'filter', 'Sheet filter', 2000),
  usual('FK', 'forklift', 'Forklift'),
  usual('CR', 'cold-room', 'Cold room, 5 t', 5),
  usual('CH', 'chiller', 'Chiller, usable kW', 17),
  usual('WW', 'warm-water', 'Warm-water loop, kW', 8),
  usual('ST', 'sorting-table', 'Sorting table'),
  usual('SC', 'scale', 'Scale'),
  usual('MC', 'heat-exchanger', 'Must chiller'),
  usual('LB', 'lab', 'Laboratory bench'),
  usual('BW', 'barrel-washer', 'Barrel washer'),
  usual('HW', 'hot-water', 'Hot-water unit'),
]

function usual(code: string, kind: Machine['kind'], name: string, capacity = 1): Omit<Machine, 'id'> {
  return { code, kind, name, capacity, bookings: [] }
}
