/** What the reader already holds, from its request headers. */
export interface Held {
  readonly ifNoneMatch: string | undefined
  readonly ifModifiedSince: string | undefined
}

const opaque = (tag: string) => tag.trim().replace(/^W\//, '')

/**
 * Whether the reader's copy is still good, so that 304 answers without a body.
 *
 * RFC 9110 section 13.1.2: entity tags are compared weakly, `*` fits any body, a list fits if one of it does.
 * Section 13.1.3: a date counts only where no tag was sent, and is compared as a date: a server that took any date
 * for good left readers stale for ever. Dates have whole seconds (section 5.6.7).
 *
 * @param etag           of the body now, weak or strong, with its quotes
 * @param lastModifiedMs of the body now, milliseconds since 1970
 */
export function isStillGood(held: Held, etag: string, lastModifiedMs: number): boolean {
  if (held.ifNoneMatch !== undefined) {
    if (held.ifNoneMatch.trim() === '*') return true
    const tags = held.ifNoneMatch.match(/(W\/)?"[^"]*"/g) ?? []
    return tags.some((t) => opaque(t) === opaque(etag))
  }
  if (held.ifModifiedSince === undefined) return false
  const since = Date.parse(held.ifModifiedSince)
  if (Number.isNaN(since)) return false
  return Math.floor(lastModifiedMs / 1000) * 1000 <= since
}

/** Whether gzip may be sent: named, or any coding, and not refused with q=0 (RFC 9110 section 12.5.3). */
export function takesGzip(acceptEncoding: string | undefined): boolean {
  const codings = (acceptEncoding ?? '').split(',').map((c) => {
    const [name = '', ...params] = c.trim().toLowerCase().split(';')
    const q = params.map((p) => p.trim()).find((p) => p.startsWith('q='))
    return { name: name.trim(), q: q === undefined ? 1 : Number(q.slice(2)) }
  })
  const named = codings.find((c) => c.name === 'gzip' || c.name === 'x-gzip')
  const any = codings.find((c) => c.name === '*')
  return (named ?? any)?.q ? (named ?? any)!.q > 0 : false
}
