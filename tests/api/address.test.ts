import { describe, expect, it } from 'vitest'
import { callerOf, isRange, trusting } from '../../api/address.ts'

describe('the address somebody calls from', () => {
  const isTrusted = trusting(['127.0.0.1', '10.0.0.0/8', 'fd00::/8'])

  it.each([
    ['no proxy: what the header says proves nothing', '203.0.113.9', '198.51.100.1', '203.0.113.9'],
    ['one proxy', '127.0.0.1', '198.51.100.1', '198.51.100.1'],
    ['one proxy, over an IPv6 socket', '::ffff:127.0.0.1', '198.51.100.1', '198.51.100.1'],
    ['two proxies', '10.1.2.3', '198.51.100.1, 10.9.9.9', '198.51.100.1'],
    ['a header made up before the proxy added to it', '127.0.0.1', '192.0.2.7, 198.51.100.1', '198.51.100.1'],
    ['a made-up trusted address', '127.0.0.1', '10.0.0.1, 198.51.100.1', '198.51.100.1'],
    ['IPv6', 'fd00::1', '2001:db8::5', '2001:db8::5'],
    ['a proxy that says nothing', '127.0.0.1', undefined, '127.0.0.1'],
    ['a proxy that says nonsense', '127.0.0.1', 'unknown', '127.0.0.1'],
    ['nobody knows', undefined, '198.51.100.1', 'unknown'],
  ])('%s', (_, remote, forwarded, caller) => {
    expect(callerOf(remote, forwarded, isTrusted)).toBe(caller)
  })

  it('trusts nobody unless told to', () => {
    expect(callerOf('127.0.0.1', '198.51.100.1', trusting([]))).toBe('127.0.0.1')
  })

  it.each(['127.0.0.1', '10.0.0.0/8', '::1', 'fd00::/8'])('%s is a range', (text) => {
    expect(isRange(text)).toBe(true)
  })

  it.each(['', 'proxy', '10.0.0.0/33', '10.0.0/8', '::1/129', '*', '10.0.0.0/8/8'])('%s is none', (text) => {
    expect(isRange(text)).toBe(false)
  })
})
