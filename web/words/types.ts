import type { DOOR } from './en/door.ts'
import type { FLOOR } from './en/floor.ts'
import type { FRAME } from './en/frame.ts'
import type { CautionLead, StepWord } from './keys.ts'

export type FloorWord = keyof typeof FLOOR
export type FrameWord = keyof typeof FRAME
/** Every word of the floor's screens. */
export type Word = FloorWord | FrameWord
/** Of the pages before the sign-in. */
export type DoorWord = keyof typeof DOOR

/** A language beside English. What the server says in English is looked up by its English words. */
export interface Catalogue {
  readonly language: 'es' | 'fr' | 'pt' | 'it' | 'de'
  /** Whether a native speaker of the cellar trade has read it. Until then the screens say so. */
  readonly readByNative: boolean
  readonly ui: Readonly<Record<Word, string>>
  readonly door: Readonly<Record<DoorWord, string>>
  readonly steps: Readonly<Record<StepWord, string>>
  /** By the words that an English caution begins with. */
  readonly cautions: Readonly<Record<CautionLead, string>>
  /** Parts of a task's detail; `#` stands for a figure, in the same order. */
  readonly details: Readonly<Record<string, string>>
  /** Products and things to bring. */
  readonly things: Readonly<Record<string, string>>
}
