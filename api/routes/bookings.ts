import { fieldProblem, problem } from '../problem.ts'

/** A booking ends after it starts. */
export function checkBookings(bookings: readonly { readonly fromAt: string; readonly toAt: string }[]): void {
  bookings.forEach((b, i) => {
    if (Date.parse(b.toAt) <= Date.parse(b.fromAt))
      throw fieldProblem(`#/bookings/${i}/toAt`, 'must be later than its beginning')
  })
}

export const codeTaken = () =>
  problem(409, 'code-taken', 'This code is in use', { errors: [{ pointer: '#/code', detail: 'is taken' }] })
