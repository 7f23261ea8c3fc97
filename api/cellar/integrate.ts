/** A smooth curve kept as accepted steps: value and slope at each, joined by cubic Hermite pieces. */
export interface Track {
  readonly hours: readonly number[]
  readonly values: readonly Float64Array[]
  readonly slopes: readonly Float64Array[]
}

export type Slope = (hour: number, state: Float64Array, out: Float64Array) => void

export interface IntegrateOptions {
  readonly relTol: number
  readonly absTol: number
  readonly maxStepH: number
  /** Ends early when this says so. */
  readonly done?: (hour: number, state: Float64Array) => boolean
}

const A21 = 1 / 2
const A32 = 3 / 4
const B1 = 2 / 9
const B2 = 1 / 3
const B3 = 4 / 9
const E1 = 5 / 72
const E2 = -1 / 12
const E3 = -1 / 9
const E4 = 1 / 8

/**
 * Adaptive Runge-Kutta pair of order 3(2). Bogacki & Shampine 1989, Appl. Math. Lett. 2:321-325.
 * `breaks` are hours where the slope jumps; a step never crosses one.
 */
export function integrate(
  slope: Slope,
  startH: number,
  start: Float64Array,
  breaks: readonly number[],
  endH: number,
  options: IntegrateOptions,
): Track {
  const size = start.length
  const hours = [startH]
  const values: Float64Array[] = [Float64Array.from(start)]
  const slopes: Float64Array[] = []
  const trial = new Float64Array(size)
  const k2 = new Float64Array(size)
  const k3 = new Float64Array(size)
  const stops = [...breaks.filter((h) => h > startH && h < endH), endH]
  let hour = startH
  let state: Float64Array = values[0] as Float64Array
  let stepH = Math.min(0.5, options.maxStepH)
  let k1: Float64Array = new Float64Array(size)
  slope(hour, state, k1)
  slopes.push(k1)

  for (const stopH of stops) {
    // The slope just after a jump differs from the one just before it.
    if (hour > startH) {
      k1 = new Float64Array(size)
      slope(hour, state, k1)
      hours.push(hour)
      values.push(state)
      slopes.push(k1)
    }
    while (hour < stopH) {
      const left = stopH - hour
      const h = stepH >= left * 0.999 ? left : stepH
      for (let i = 0; i < size; i++) trial[i] = at(state, i) + h * A21 * at(k1, i)
      slope(hour + h * A21, trial, k2)
      for (let i = 0; i < size; i++) trial[i] = at(state, i) + h * A32 * at(k2, i)
      slope(hour + h * A32, trial, k3)
      const next = new Float64Array(size)
      for (let i = 0; i < size; i++) next[i] = at(state, i) + h * (B1 * at(k1, i) + B2 * at(k2, i) + B3 * at(k3, i))
      const k4 = new Float64Array(size)
      // A hair before the stop, so that a jump at the stop belongs to the next piece.
      slope(h === left ? stopH - 1e-9 : hour + h, next, k4)
      let error = 0
      for (let i = 0; i < size; i++) {
        const gap = h * (E1 * at(k1, i) + E2 * at(k2, i) + E3 * at(k3, i) + E4 * at(k4, i))
        const scale = options.absTol + options.relTol * Math.max(Math.abs(at(state, i)), Math.abs(at(next, i)))
        error = Math.max(error, Math.abs(gap) / scale)
      }
      if (error <= 1 || h < 1e-4) {
        hour = h === left ? stopH : hour + h
        state = next
        k1 = k4
        hours.push(hour)
        values.push(next)
        slopes.push(k4)
        if (options.done?.(hour, state)) return { hours, values, slopes }
      }
      stepH = Math.min(options.maxStepH, h * Math.min(4, Math.max(0.2, 0.9 * (error + 1e-12) ** (-1 / 3))))
    }
  }
  return { hours, values, slopes }
}

/** Value of one part of the state at an hour; held flat outside the track. */
export function trackAt(track: Track, part: number, hour: number): number {
  const { hours } = track
  const last = hours.length - 1
  if (hour <= (hours[0] as number)) return part1(track, part, 0)
  if (hour >= (hours[last] as number)) return part1(track, part, last)
  let low = 0
  let high = last
  while (high - low > 1) {
    const mid = (low + high) >> 1
    if ((hours[mid] as number) <= hour) low = mid
    else high = mid
  }
  return hermite(track, part, low, hour)
}

/** First hour at which a falling part of the state comes down to a level; null if it never does. */
export function hourDownTo(track: Track, part: number, level: number): number | null {
  for (let at = 0; at < track.hours.length; at++) {
    if (part1(track, part, at) > level) continue
    if (at === 0) return track.hours[0] as number
    let low = track.hours[at - 1] as number
    let high = track.hours[at] as number
    for (let i = 0; i < 40; i++) {
      const mid = (low + high) / 2
      if (hermite(track, part, at - 1, mid) > level) low = mid
      else high = mid
    }
    return high
  }
  return null
}

function hermite(track: Track, part: number, from: number, hour: number): number {
  const startH = track.hours[from] as number
  const h = (track.hours[from + 1] as number) - startH
  if (h <= 0) return part1(track, part, from + 1)
  const s = (hour - startH) / h
  const y0 = part1(track, part, from)
  const y1 = part1(track, part, from + 1)
  const d0 = (track.slopes[from] as Float64Array)[part] as number
  const d1 = (track.slopes[from + 1] as Float64Array)[part] as number
  const s2 = s * s
  const s3 = s2 * s
  return (2 * s3 - 3 * s2 + 1) * y0 + (s3 - 2 * s2 + s) * h * d0 + (3 * s2 - 2 * s3) * y1 + (s3 - s2) * h * d1
}

const at = (list: Float64Array, i: number): number => list[i] as number
const part1 = (track: Track, part: number, index: number): number =>
  (track.values[index] as Float64Array)[part] as number
