/** The phone's own storage. Writes of operations ask for strict durability: they are on the disk before anybody says so. */
import { type DBSchema, type IDBPDatabase, type IDBPObjectStore, openDB, type StoreNames } from 'idb'
import type { Row } from './operation.ts'
import type { KeptAnswer, Store } from './shelf.ts'

interface Floor extends DBSchema {
  operations: { key: number; value: Row; indexes: { opId: string; state: string } }
  /** Answers to read while there is no signal, by their path. */
  view: { key: string; value: KeptAnswer }
  meta: { key: string; value: unknown }
}

export const NAME = 'leesway-floor'

/** What a browser says of work on a storage that it closes: it is closing, it was cut off, its files are gone. */
const CLOSED = new Set(['InvalidStateError', 'AbortError', 'UnknownError'])
/** Before the second try and those after it. Removing takes a browser some hundredths of a second. Chosen by us. */
const PAUSES_MS = [0, 30, 100, 300, 1_000]

/**
 * The browser may close the storage under an open page, as it does when a person's data are cleared at sign-out; then it
 * is opened again for whoever comes next.
 *
 * @throws where the browser keeps nothing: private windows, storage switched off
 */
export async function openStore(name: string = NAME): Promise<Store> {
  let opening: Promise<IDBPDatabase<Floor>> | undefined
  let isLeft = false
  const opened = () => {
    opening ??= openDB<Floor>(name, 1, {
      upgrade(fresh) {
        const operations = fresh.createObjectStore('operations', { keyPath: 'seq', autoIncrement: true })
        operations.createIndex('opId', 'opId', { unique: true })
        operations.createIndex('state', 'state')
        fresh.createObjectStore('view', { keyPath: 'path' })
        fresh.createObjectStore('meta')
      },
      // Another tab has a newer page: let it go on.
      blocking: () => void leave(),
      terminated: () => {
        opening = undefined
      },
    })
    opening.catch(() => {
      opening = undefined
    })
    return opening
  }
  const leave = async () => {
    isLeft = true
    ;(await opening)?.close()
  }
  /**
   * What was cut off or refused because the storage closed did not happen, so it may be begun again; while the browser
   * still removes what was there, it refuses a new opening, too.
   */
  const using = async <T>(work: (db: IDBPDatabase<Floor>) => Promise<T>): Promise<T> => {
    for (const pauseMs of PAUSES_MS) {
      const was = opened()
      try {
        return await work(await was)
      } catch (error) {
        if (isLeft || !(error instanceof DOMException && CLOSED.has(error.name))) throw error
        if (opening === was) opening = undefined
        await new Promise((next) => setTimeout(next, pauseMs))
      }
    }
    return work(await opened())
  }
  /** Each request and the whole are waited for: all of them are refused when the storage closes, and none unheard. */
  const within = <N extends StoreNames<Floor>, M extends 'readonly' | 'readwrite', T>(
    name: N,
    mode: M,
    work: (store: IDBPObjectStore<Floor, [N], N, M>) => Promise<T>,
    options?: IDBTransactionOptions,
  ): Promise<T> =>
    using(async (db) => {
      const tx = db.transaction(name, mode, options)
      const [done] = await Promise.all([work(tx.store), tx.done])
      return done
    })
  const strictly = (
    work: (store: IDBPObjectStore<Floor, ['operations'], 'operations', 'readwrite'>) => Promise<unknown>[],
  ) =>
    within('operations', 'readwrite', async (store) => void (await Promise.all(work(store))), { durability: 'strict' })
  await opened()
  return {
    add: (rows, changed = []) =>
      strictly((store) => [...rows.map((row) => store.add(row as Row)), ...changed.map((row) => store.put(row))]),
    put: (rows, gone = []) =>
      strictly((store) => [...rows.map((row) => store.put(row)), ...gone.map((seq) => store.delete(seq))]),
    list: () => within('operations', 'readonly', (store) => store.getAll()),
    meta: async <T>(key: string) => (await within('meta', 'readonly', (store) => store.get(key))) as T | undefined,
    setMeta: async (key, value) => void (await within('meta', 'readwrite', (store) => store.put(value, key))),
    view: (path) => within('view', 'readonly', (store) => store.get(path)),
    setView: async (answers) =>
      void (await within('view', 'readwrite', (store) => Promise.all(answers.map((answer) => store.put(answer))))),
    clearView: () => within('view', 'readwrite', (store) => store.clear()),
    close: leave,
  }
}
