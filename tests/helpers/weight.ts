/** What a route makes a browser load before it shows anything: read off the built files themselves. */
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { gzipSync } from 'node:zlib'

export interface Chunk {
  readonly file: string
  readonly bytes: number
  readonly gzipped: number
}

/** Names of files that a module asks for at once: `import ... from "./x.js"`, `export ... from`, `import "./x.js"`. */
const AT_ONCE = /(?:^|[;}\s])(?:import|export)\s*(?:[\w$*{][^;"'`]*?from\s*)?["'`]\.\/([\w.-]+\.js)["'`]/g
/** Pages that the entry fetches when their address is opened. */
const LATER = /import\(\s*["'`]\.\/([\w.-]+\.js)["'`]\s*\)/g

/**
 * Every script of one route, gzipped as a server would send it (level 9).
 *
 * @param dist folder of the built screens, with index.html
 * @param page name of the page's file without its ending: `timeline` for pages/timeline.tsx
 * @throws Error when the entry fetches no page of that name
 */
export function chunksOf(dist: string, page: string): readonly Chunk[] {
  const html = readFileSync(join(dist, 'index.html'), 'utf8')
  const first = [...html.matchAll(/(?:src|href)="\/assets\/([\w.-]+\.js)"/g)].map((m) => m[1] as string)
  const source = (file: string) => readFileSync(join(dist, 'assets', file), 'utf8')
  const pages = first.flatMap((file) => [...source(file).matchAll(LATER)].map((m) => m[1] as string))
  const own = pages.find((file) => file.replace(/-[\w-]{8}\.js$/, '') === page)
  if (own === undefined) throw new Error(`the entry fetches no page ${page}; it fetches ${pages.join(', ')}`)
  const loaded = new Set<string>()
  const follow = (file: string) => {
    if (loaded.has(file)) return
    loaded.add(file)
    for (const [, next] of source(file).matchAll(AT_ONCE)) if (next) follow(next)
  }
  for (const file of [...first, own]) follow(file)
  return [...loaded].map((file) => {
    const text = readFileSync(join(dist, 'assets', file))
    return { file, bytes: text.length, gzipped: gzipSync(text, { level: 9 }).length }
  })
}

export const gzippedKB = (chunks: readonly Chunk[]): number =>
  chunks.reduce((sum, chunk) => sum + chunk.gzipped, 0) / 1000
