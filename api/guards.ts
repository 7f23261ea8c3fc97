/** What every request passes before a route sees it. */
import { compress } from 'hono/compress'
import { createMiddleware } from 'hono/factory'
import { matchedRoutes } from 'hono/route'
import { mayCall, ruleOf } from './access.ts'
import { shownPath } from './log.ts'
import type { Metrics } from './ops/metrics.ts'
import { problem } from './problem.ts'
import type { AppEnv } from './routes/route.ts'

/** Scripts and styles from here only, nothing inline: what is drawn sets styles by script; no frames, no plug-ins. */
const CSP = [
  "default-src 'none'",
  "script-src 'self'",
  "style-src 'self'",
  "img-src 'self' data: blob:",
  "font-src 'self'",
  "connect-src 'self'",
  "manifest-src 'self'",
  "worker-src 'self'",
  "form-action 'self'",
  "frame-ancestors 'none'",
  "base-uri 'none'",
].join('; ')

/** On every answer, also on those that say no (OWASP ASVS 5.0 V3.4). A year of https where https is how people come. */
export const headers = createMiddleware<AppEnv>(async (c, next) => {
  await next()
  const set = (name: string, value: string) => c.res.headers.set(name, value)
  set('content-security-policy', CSP)
  set('x-content-type-options', 'nosniff')
  set('referrer-policy', 'no-referrer')
  set('cross-origin-opener-policy', 'same-origin')
  set('cross-origin-resource-policy', 'same-origin')
  set('permissions-policy', 'camera=(self), geolocation=(), microphone=(), payment=(), usb=()')
  if (c.var.secure) set('strict-transport-security', 'max-age=31536000; includeSubDomains')
  set('x-request-id', c.var.requestId)
  if (c.req.path.startsWith('/api/') && !c.res.headers.has('cache-control')) set('cache-control', 'no-store')
})

/** One line a request: no query, no body, no cookie, no secret of a path. */
export const logged = createMiddleware<AppEnv>(async (c, next) => {
  const startMs = performance.now()
  await next()
  const fields = {
    requestId: c.var.requestId,
    method: c.req.method,
    path: shownPath(c.req.path),
    status: c.res.status,
    ms: Math.round(performance.now() - startMs),
    personId: c.get('who')?.personId,
  }
  if (c.res.status >= 500) c.var.log.error(fields, 'answered')
  else c.var.log.info(fields, 'answered')
})

/** Times every answer under its route's pattern. */
export const measured = (metrics: Pick<Metrics, 'answered'>) =>
  createMiddleware<AppEnv>(async (c, next) => {
    const startMs = performance.now()
    await next()
    const route = matchedRoutes(c).findLast((r) => r.method !== 'ALL')?.path ?? 'none'
    metrics.answered(c.req.method, route, c.res.status, (performance.now() - startMs) / 1000)
  })

const gzip = compress({ encoding: 'gzip' })

/** Big answers travel gzipped. The feed brings its own, made once a revision; a stream of events must not wait. */
export const smaller = createMiddleware<AppEnv>((c, next) =>
  c.req.path.startsWith('/feed/') || c.req.path === '/api/changes' ? next() : gzip(c, next),
)

const SAFE = new Set(['GET', 'HEAD', 'OPTIONS'])

/**
 * A page elsewhere must not act in the name of who is signed in here. Browsers say where a request comes from in
 * Sec-Fetch-Site; older ones in Origin; a request that says neither is refused.
 */
export const sameSite = createMiddleware<AppEnv>(async (c, next) => {
  if (!SAFE.has(c.req.method)) {
    const site = c.req.header('sec-fetch-site')
    const good =
      site === undefined ? ownOrigin(c.req.header('origin'), c.req.header('host'), c.req.url) : SAME.has(site)
    if (!good) {
      throw problem(403, 'cross-site', 'This came from another site', {
        detail: 'Send Origin with the address of this server, or Sec-Fetch-Site: same-origin.',
      })
    }
  }
  await next()
})

const SAME = new Set(['same-origin', 'none'])

function ownOrigin(origin: string | undefined, host: string | undefined, url: string): boolean {
  if (origin === undefined || !URL.canParse(origin)) return false
  return new URL(origin).host === (host ?? new URL(url).host)
}

/** Lists in lists and objects in objects: our deepest body has six of them. */
const DEEPEST = 50

/** A body nested without end would cost a stack or a parser; no body of ours is. */
export const shallow = createMiddleware<AppEnv>(async (c, next) => {
  if (!SAFE.has(c.req.method) && /json/.test(c.req.header('content-type') ?? '')) {
    if (depthOf(await c.req.text()) > DEEPEST) {
      throw problem(400, 'not-readable', 'The request is nested too deeply', { detail: `At most ${DEEPEST} levels.` })
    }
  }
  await next()
})

/** How deep JSON is nested, counted without reading it: brackets in texts do not count. */
export function depthOf(json: string): number {
  let [depth, deepest, inText] = [0, 0, false]
  for (let i = 0; i < json.length; i++) {
    const sign = json[i]
    if (inText) {
      if (sign === '\\') i++
      else if (sign === '"') inText = false
    } else if (sign === '"') inText = true
    else if (sign === '{' || sign === '[') deepest = Math.max(deepest, ++depth)
    else if (sign === '}' || sign === ']') depth--
  }
  return deepest
}

/** Deny by default: the operation that was met decides, and one without a rule is refused to everybody. */
export const allowed = createMiddleware<AppEnv>(async (c, next) => {
  const met = matchedRoutes(c).filter((r) => r.method !== 'ALL')
  const operation = met.at(-1)
  if (operation) {
    const rule = ruleOf(operation.method, operation.path)
    const verdict = mayCall(rule, c.get('who')?.role ?? null)
    if (verdict === 'signed-out') {
      throw c.get('locked')
        ? problem(401, 'locked', 'This phone is locked. Say who you are')
        : problem(401, 'signed-out', 'Sign in first')
    }
    if (verdict === 'not-allowed') {
      throw problem(403, 'not-allowed', 'Your role may not do this', {
        detail: `You are signed in as ${c.get('who')?.role}.`,
      })
    }
  }
  await next()
})
