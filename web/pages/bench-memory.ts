/** The bench remembers, on this device, what was typed last. A full or forbidden store only costs the memory. */
const keyOf = (name: string) => `bench/${name}`

type Values = Readonly<Record<string, unknown>>

/** What was typed last, of the fields that still are: a calculation may have changed since. */
export function remembered(name: string, fields: readonly string[]): Values {
  try {
    const stored: unknown = JSON.parse(localStorage.getItem(keyOf(name)) ?? '{}')
    if (typeof stored !== 'object' || stored === null) return {}
    return Object.fromEntries(Object.entries(stored).filter(([key]) => fields.includes(key)))
  } catch {
    return {}
  }
}

export function remember(name: string, values: Values): void {
  try {
    localStorage.setItem(keyOf(name), JSON.stringify(values))
  } catch {
    // the sum is worked out all the same
  }
}

export function forget(name: string): void {
  try {
    localStorage.removeItem(keyOf(name))
  } catch {
    // nothing was kept
  }
}
