import { say } from '../words/words.ts'

/** `1 record`, `3 records`. */
export const records = (n: number): string => (n === 1 ? say('oneRecord') : say('manyRecords', { n }))
