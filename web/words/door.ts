/** The words before anybody is signed in: the pages that need them fetch the English, a catalogue brings its own. */
import { problemOf, type Refusal } from '../api.ts'
import { DOOR } from './en/door.ts'
import { filled } from './speech.ts'
import type { DoorWord } from './types.ts'
import { spoken } from './words.ts'

export const sayDoor = (word: DoorWord, values?: Readonly<Record<string, string | number>>): string =>
  filled((spoken()?.door ?? DOOR)[word], values)

const NOES: Readonly<Record<string, DoorWord>> = {
  'wrong-sign-in': 'wrongSignIn',
  'wrong-number': 'wrongNumber',
  'unknown-seat': 'unknownSeat',
  'wrong-second-step': 'wrongSecond',
  'first-step': 'firstStep',
  'link-spent': 'linkSpent',
  'too-many': 'tooMany',
  'tries-spent': 'triesSpent',
  'many-at-once': 'manyAtOnce',
  'broken-off': 'brokenOff',
}

/** A no at the door in the words of the one who reads; English keeps the server's own, which say more. */
export function doorNo(error: unknown): unknown {
  const problem = problemOf(error)
  const word = NOES[problem.type]
  if (!word || !spoken()) return error
  const title = sayDoor(word)
  const seconds = word === 'tooMany' ? /\d+/.exec(problem.detail ?? '')?.[0] : undefined
  const detail = seconds === undefined ? undefined : sayDoor('againIn', { seconds })
  return Object.assign(new Error(title), { problem: { ...problem, title, detail } }) satisfies Refusal
}
