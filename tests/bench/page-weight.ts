/**
 * What the season weighs and how long it keeps a slow processor busy before it answers.
 *
 *   npm run bench:weight
 *
 * Needs the built screens. Scripts are counted gzipped (level 9). CPU is all of the page's main thread on the invented
 * cellar, slowed four times, from the address to the first frame in which an arrow key has moved the focus in the grid:
 * the chart is drawn by then. The page watches for that itself, since a driver that looks again and again works on the
 * same thread and would be counted with it. What runs afterwards, at rest, is told beside it. Size and CPU decide.
 */
import { join } from 'node:path'
import { openBrowser, signIn, startApp } from '../helpers/browser.ts'
import { chunksOf, gzippedKB } from '../helpers/weight.ts'

const BUDGET = { seasonKB: 150, cpuMs: 1500 }
const SLOWER = 4
const ROUNDS = 5
/** How long what waits for rest is watched, ms. */
const REST_MS = 3_000

const ANSWERS = 'the grid answers'

/** In the page: takes the first row of the grid as soon as there is one, presses the arrow, and tells when the focus has moved. */
const WATCH = `
  const rows = () => document.querySelectorAll('[role=treegrid] [role=row][aria-level="1"]')
  const moved = () => {
    if (document.activeElement !== rows()[1]) return requestAnimationFrame(moved)
    // A message comes in once the frame has been handed over.
    const channel = new MessageChannel()
    channel.port1.onmessage = () => console.debug('${ANSWERS}')
    channel.port2.postMessage(0)
  }
  const watch = new MutationObserver(() => {
    const [first, second] = rows()
    if (!first || !second) return
    watch.disconnect()
    first.focus()
    first.dispatchEvent(new KeyboardEvent('keydown', { key: 'ArrowDown', bubbles: true, cancelable: true }))
    requestAnimationFrame(moved)
  })
  watch.observe(document, { childList: true, subtree: true })
`

const chunks = chunksOf(join(import.meta.dirname, '../../dist/web'), 'timeline')
console.table(
  chunks
    .toSorted((a, b) => b.gzipped - a.gzipped)
    .map((c) => ({
      file: c.file,
      kB: Number((c.bytes / 1000).toFixed(1)),
      'gzipped kB': Number((c.gzipped / 1000).toFixed(1)),
    })),
)
const kB = gzippedKB(chunks)
console.log(`The season loads ${kB.toFixed(1)} kB of gzipped JavaScript (at most ${BUDGET.seasonKB})`)

const cpuMs = await busy()
console.log(`Interactive after ${Math.round(cpuMs)} ms of CPU, ${SLOWER} times slowed (at most ${BUDGET.cpuMs})`)
process.exitCode = kB > BUDGET.seasonKB || cpuMs > BUDGET.cpuMs ? 1 : 0

/** The middle one of some visits, each with a page that knows nothing yet. */
async function busy(): Promise<number> {
  const app = await startApp(['--demo', '--at', '2027-03-22'])
  const browser = await openBrowser()
  try {
    const context = await browser.newContext({ viewport: { width: 1440, height: 900 }, serviceWorkers: 'block' })
    await (await signIn(context, app.link)).close()
    const times: number[] = []
    for (let i = 0; i < ROUNDS; i++) {
      const page = await context.newPage()
      const cdp = await context.newCDPSession(page)
      const taskMs = async () => {
        const { metrics } = await cdp.send('Performance.getMetrics')
        return 1000 * (metrics.find((m) => m.name === 'TaskDuration')?.value ?? Number.NaN)
      }
      await cdp.send('Performance.enable', { timeDomain: 'threadTicks' })
      await page.addInitScript(WATCH)
      await cdp.send('Emulation.setCPUThrottlingRate', { rate: SLOWER })
      const answered = page.waitForEvent('console', (message) => message.text() === ANSWERS)
      await page.goto(`${app.url}/season`, { waitUntil: 'commit' })
      await answered
      const ms = await taskMs()
      await page.waitForTimeout(REST_MS)
      console.log(`Visit: ${Math.round(ms)} ms, and ${Math.round((await taskMs()) - ms)} ms more at rest`)
      times.push(ms)
      await page.close()
    }
    return times.toSorted((a, b) => a - b)[ROUNDS >> 1] ?? Number.NaN
  } finally {
    await browser.close()
    await app.close()
  }
}
