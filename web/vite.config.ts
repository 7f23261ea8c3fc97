import { defineConfig, type Plugin } from 'vite'
import solid from 'vite-plugin-solid'
import { worker } from './offline/worker-build.ts'

const root = new URL('.', import.meta.url).pathname

/** What nearly every page is made of. */
const PARTS = /\/web\/(parts\/(badge|field|page-head|peg-mark|tag)|timeline\/shape)\.tsx?$/
/** What the day's list and its tasks are made of. */
const LIST =
  /\/web\/(floor\/(acting|dose-block|fate-line|floor-options|floor-queries|floor-words|handover|send|today-line|trouble-list|walk|where)|pages\/day-parts)\.tsx?$/

/**
 * Files of which nearly all is called while the season or the day's list opens. The comment asks the browser to compile
 * them whole while they come in, beside the page's main thread, instead of function by function on it.
 * https://github.com/WICG/explicit-javascript-compile-hints-file-based
 */
const CALLED_AT_ONCE: ReadonlySet<string> = new Set(['index', 'parts', 'list', 'timeline', 'today', 'task-screen'])
const COMPILE_WHOLE = '//# allFunctionsCalledOnLoad'

/** Writes the comment where it counts: above everything, what the build itself puts on top included. */
const compiledWhole = (): Plugin => ({
  name: 'compiled-whole',
  enforce: 'post',
  generateBundle: {
    order: 'post',
    handler: (_, bundle) => {
      for (const file of Object.values(bundle)) {
        if (file.type === 'chunk' && CALLED_AT_ONCE.has(file.name)) file.code = `${COMPILE_WHOLE}\n${file.code}`
      }
    },
  },
})

export default defineConfig({
  root,
  plugins: [solid(), compiledWhole(), worker()],
  build: {
    outDir: '../dist/web',
    emptyOutDir: true,
    target: 'es2023',
    sourcemap: false,
    rolldownOptions: {
      output: {
        // A phone needs some milliseconds for every file, however small: what each page loads is one, and what the day's
        // list loads beside that are two others.
        codeSplitting: {
          groups: [
            { name: 'first', tags: ['$initial'], priority: 3 },
            { name: 'parts', test: PARTS, priority: 2 },
            { name: 'list', test: LIST, priority: 1 },
          ],
        },
      },
    },
  },
  server: { proxy: { '/api/': 'http://127.0.0.1:8040', '/feed/': 'http://127.0.0.1:8040' } },
})
