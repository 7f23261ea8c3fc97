import { FLOOR } from './floor.ts'
import { FRAME } from './frame.ts'

/** The floor's words in English: always here. */
export const EN = { ...FLOOR, ...FRAME } as const
