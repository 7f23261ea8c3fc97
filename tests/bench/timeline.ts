/**
 * Measures the timeline in a real Chromium: first frame, zoom, pan, scroll, drag, memory, elements, leaks.
 *
 *   npm run bench:timeline [-- --tasks 1000,10000,50000 --rows 500 --against FOLDER --only own-canvas,own-svg --json]
 *
 * FOLDER, or TIMELINE_HARNESS, or else `shared/timeline/harness` beside the checkout, holds other renderers as classic
 * scripts, `adapters/NAME.js`, each setting window.ADAPTER to the calls of `Renderer` in ../web/timeline-bench-page.tsx,
 * and the vintage they draw, `data.js`. They are measured in the same run, step for step. Without one ours runs alone.
 *
 * CPU time of the page's main thread, element counts and leaks decide; wall times depend on the machine and are told.
 * A pan is so many steps, not so many seconds, and counts by the middle one of three parts: other work on the machine
 * changes little.
 */
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs'
import { createServer } from 'node:http'
import type { AddressInfo } from 'node:net'
import { tmpdir } from 'node:os'
import { join, relative } from 'node:path'
import { type CDPSession, chromium, type Page } from 'playwright-core'
import { build } from 'vite'
import solid from 'vite-plugin-solid'
import { chromiumPath } from '../helpers/browser.ts'

const args = process.argv.slice(2)
const option = (name: string, otherwise: string) => {
  const at = args.indexOf(`--${name}`)
  return at < 0 ? otherwise : (args[at + 1] ?? otherwise)
}
const sizes = option('tasks', '1000,10000,50000').split(',').map(Number)
const rows = Number(option('rows', '500'))
const beside = join(import.meta.dirname, '../../../shared/timeline/harness')
const against = option('against', process.env.TIMELINE_HARNESS ?? (existsSync(beside) ? beside : ''))
console.log(
  against
    ? `Beside ours: the renderers of ${relative(process.cwd(), against)}, on their vintage`
    : 'Ours alone: no folder with other renderers (--against FOLDER or TIMELINE_HARNESS)',
)
const only = option('only', '').split(',').filter(Boolean)

/** Budgets at the largest size: main-thread CPU ms a frame, elements, heap over the data. */
const BUDGET = { firstMs: 250, monthMs: 4, yearMs: 8, atOnceMs: 8, elements: 600, dragMedianMs: 2, heapMB: 15 }
/** Frames of each third of a pan: three seconds in all where none is dropped. */
const FRAMES = 60
const ZOOMS = [180, 90, 30, 7, 1, 7, 30, 90, 180, 365]

const web = join(import.meta.dirname, '../web')
const folder = mkdtempSync(join(tmpdir(), 'timeline-bench-'))
await build({
  root: web,
  logLevel: 'error',
  plugins: [solid()],
  build: {
    outDir: folder,
    emptyOutDir: true,
    target: 'es2023',
    lib: {
      entry: [join(web, 'timeline-bench-page.tsx'), join(web, 'timeline-bench-steps.ts')],
      formats: ['es'],
      fileName: (_, name) => `${name}.js`,
      cssFileName: 'page',
    },
  },
})

const page = (adapter: string) =>
  `<!doctype html><html lang="en"><meta charset="utf-8"><title>bench</title><link rel="stylesheet" href="/page.css">
<style>html,body{margin:0;height:100%;font:12px system-ui,sans-serif}#stage{position:absolute;inset:0;background:#fff}</style>
<div id="stage"></div>${against ? '<script src="/data.js"></script>' : ''}${adapter ? `<script src="/adapters/${adapter}.js"></script>` : '<script type="module" src="/timeline-bench-page.js"></script>'}
<script type="module" src="/timeline-bench-steps.js"></script></html>`

const server = createServer((request, response) => {
  const url = new URL(request.url ?? '/', 'http://localhost')
  if (url.pathname === '/')
    return response.writeHead(200, { 'content-type': 'text/html' }).end(page(url.searchParams.get('adapter') ?? ''))
  const name = url.pathname.replaceAll('..', '')
  const file =
    (name.startsWith('/adapters/') || name === '/data.js') && against ? join(against, name) : join(folder, name)
  if (!existsSync(file)) return response.writeHead(404).end()
  const type = file.endsWith('.css') ? 'text/css' : 'text/javascript'
  response.writeHead(200, { 'content-type': type }).end(readFileSync(file))
})
await new Promise<void>((done) => server.listen(0, '127.0.0.1', done))
const origin = `http://127.0.0.1:${(server.address() as AddressInfo).port}`

