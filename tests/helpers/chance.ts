/** A small seeded generator (mulberry32): the same seed always gives the same numbers. */
export interface Chance {
  /** 0 <= x < 1 */
  readonly share: () => number
  /** A whole number in [from, to]. */
  readonly whole: (from: number, to: number) => number
  readonly pick: <T>(list: readonly T[]) => T
  readonly maybe: (share: number) => boolean
}

export function chanceOf(seed: number): Chance {
  let state = seed >>> 0
  const share = () => {
    state = (state + 0x6d2b79f5) >>> 0
    let t = state
    t = Math.imul(t ^ (t >>> 15), t | 1)
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61)
    return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296
  }
  const whole = (from: number, to: number) => from + Math.floor(share() * (to - from + 1))
  return { share, whole, pick: (list) => list[whole(0, list.length - 1)]!, maybe: (p) => share() < p }
}
