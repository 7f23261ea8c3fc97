/** After the screens are built: the service worker, with the list of files that it keeps and a name made of their content. */
import { createHash } from 'node:crypto'
import { readdirSync, readFileSync } from 'node:fs'
import { join, relative } from 'node:path'
import { build } from 'esbuild'
import type { Plugin } from 'vite'

const SOURCE = new URL('./worker.ts', import.meta.url).pathname

export function worker(): Plugin {
  let out = ''
  return {
    name: 'leesway-worker',
    apply: 'build',
    // Told to the page here: a build for tests is not one for production, yet it has its worker.
    config: () => ({ define: { 'import.meta.env.WORKER': 'true' } }),
    configResolved: (config) => {
      out = join(config.root, config.build.outDir)
      if (config.build.outDir.startsWith('/')) out = config.build.outDir
    },
    closeBundle: async () => {
      const files = filesOf(out)
      const digest = createHash('sha256')
      for (const file of files) digest.update(file).update(readFileSync(join(out, file)))
      await build({
        entryPoints: [SOURCE],
        outfile: join(out, 'worker.js'),
        bundle: true,
        minify: true,
        format: 'iife',
        target: 'es2022',
        define: {
          SHELL: JSON.stringify(['/', ...files.map((file) => `/${file}`)]),
          EDITION: JSON.stringify(digest.digest('hex').slice(0, 16)),
        },
      })
    },
  }
}

/** Everything the screens are made of; `/` stands for index.html. */
function filesOf(out: string): readonly string[] {
  return readdirSync(out, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .map((entry) => relative(out, join(entry.parentPath, entry.name)))
    .filter((file) => file !== 'index.html' && file !== 'worker.js')
    .sort()
}
