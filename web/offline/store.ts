/** The phone's own storage. Writes of operations ask for strict durability: they are on the disk before anybody says so. */
import { type DBSchema, type IDBPDatabase, openDB } from 'idb'
import type { Row } from './operation.ts'
import type { KeptAnswer, Store } from './shelf.ts'

interface Floor extends DBSchema {
  operations: { key: number; value: Row; indexes: { opId: string; state: string } }
  /** Answers to read while there is no signal, by their path. */
  view: { key: string; value: KeptAnswer }
  meta: { key: string; value: unknown }
}

export const NAME = 'leesway-floor'

/** @throws where the browser keeps nothing: private windows, storage switched off */
export async function openStore(name: string = NAME): Promise<Store> {
  const db: IDBPDatabase<Floor> = await openDB<Floor>(name, 1, {
    upgrade(fresh) {
      const operations = fresh.createObjectStore('operations', { keyPath: 'seq', autoIncrement: true })
      operations.createIndex('opId', 'opId', { unique: true })
      operations.createIndex('state', 'state')
      fresh.createObjectStore('view', { keyPath: 'path' })
      fresh.createObjectStore('meta')
    },
    // Another tab has a newer page: let it go on.
    blocking: () => db.close(),
  })
  const strictly = () => db.transaction('operations', 'readwrite', { durability: 'strict' })
  return {
    add: async (rows, changed = []) => {
      const tx = strictly()
      for (const row of rows) void tx.store.add(row as Row)
      for (const row of changed) void tx.store.put(row)
      await tx.done
    },
    put: async (rows, gone = []) => {
      const tx = strictly()
      for (const row of rows) void tx.store.put(row)
      for (const seq of gone) void tx.store.delete(seq)
      await tx.done
    },
    list: () => db.getAll('operations'),
    meta: async <T>(key: string) => (await db.get('meta', key)) as T | undefined,
    setMeta: async (key, value) => void (await db.put('meta', value, key)),
    view: (path) => db.get('view', path),
    setView: async (answers) => {
      const tx = db.transaction('view', 'readwrite')
      for (const answer of answers) void tx.store.put(answer)
      await tx.done
    },
    clearView: () => db.clear('view'),
    close: () => db.close(),
  }
}
