import { describe, expect, it } from 'vitest'
import { isStillGood, takesGzip } from '../../api/feed/conditional.ts'

const LAST = Date.parse('2027-03-22T05:00:00.700Z')
const good = (ifNoneMatch?: string, ifModifiedSince?: string) =>
  isStillGood({ ifNoneMatch, ifModifiedSince }, 'W/"r7"', LAST)

describe('a reader that holds a copy (RFC 9110 section 13)', () => {
  it.each(['W/"r7"', '"r7"', '"r6", W/"r7"', '*', ' * '])('need not fetch again with If-None-Match: %s', (tag) => {
    expect(good(tag)).toBe(true)
  })

  it.each(['"r6"', 'W/"r77"', 'r7', ''])('fetches again with If-None-Match: %s', (tag) => {
    expect(good(tag)).toBe(false)
  })

  it('lets the tag win over the date', () => {
    expect(good('"r6"', 'Mon, 22 Mar 2027 05:00:00 GMT')).toBe(false)
  })

  it('compares dates as dates, in whole seconds', () => {
    expect(good(undefined, 'Mon, 22 Mar 2027 05:00:00 GMT')).toBe(true)
    expect(good(undefined, 'Mon, 22 Mar 2027 04:59:59 GMT')).toBe(false)
    expect(good(undefined, 'yesterday')).toBe(false)
    expect(good()).toBe(false)
  })
})

describe('gzip (RFC 9110 section 12.5.3)', () => {
  it.each([
    ['gzip', true],
    ['br, gzip;q=0.5', true],
    ['*', true],
    ['gzip;q=0, *', false],
    ['identity', false],
    ['', false],
    [undefined, false],
  ] as const)('%s: %s', (header, takes) => expect(takesGzip(header)).toBe(takes))
})
