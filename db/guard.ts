import { AsyncLocalStorage } from 'node:async_hooks'

/** The embedded database has one connection: a query on the outer handle inside a transaction would wait for ever. */
export const OUTER_HANDLE =
  'Use tx, not db, inside a transaction: the embedded database has one connection and would wait for itself for ever'

/** Both drivers' ways to ask, and to open a transaction. A server would not hang, but would read past the transaction. */
const QUERIES: ReadonlySet<PropertyKey> = new Set(['query', 'exec', 'sql', 'unsafe'])
const BEGINS: ReadonlySet<PropertyKey> = new Set(['transaction', 'begin'])

type Work = (tx: unknown) => Promise<unknown>

/**
 * The same client, but a query on it from inside one of its own transactions throws instead of hanging.
 * Work that a transaction started and left behind may query again once the transaction has ended.
 */
export function guardTransactions<T extends object>(client: T): T {
  const current = new AsyncLocalStorage<{ open: boolean }>()
  const refuse = () => {
    if (current.getStore()?.open) throw new Error(OUTER_HANDLE)
  }
  const inside = (work: Work): Work => {
    return async (tx) => {
      const transaction = { open: true }
      try {
        return await current.run(transaction, () => work(tx))
      } finally {
        transaction.open = false
      }
    }
  }
  return new Proxy(client, {
    get(target, key) {
      const value: unknown = Reflect.get(target, key, target)
      if (typeof value !== 'function') return value
      if (!QUERIES.has(key) && !BEGINS.has(key)) return value.bind(target)
      return (...args: unknown[]) => {
        refuse()
        const given = BEGINS.has(key) ? args.map((a) => (typeof a === 'function' ? inside(a as Work) : a)) : args
        return (value as (...a: unknown[]) => unknown).apply(target, given)
      }
    },
  })
}
