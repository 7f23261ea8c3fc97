import type { Facts } from '../facts.ts'
import { USUAL_SIZES } from '../steps.ts'
import type { StepSizes } from '../types.ts'

export const sizesOfHouse = (facts: Facts): StepSizes => ({
  ...USUAL_SIZES,
  vessels: facts.vessels.filter((v) => v.kind !== 'barrel').length,
})
