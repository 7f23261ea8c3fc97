import type { OperationAnswerJson } from '../../db/json.ts'
import type { Because } from '../protocol/moved.ts'

/** What became of an operation, and whether the plan must follow. */
export interface Applied extends OperationAnswerJson {
  readonly because?: Because
}
