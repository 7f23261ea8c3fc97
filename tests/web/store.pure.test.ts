import 'fake-indexeddb/auto'
import { forceCloseDatabase } from 'fake-indexeddb'
import { afterEach, describe, expect, it, vi } from 'vitest'
import type { Store } from '../../web/offline/shelf.ts'
import { openStore } from '../../web/offline/store.ts'

afterEach(() => vi.restoreAllMocks())

/** Every connection that is opened from now on. */
function connections(): IDBDatabase[] {
  const found: IDBDatabase[] = []
  const open = indexedDB.open.bind(indexedDB)
  vi.spyOn(indexedDB, 'open').mockImplementation((...args) => {
    const request = open(...args)
    request.addEventListener('success', () => found.push(request.result))
    return request
  })
  return found
}

describe('the storage of a phone', () => {
  it('is opened again where the browser closed it under the page, and holds what is put there', async () => {
    const opened = connections()
    const store = await openStore('closed-by-force')
    await store.setMeta('who', 'noor')
    forceCloseDatabase(opened[0] as never)
    await store.setMeta('who', 'sam')
    expect(await store.meta('who')).toBe('sam')
    expect(opened).toHaveLength(2)
  })

  it('is opened again where it is closing and has not said so yet', async () => {
    const opened = connections()
    const store = await openStore('closing')
    opened[0]!.close()
    await store.setView([{ path: '/api/tasks', body: 1, at: 0 } as never])
    expect((await store.view('/api/tasks'))?.path).toBe('/api/tasks')
    expect(opened).toHaveLength(2)
  })

  it.each<[what: string, work: (store: Store) => Promise<unknown>]>([
    ['a list', (store) => store.list()],
    ['a figure', (store) => store.setMeta('who', 'sam')],
    ['an operation', (store) => store.add([{ opId: 'one', state: 'phone' } as never])],
    ['answers to read', (store) => store.setView([{ path: '/a' }, { path: '/b' }] as never)],
  ])('begins %s again that was cut off as the storage closed, and leaves nothing unheard', async (what, work) => {
    const opened = connections()
    const store = await openStore(`cut off ${what}`)
    const [connection] = opened as [IDBDatabase]
    const begin = connection.transaction.bind(connection)
    vi.spyOn(connection, 'transaction').mockImplementationOnce((...args) => {
      const tx = begin(...args)
      queueMicrotask(() => {
        tx.abort()
        connection.close()
      })
      return tx
    })
    await work(store)
    expect(opened).toHaveLength(2)
    expect([await store.meta('who'), (await store.list()).length, (await store.view('/b'))?.path]).toEqual([
      what === 'a figure' ? 'sam' : undefined,
      what === 'an operation' ? 1 : 0,
      what === 'answers to read' ? '/b' : undefined,
    ])
  })

  it('stays closed once it was closed here', async () => {
    const opened = connections()
    const store = await openStore('left')
    await store.close()
    await expect(store.meta('who')).rejects.toMatchObject({ name: 'InvalidStateError' })
    expect(opened).toHaveLength(1)
  })
})
