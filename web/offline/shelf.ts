/** What the phone's storage can do; `store.ts` does it. */
import type { NewRow, Row } from './operation.ts'

export interface KeptAnswer {
  readonly path: string
  readonly person: string
  readonly body: unknown
  readonly asOfMs: number
}

export interface Store {
  readonly add: (rows: readonly NewRow[], changed?: readonly Row[]) => Promise<void>
  readonly put: (rows: readonly Row[], gone?: readonly number[]) => Promise<void>
  readonly list: () => Promise<Row[]>
  readonly meta: <T>(key: string) => Promise<T | undefined>
  readonly setMeta: (key: string, value: unknown) => Promise<void>
  readonly view: (path: string) => Promise<KeptAnswer | undefined>
  readonly setView: (answers: readonly KeptAnswer[]) => Promise<void>
  readonly clearView: () => Promise<void>
  readonly close: () => void
}
