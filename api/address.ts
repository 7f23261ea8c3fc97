/** Where a request comes from: the far end of the connection, or what trusted proxies in between say. */
import { BlockList, isIP } from 'node:net'

export type IsTrusted = (address: string) => boolean

/** One address or a range of them: `127.0.0.1`, `10.0.0.0/8`, `fd00::/8`. */
const RANGE = /^([0-9A-Fa-f.:]+)(?:\/(\d{1,3}))?$/

export function isRange(text: string): boolean {
  const [, address = '', bits] = RANGE.exec(text) ?? []
  const kind = isIP(address)
  return kind !== 0 && (bits === undefined || Number(bits) <= (kind === 4 ? 32 : 128))
}

/** @param ranges each as {@link isRange} takes it */
export function trusting(ranges: readonly string[]): IsTrusted {
  const list = new BlockList()
  for (const range of ranges) {
    const [address = '', bits] = range.split('/')
    const kind = isIP(address) === 6 ? 'ipv6' : 'ipv4'
    list.addSubnet(address, Number(bits ?? (kind === 'ipv6' ? 128 : 32)), kind)
  }
  return (address) => isIP(address) !== 0 && list.check(address, isIP(address) === 6 ? 'ipv6' : 'ipv4')
}

/** An IPv4 address that came over an IPv6 socket is the same address. */
const plain = (address: string) => address.trim().replace(/^::ffff:(?=\d+\.)/i, '')

/**
 * The nearest address that is no trusted proxy. Each proxy adds the address it was asked from on the right, so what
 * stands further left was said by whoever asked and proves nothing.
 *
 * @param forwarded the header X-Forwarded-For, as it came
 */
export function callerOf(remote: string | undefined, forwarded: string | undefined, isTrusted: IsTrusted): string {
  let caller = plain(remote ?? 'unknown')
  const told = (forwarded ?? '').split(',').map(plain)
  while (isTrusted(caller)) {
    const before = told.pop()
    if (before === undefined || isIP(before) === 0) break
    caller = before
  }
  return caller
}
