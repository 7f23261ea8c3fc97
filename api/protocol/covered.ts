/** How much of the time is in at least one span: two things done as one stream are counted once. */
export function covered(spans: readonly (readonly [from: number, to: number])[]): number {
  let sum = 0
  let end = -Infinity
  for (const [from, to] of [...spans].sort((a, b) => a[0] - b[0])) {
    sum += Math.max(0, to - Math.max(from, end))
    end = Math.max(end, to)
  }
  return sum
}
