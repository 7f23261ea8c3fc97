/** The phone's own storage. Writes of operations ask for strict durability: they are on the disk before anybody says so. */
import { type DBSchema, type IDBPDatabase, type IDBPObjectStore, openDB } from 'idb'
import type { Row } from './operation.ts'
import type { KeptAnswer, Store } from './shelf.ts'

interface Floor extends DBSchema {
  operations: { key: number; value: Row; indexes: { opId: string; state: string } }
  /** Answers to read while there is no signal, by their path. */
  view: { key: string; value: KeptAnswer }
  meta: { key: string; value: unknown }
}

type Operations = IDBPObjectStore<Floor, ['operations'], 'operations', 'readwrite'>

export const NAME = 'leesway-floor'

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
  /** What is refused because the storage is closing was not begun, so it may be begun again. */
  const using = async <T>(work: (db: IDBPDatabase<Floor>) => Promise<T>): Promise<T> => {
    const was = opened()
    try {
      return await work(await was)
    } catch (error) {
      if (isLeft || !(error instanceof DOMException && error.name === 'InvalidStateError')) throw error
      if (opening === was) opening = undefined
      return work(await opened())
    }
  }
  const strictly = (work: (store: Operations) => void) =>
    using(async (db) => {
      const tx = db.transaction('operations', 'readwrite', { durability: 'strict' })
      work(tx.store)
      await tx.done
    })
  await opened()
  return {
    add: (rows, changed = []) =>
      strictly((store) => {
        for (const row of rows) void store.add(row as Row)
        for (const row of changed) void store.put(row)
      }),
    put: (rows, gone = []) =>
      strictly((store) => {
        for (const row of rows) void store.put(row)
        for (const seq of gone) void store.delete(seq)
      }),
    list: () => using((db) => db.getAll('operations')),
    meta: async <T>(key: string) => (await using((db) => db.get('meta', key))) as T | undefined,
    setMeta: async (key, value) => void (await using((db) => db.put('meta', value, key))),
    view: (path) => using((db) => db.get('view', path)),
    setView: (answers) =>
      using(async (db) => {
        const tx = db.transaction('view', 'readwrite')
        for (const answer of answers) void tx.store.put(answer)
        await tx.done
      }),
    clearView: () => using((db) => db.clear('view')),
    close: leave,
  }
}
