/** The answer of a pure function that may properly say no. A bug throws instead. */
export type Result<T, Why extends string = string> = Ok<T> | No<Why>

export interface Ok<T> {
  readonly ok: true
  readonly value: T
}

export interface No<Why extends string> {
  readonly ok: false
  readonly why: Why
}

export const ok = <T>(value: T): Ok<T> => ({ ok: true, value })

export const no = <Why extends string>(why: Why): No<Why> => ({
  ok: false,
  why,
})
