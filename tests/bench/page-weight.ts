/**
 * What the season weighs and how long it keeps a slow processor busy before it answers.
 *
 *   npm run bench:weight
 *
 * Needs the built screens. Scripts are counted gzipped (level 9); CPU is the page's main thread on the invented cellar,
 * slowed four times, from the address to a grid that takes keys. Both decide.
 */
import { join } from 'node:path'
import { openBrowser, signIn, startApp } from '../helpers/browser.ts'
import { chunksOf, gzippedKB } from '../helpers/weight.ts'

const BUDGET = { seasonKB: 150, cpuMs: 1500 }
const SLOWER = 4
const ROUNDS = 3

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
      await cdp.send('Performance.enable', { timeDomain: 'threadTicks' })
      await cdp.send('Emulation.setCPUThrottlingRate', { rate: SLOWER })
      await page.goto(`${app.url}/season`)
      const row = page.getByRole('treegrid').locator('[role=row][aria-level="1"]').nth(3)
      await row.waitFor({ state: 'attached' })
      await row.focus()
      const { metrics } = await cdp.send('Performance.getMetrics')
      times.push(1000 * (metrics.find((m) => m.name === 'TaskDuration')?.value ?? Number.NaN))
      await page.close()
    }
    console.log(`Visits: ${times.map((ms) => `${Math.round(ms)} ms`).join(', ')}`)
    return times.toSorted((a, b) => a - b)[ROUNDS >> 1] ?? Number.NaN
  } finally {
    await browser.close()
    await app.close()
  }
}
