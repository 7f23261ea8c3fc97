import { existsSync } from 'node:fs'
import { join } from 'node:path'
import { serveStatic } from '@hono/node-server/serve-static'
import type { Hono } from 'hono'
import type { AppEnv } from './routes/route.ts'

/** Files with a digest in their name never change; the page itself is asked for each time. */
const FOR_EVER = 'public, max-age=31536000, immutable'
const EACH_TIME = 'no-cache'

/** Files that a build makes; anything else with a dot, such as a lot called L1.2, is a page. */
const FILE = /\.(js|css|svg|png|ico|map|json|webmanifest|woff2?|txt)$/i

const ours = (path: string) => /^\/(api|feed|healthz|readyz)(\/|$)/.test(path)

/** Serves the built screens. Any other address is a page of theirs: the browser finds it. */
export function serveWeb(app: Hono<AppEnv>, root: string): void {
  const files = serveStatic<AppEnv>({
    root,
    onFound: (path, c) => c.header('cache-control', /[\\/]assets[\\/]/.test(path) ? FOR_EVER : EACH_TIME),
  })
  const page = serveStatic<AppEnv>({
    root,
    path: 'index.html',
    onFound: (_path, c) => c.header('cache-control', EACH_TIME),
  })
  app.use('*', (c, next) => (ours(c.req.path) ? next() : files(c, next)))
  app.use('*', (c, next) => (ours(c.req.path) || FILE.test(c.req.path) ? next() : page(c, next)))
}

export const isBuilt = (root: string): boolean => existsSync(join(root, 'index.html'))
