/** Why the ledger says no, in words that name vessel, lot and litres. */
import type { HTTPException } from 'hono/http-exception'
import { problem } from '../problem.ts'
import type { Refusal } from './draft.ts'

export interface Names {
  readonly vessel: (id: string) => string
  readonly lot: (id: string) => string
}

export const litres = (ml: number): string => `${(ml / 1000).toLocaleString('en', { maximumFractionDigits: 3 })} L`

export function refusalProblem(r: Refusal, names: Names): HTTPException {
  const vessel = names.vessel(r.vesselId)
  const had = r.hadLotId === undefined ? 'nothing' : `${litres(r.hadMl)} of ${names.lot(r.hadLotId)}`
  if (r.why === 'would-not-stand') {
    const s = r.standing
    const what = s ? `${s.cause}, ${litres(s.volumeMl)}, ${s.at}` : 'a later entry'
    return problem(409, 'would-not-stand', 'An entry that was written later would not stand', {
      detail: `${vessel} would hold ${had} at ${what}. Correct that entry first, then this one.`,
    })
  }
  if (r.why === 'above-the-limit')
    return problem(422, 'above-the-limit', `${vessel} would run over`, {
      detail: `It holds ${litres(r.hadMl)} then; ${litres(r.askedMl)} more are above what it takes. Split the wine or choose another vessel.`,
    })
  if (r.why === 'another-lot-there')
    return problem(409, 'another-lot-there', `Another wine is in ${vessel}`, {
      detail: `By the ledger it holds ${had}. Blend it knowingly, or correct what was written before.`,
    })
  if (r.why === 'not-so-much-there')
    return problem(422, 'not-so-much-there', `There is not so much in ${vessel}`, {
      detail: `By the ledger it holds ${had} then; ${litres(r.askedMl)} were asked for. Measured more? Write the difference as a gain first.`,
    })
  return problem(422, 'not-booked', 'The ledger cannot take this entry', { detail: `${r.why}: ${vessel}.` })
}
