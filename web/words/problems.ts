/** Why the cellar said no, in the words of the one who reads. */
import type { Problem } from '../api.ts'
import type { Word } from './types.ts'
import { say, tongue } from './words.ts'

const PROBLEM: Readonly<Record<string, Word>> = {
  offline: 'noConnection',
  'not-ours': 'notOurs',
  'already-done': 'alreadyDone',
  'already-skipped': 'alreadySkipped',
  'already-cancelled': 'alreadyCancelled',
  'not-skippable': 'notSkippable',
  'measure-again': 'measureAgain',
  'not-valid': 'notValid',
  'not-yours': 'notYours',
  'nothing-to-undo': 'nothingToUndo',
  'unknown-task': 'unknownTask',
  'too-large': 'tooLarge',
  'not-so-much-there': 'notSoMuchThere',
  'above-the-limit': 'aboveTheLimit',
  'another-lot-there': 'anotherLotThere',
  'malolactic-awaited': 'so2Locked',
  'changed-meanwhile': 'changedMeanwhile',
  'ticked-again': 'tickedAgain',
  'second-tick': 'secondTick',
  'second-dose': 'secondDose',
  'old-plan': 'oldPlan',
  'withdrawn-task': 'withdrawnTask',
  'left-out-meanwhile': 'leftOutMeanwhile',
}
/** Why the cellar said no. A no that the words do not know keeps the server's own. */
export const problemWords = (problem: Pick<Problem, 'type' | 'title'>): string => {
  const word = PROBLEM[problem.type]
  return word ? say(word) : problem.title
}

/** Its title on any page. English keeps the server's own. */
export function problemTitle(problem: Problem): string {
  if (tongue() === 'en') return problem.title
  if (problem.type === 'broken') return say('pageBroke')
  // Nothing was to be stored: then nothing is said about that.
  return problem.type === 'offline' && !problem.detail ? say('noServer') : problemWords(problem)
}
