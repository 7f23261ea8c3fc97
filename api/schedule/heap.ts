/** Indices in order of a key, smallest first; equal keys by index, so that order never depends on history. */
export interface Heap {
  readonly push: (i: number, key: number) => void
  readonly pop: () => { readonly i: number; readonly key: number } | undefined
}

export function heapOf(): Heap {
  const items: number[] = []
  const keys: number[] = []
  const before = (a: number, b: number) => keys[a]! < keys[b]! || (keys[a] === keys[b] && items[a]! < items[b]!)
  const swap = (a: number, b: number) => {
    const item = items[a]!
    const key = keys[a]!
    items[a] = items[b]!
    keys[a] = keys[b]!
    items[b] = item
    keys[b] = key
  }
  return {
    push: (i, key) => {
      items.push(i)
      keys.push(key)
      for (let k = items.length - 1; k > 0; ) {
        const up = (k - 1) >> 1
        if (!before(k, up)) return
        swap(k, up)
        k = up
      }
    },
    pop: () => {
      if (items.length === 0) return undefined
      swap(0, items.length - 1)
      const i = items.pop()!
      const key = keys.pop()!
      for (let k = 0; ; ) {
        const left = 2 * k + 1
        if (left >= items.length) break
        const small = left + 1 < items.length && before(left + 1, left) ? left + 1 : left
        if (!before(small, k)) break
        swap(small, k)
        k = small
      }
      return { i, key }
    },
  }
}
