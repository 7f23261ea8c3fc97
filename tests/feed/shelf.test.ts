import { gunzipSync } from 'node:zlib'
import { expect, it } from 'vitest'
import { createShelf } from '../../api/feed/shelf.ts'

it('hands a body back for the state it was built from and no other', () => {
  const shelf = createShelf()
  const put = shelf.put('f', 'r1', 'BEGIN', 1000)
  expect(shelf.find('f', 'r1')).toBe(put)
  expect(shelf.find('f', 'r2')).toBeUndefined()
  expect(gunzipSync(put.gzipped).toString()).toBe('BEGIN')
})

it('keeps tag and date while the bytes stay the same', () => {
  const shelf = createShelf()
  const first = shelf.put('f', 'r1', 'BEGIN', 1000)
  const same = shelf.put('f', 'r2', 'BEGIN', 2000)
  expect([same.etag, same.lastModifiedMs]).toEqual([first.etag, 1000])
  const other = shelf.put('f', 'r3', 'OTHER', 3000)
  expect(other.etag).not.toBe(first.etag)
  expect(other.lastModifiedMs).toBe(3000)
})

it('lets the feed go that was not asked for longest, once there is no room', () => {
  const oneBytes = createShelf().put('a', 's', 'a', 1).gzipped.byteLength
  const shelf = createShelf(2 * oneBytes)
  shelf.put('a', 's', 'a', 1)
  shelf.put('b', 's', 'b', 1)
  shelf.find('a', 's')
  shelf.put('c', 's', 'c', 1)
  // Put once more, a feed takes no more room than before.
  shelf.put('c', 't', 'd', 1)
  const there = [shelf.find('a', 's'), shelf.find('b', 's'), shelf.find('c', 't')]
  expect(there.map((found) => found && gunzipSync(found.gzipped).toString())).toEqual(['a', undefined, 'd'])
})

it('keeps the newest even where it alone is too large', () => {
  const shelf = createShelf(1)
  shelf.put('a', 's', 'a', 1)
  shelf.put('b', 's', 'b', 1)
  expect([shelf.find('a', 's'), gunzipSync(shelf.find('b', 's')!.gzipped).toString()]).toEqual([undefined, 'b'])
})