const adapters = against
  ? readdirSync(join(against, 'adapters'))
      .filter((f) => f.endsWith('.js'))
      .map((f) => f.slice(0, -3))
      .filter((name) => only.length === 0 || only.includes(name))
  : []

const results: Awaited<ReturnType<typeof measure>>[] = []
for (const tasks of sizes)
  for (const adapter of ['', ...adapters]) {
    const result = await measure(adapter, tasks)
    results.push(result)
    // The slowest of the others takes minutes.
    console.error(JSON.stringify({ ...result, leak: undefined }))
  }
server.close()
rmSync(folder, { recursive: true, force: true })

if (args.includes('--json')) console.log(JSON.stringify(results, null, 1))
else console.table(results.map(({ leak: _, ...row }) => row))
const broken = results.filter((r) => r.ours).flatMap(beyondBudget)
for (const words of broken) console.log(`over budget: ${words}`)
const leak = results.find((r) => r.leak)?.leak
if (leak)
  console.log(
    `50 times mounted and unmounted: heap ${leak.heapMB} MB, listeners ${leak.listeners}, nodes ${leak.nodes} more than before`,
  )
process.exitCode = broken.length > 0 ? 1 : 0

async function measure(adapter: string, tasks: number) {
  const browser = await chromium.launch({
    executablePath: chromiumPath(),
    headless: true,
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-sync',
      '--js-flags=--expose-gc',
    ],
  })
  try {
    const context = await browser.newContext({
      viewport: { width: 1280, height: 800 },
      deviceScaleFactor: 1,
      timezoneId: 'UTC',
    })
    const tab = await context.newPage()
    tab.on('pageerror', (error) => console.error(`${adapter || 'ours'}: ${error.message}`))
    await tab.goto(`${origin}/?adapter=${adapter}`)
    await tab.waitForFunction(() => 'STEPS' in globalThis && ('OURS' in globalThis || 'ADAPTER' in globalThis))
    const cdp = await context.newCDPSession(tab)
    await cdp.send('Performance.enable', { timeDomain: 'threadTicks' })
    const data = await step<{ bars: number; links: number }>(tab, 'make', tasks, rows)
    const before = await metrics(cdp, true)
    const mounted = await step<{ label: string; firstMs: number }>(tab, 'mount', 365, 24, true)
    const first = await metrics(cdp)
    const zoomMs: number[] = []
    for (const days of ZOOMS) zoomMs.push(await step<number>(tab, 'zoom', days))
    await step(tab, 'toPan', 30)
    const pan = await framed(cdp, (third) => step<Frames>(tab, 'pan', 30, FRAMES, third))
    await step(tab, 'zoom', 30)
    const month = await framed(cdp, (third) => step<Frames>(tab, 'scroll', FRAMES, third, 12_000))
    await step(tab, 'top')
    await step(tab, 'zoom', 365)
    const year = await framed(cdp, (third) => step<Frames>(tab, 'scroll', FRAMES, third, 12_000))
    await step(tab, 'top')
    const drag = await dragged(tab)
    await tab.waitForTimeout(300)
    const after = await metrics(cdp, true)
    const elements = await step<number>(tab, 'elements')
    const atOnce = await allRows(tab, cdp)
    const leak = adapter === '' && tasks === sizes[0] ? await leaks(tab, cdp) : undefined
    const sorted = zoomMs.toSorted((a, b) => a - b)
    return {
      ours: adapter === '',
      renderer: mounted.label,
      tasks: data.bars,
      links: data.links,
      'first frame ms': mounted.firstMs,
      'its CPU ms': Math.round(1000 * (first.task - before.task)),
      'zoom ms': `${Math.round(sorted[sorted.length >> 1] ?? 0)} / ${Math.round(sorted.at(-1) ?? 0)}`,
      'pan ms': `${pan.frames.median} / ${pan.frames.p95} / ${pan.frames.dropped} of ${pan.frames.frames}`,
      'pan CPU': pan.cpuMs,
      'month CPU': month.cpuMs,
      'year CPU': year.cpuMs,
      'year dropped': `${year.frames.dropped} of ${year.frames.frames}`,
      'at once CPU': atOnce,
      'drag ms': drag ? `${drag.medianMs.toFixed(2)} / ${drag.worstMs.toFixed(1)}` : '',
      dragMedianMs: drag?.medianMs ?? 0,
      'heap MB': Number((after.heapMB - before.heapMB).toFixed(1)),
      elements,
      leak,
    }
  } finally {
    await browser.close()
  }
}

interface Frames {
  readonly frames: number
  readonly median: number
  readonly p95: number
  readonly dropped: number
  readonly gaps: readonly number[]
}

