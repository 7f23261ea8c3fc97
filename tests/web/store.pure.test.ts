import 'fake-indexeddb/auto'
import { forceCloseDatabase } from 'fake-indexeddb'
import { afterEach, describe, expect, it, vi } from 'vitest'
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

  it('stays closed once it was closed here', async () => {
    const opened = connections()
    const store = await openStore('left')
    await store.close()
    await expect(store.meta('who')).rejects.toMatchObject({ name: 'InvalidStateError' })
    expect(opened).toHaveLength(1)
  })
})
