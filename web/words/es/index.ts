import type { Catalogue } from '../types.ts'
import { CAUTIONS } from './cautions.ts'
import { DETAILS } from './details.ts'
import { DOOR } from './door.ts'
import { FLOOR } from './floor.ts'
import { FRAME } from './frame.ts'
import { STEPS } from './steps.ts'
import { THINGS } from './things.ts'

/** Spanish. From memory: not read by a native speaker of the trade. */
export const ES: Catalogue = {
  language: 'es',
  readByNative: false,
  ui: { ...FLOOR, ...FRAME },
  door: DOOR,
  steps: STEPS,
  cautions: CAUTIONS,
  details: DETAILS,
  things: THINGS,
}