/** One of the steps in the page; they are in ../web/timeline-bench-steps.ts. */
function step<T = unknown>(tab: Page, name: string, ...given: readonly unknown[]): Promise<T> {
  return tab.evaluate(
    ([called, values]) => {
      const page = globalThis as unknown as { STEPS: Record<string, (...values: unknown[]) => Promise<unknown>> }
      return page.STEPS[called as string]?.(...(values as unknown[]))
    },
    [name, given] as const,
  ) as Promise<T>
}

/** @param swept heap counts only without garbage; where CPU is measured, sweeping would count as the page's work */
async function metrics(cdp: CDPSession, swept = false) {
  if (swept) await cdp.send('HeapProfiler.collectGarbage')
  const { metrics: list } = await cdp.send('Performance.getMetrics')
  const of = (name: string) => list.find((m) => m.name === name)?.value ?? 0
  return {
    task: of('TaskDuration'),
    heapMB: of('JSHeapUsedSize') / 1_048_576,
    listeners: of('JSEventListeners'),
    nodes: of('Nodes'),
  }
}

/** The middle of three parts by CPU; the intervals of all of them. */
async function framed(cdp: CDPSession, run: (third: number) => Promise<Frames>) {
  const parts: { readonly cpuMs: number; readonly frames: Frames }[] = []
  for (let third = 0; third < 3; third++) {
    const before = await metrics(cdp)
    const frames = await run(third)
    const after = await metrics(cdp)
    parts.push({ frames, cpuMs: (1000 * (after.task - before.task)) / frames.frames })
  }
  const middle = parts.toSorted((a, b) => a.cpuMs - b.cpuMs)[1]
  const gaps = parts.flatMap((p) => p.frames.gaps).toSorted((a, b) => a - b)
  const at = (share: number) => Number((gaps[Math.floor(share * gaps.length)] ?? 0).toFixed(1))
  return {
    frames: {
      frames: gaps.length,
      median: at(0.5),
      p95: at(0.95),
      dropped: parts.reduce((sum, p) => sum + p.frames.dropped, 0),
    },
    cpuMs: Number((middle?.cpuMs ?? Number.NaN).toFixed(2)),
  }
}

async function dragged(tab: Page) {
  const at = await step<{ x: number; y: number } | null>(tab, 'bar')
  if (!at) return undefined
  await tab.mouse.move(at.x, at.y)
  await tab.mouse.down()
  for (let i = 1; i <= 150; i++) await tab.mouse.move(at.x + 120 * Math.sin(i / 12), at.y)
  const info = await step<{ moves: number; medianMs: number; worstMs: number } | null>(tab, 'drag')
  await tab.keyboard.press('Escape')
  await tab.mouse.up()
  return info && Number.isFinite(info.medianMs) ? info : undefined
}

/** All rows in one picture: the rows are as high as they fit. */
async function allRows(tab: Page, cdp: CDPSession): Promise<number> {
  await step(tab, 'unmount')
  await step(tab, 'mount', 365, Math.max(1, 690 / rows), false)
  await step(tab, 'toPan', 300)
  const { cpuMs } = await framed(cdp, (third) => step<Frames>(tab, 'pan', 300, FRAMES, third))
  return cpuMs
}

async function leaks(tab: Page, cdp: CDPSession) {
  for (let i = 0; i < 5; i++) await step(tab, 'again')
  const before = await metrics(cdp, true)
  for (let i = 0; i < 50; i++) await step(tab, 'again')
  await tab.waitForTimeout(300)
  const after = await metrics(cdp, true)
  return {
    heapMB: Number((after.heapMB - before.heapMB).toFixed(2)),
    listeners: after.listeners - before.listeners,
    nodes: after.nodes - before.nodes,
  }
}

function beyondBudget(result: Awaited<ReturnType<typeof measure>>): string[] {
  const checks: readonly (readonly [string, number, number])[] = [
    ['CPU ms to the first frame', result['its CPU ms'], BUDGET.firstMs],
    ['CPU ms a frame, month', result['month CPU'], BUDGET.monthMs],
    ['CPU ms a frame, year', result['year CPU'], BUDGET.yearMs],
    ['CPU ms a frame, all rows', result['at once CPU'], BUDGET.atOnceMs],
    ['elements', result.elements, BUDGET.elements],
    ['drag verdict, median ms', result.dragMedianMs, BUDGET.dragMedianMs],
    ['listeners left after 50 mounts', result.leak?.listeners ?? 0, 0],
    ['heap MB left after 50 mounts', result.leak?.heapMB ?? 0, 1],
  ]
  return checks
    .filter(([, is, most]) => is > most)
    .map(([what, is, most]) => `${what} at ${result.tasks} tasks: ${is} > ${most}`)
}
