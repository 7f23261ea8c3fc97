/** Moves of announced work that wait for a word: found while planning, kept under the cellar's lock, decided by who leads. */

import type { ProposedMoveJson } from '../db/json.ts'
import { addProposal, changeProposal, findOpenProposal } from '../db/queries/proposals.ts'
import type { Db } from '../db/types.ts'
import { newId } from './ids.ts'
import { type AnnouncedMove, proposedMove } from './protocol/announced.ts'
import { type Because, type Known, movedBecause } from './protocol/moved.ts'
import type { CellarPlan } from './protocol/types.ts'
import type { Temporal } from './time.ts'

const CLOCK_WORDS = 'time went on'

/** One proposal is open at a time: a newer plan's takes its place, and where nothing is left to ask it has passed. */
export async function keepProposal(
  db: Db,
  cellarId: string,
  given: {
    readonly before: Known
    readonly free: CellarPlan
    readonly moves: readonly AnnouncedMove[]
    readonly because: Because | undefined
    readonly zone: string
    readonly nowAt: Temporal.Instant
  },
): Promise<void> {
  const { moves, nowAt } = given
  const words = given.because?.words ?? CLOCK_WORDS
  const open = await findOpenProposal(db, cellarId)
  const waits = moves.some((m) => !m.applied)
  if (!open && moves.length === 0) return
  if (open && !waits) await changeProposal(db, cellarId, open.id, { state: 'passed' })
  if (moves.length === 0) return
  const why = movedBecause(given.before, given.free, given.zone, nowAt, given.because)
  const told = moves.map((m) => proposedMove(m, why.get(m.was.key)?.words ?? words))
  if (open && waits) {
    // The same question again is not a new one: it keeps its id and the cause that raised it.
    await changeProposal(db, cellarId, open.id, {
      moves: told,
      ...(sameQuestion(open.moves, told) ? {} : { because: words }),
    })
    return
  }
  const row = { id: newId(nowAt.epochMilliseconds), madeAt: nowAt, because: words, moves: told }
  await addProposal(db, cellarId, { ...row, state: waits ? 'open' : 'passed' })
}

const sameQuestion = (a: readonly ProposedMoveJson[], b: readonly ProposedMoveJson[]): boolean => {
  const sign = (moves: readonly ProposedMoveJson[]) =>
    moves
      .filter((m) => !m.applied)
      .map((m) => `${m.key} ${m.toStartAt} ${m.toPeople.join()}`)
      .join()
  return sign(a) === sign(b)
}
