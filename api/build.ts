/** Builds the server into one folder: `npm run build:server`. A start then reads a few files, not each source anew. */
import { rmSync } from 'node:fs'
import { join } from 'node:path'
import { buildSync } from 'esbuild'
import { ROOT } from '../db/root.ts'

/** What is started by name: the server, and the threads it starts. */
const ENTRIES = ['api/server.ts', 'api/planner-worker.ts', 'api/conflict-worker.ts']

/** @returns the file that starts the server */
export function buildServer(outdir: string): string {
  rmSync(outdir, { recursive: true, force: true })
  buildSync({
    absWorkingDir: ROOT,
    entryPoints: ENTRIES,
    outdir,
    bundle: true,
    splitting: true,
    packages: 'external',
    platform: 'node',
    format: 'esm',
    target: 'node20',
    sourcemap: 'linked',
    logLevel: 'warning',
  })
  return join(outdir, 'server.js')
}

if (process.argv[1] === import.meta.filename) buildServer(join(ROOT, 'dist/server'))
