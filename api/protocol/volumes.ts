import type { Choices } from './choices.ts'

/** Shares lost at each move. Practice: juice lees 3-8 %, gross lees 2-4 %, fining lees 2-10 %, filters under 1 %; common practice. */
export const LOSS = {
  settle: 0.06,
  shortSettle: 0.03,
  flotation: 0.04,
  smallLot: 0.08,
  gross: 0.03,
  stop: 0.024,
  rackOut: 0.02,
  skins: 0.02,
  fining: 0.025,
  filter: 0.007,
} as const

/** Litres of must that a tonne of crushed fruit makes before pressing. Common practice. */
export const MUST_L_PER_T = 880

/** How full a vessel may be: fermenting 90 %, settling 95 %, stored 99 %, barrels in ferment 89 % (88-92). Common practice. */
export const FILL = { ferment: 0.9, settle: 0.95, store: 0.99, barrelFerment: 0.89, barrelMost: 0.92 } as const

/** Sparkling fractions, litres a tonne (S39). */
export const SPARKLING_L_PER_T = { cuvee: 510, taille: 125 } as const

export function settleLoss(c: Choices): number {
  if (c.clarification === 'none') return 0
  if (c.clarification === 'flotation' || c.clarification === 'centrifuge') return LOSS.flotation
  return c.clarification === 'short-settle' ? LOSS.shortSettle : LOSS.settle
}
