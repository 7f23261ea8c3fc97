/** Whether two plain records say the same; what is absent equals what is undefined. */
export function same(a: unknown, b: unknown): boolean {
  if (Object.is(a, b)) return true
  if (typeof a !== 'object' || typeof b !== 'object' || a === null || b === null) return false
  if (Array.isArray(a)) return Array.isArray(b) && a.length === b.length && a.every((x, k) => same(x, b[k]))
  if (Array.isArray(b)) return false
  const one = a as Readonly<Record<string, unknown>>
  const other = b as Readonly<Record<string, unknown>>
  for (const key in one) if (!same(one[key], other[key])) return false
  for (const key in other) if (other[key] !== undefined && one[key] === undefined) return false
  return true
}
