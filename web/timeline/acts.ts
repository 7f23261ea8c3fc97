/** What the desk may ask of the server. It fetches nothing by itself. */
import type { Choices } from '../../api/protocol/choices.ts'
import type { TaskWire } from './wire.ts'

export interface Preview {
  readonly allowed: boolean
  readonly words: string
  readonly changed: readonly TaskWire[]
}

export interface MoveWish {
  readonly startAt: string
  readonly people?: readonly string[]
  readonly andFollows: boolean
}

/** What a pin cannot say: another vessel, or another length where the length is a choice. */
export type Change =
  | { readonly kind: 'vessel'; readonly lot: string; readonly hold: string; readonly vessels: readonly string[] }
  | { readonly kind: 'choices'; readonly lot: string; readonly choices: Partial<Choices> }

export interface Tried {
  readonly id: string
  readonly version: number
  readonly words: string
  readonly changed: readonly TaskWire[]
}

export interface SeasonActs {
  preview(key: string, wish: MoveWish): Promise<Preview>
  /** Keeps a move; false when the server refused and said so. */
  keep(key: string, wish: MoveWish): Promise<boolean>
  undo(key: string): Promise<boolean>
  /** What a change would do to the whole plan; undefined when the server refused and said so. */
  attempt(change: Change, name: string): Promise<Tried | undefined>
  adopt(tried: Tried, said: string): Promise<boolean>
  drop(tried: Tried): Promise<void>
}
