import { AsyncLocalStorage } from 'node:async_hooks'
import type { PGlite } from '@electric-sql/pglite'

const inTransaction = new AsyncLocalStorage<true>()

/** The embedded database has one connection: a query on the outer handle inside a transaction would wait for ever. */
export const OUTER_HANDLE =
  'Use tx, not db, inside a transaction: the embedded database has one connection and would wait for itself for ever'

const QUERIES: ReadonlySet<PropertyKey> = new Set(['query', 'exec', 'sql'])

/** The same handle, but a query on it from inside one of its own transactions throws instead of hanging. */
export function guardTransactions<T extends PGlite>(lite: T): T {
  const refuse = () => {
    if (inTransaction.getStore()) throw new Error(OUTER_HANDLE)
  }
  return new Proxy(lite, {
    get(target, key) {
      const value: unknown = Reflect.get(target, key, target)
      if (key === 'transaction')
        return (work: (tx: unknown) => Promise<unknown>) => {
          refuse()
          return target.transaction((tx) => inTransaction.run(true, () => work(tx)))
        }
      if (typeof value !== 'function') return value
      if (!QUERIES.has(key)) return value.bind(target)
      return (...args: unknown[]) => {
        refuse()
        return (value as (...a: unknown[]) => unknown).apply(target, args)
      }
    },
  })
}
