/**
 * `npm run bench:floor` (after `npm run build`): how heavy the day's list is, and how fast it opens and notes on a phone:
 * 390 px, the processor four times slower, the server gone. Prints one table; medians of five. Goals are judged by the
 * CPU of the page's main thread, which other work on the machine does not lengthen; the clock's time stands beside it.
 */
import { mkdtempSync, rmSync } from 'node:fs'
import { loadavg, tmpdir } from 'node:os'
import { join } from 'node:path'
import type { CDPSession, Page } from 'playwright-core'
import type { TaskWire } from '../../api/wire.ts'
import { startApp } from '../helpers/browser.ts'
import { openPhoneBrowser } from '../helpers/phone.ts'
import { chunksOf, gzippedKB } from '../helpers/weight.ts'
import { startWire } from '../helpers/wire.ts'

const RUNS = 5
const SLOWER = 4
const DIST = join(import.meta.dirname, '../../dist/web')
const GOALS = { openMs: 1_500, tickMs: 100, kB: 90 }

const median = (values: readonly number[]) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)]!

const profile = mkdtempSync(join(tmpdir(), 'leesway-bench-'))
const running = process.env.LEESWAY_AT ? undefined : await startApp(['--demo', '--at', '2027-03-22'])
const link = running?.link ?? process.env.LEESWAY_AT ?? ''
const at = new URL(link).origin
const wire = await startWire(at)

async function slowed(page: Page): Promise<CDPSession> {
  const session = await page.context().newCDPSession(page)
  await session.send('Performance.enable', { timeDomain: 'threadTicks' })
  await session.send('Emulation.setCPUThrottlingRate', { rate: SLOWER })
  return session
}

/** CPU of the page's main thread so far, ms. */
async function cpuMs(session: CDPSession): Promise<number> {
  const { metrics } = await session.send('Performance.getMetrics')
  return 1000 * (metrics.find((m) => m.name === 'TaskDuration')?.value ?? Number.NaN)
}

let phone = await openPhoneBrowser(profile)
await phone.page.goto(link.replace(at, wire.url))
await phone.page.getByRole('button', { name: 'Open the book' }).click()
await phone.page.getByRole('navigation').first().waitFor()
await phone.page.goto(`${wire.url}/today?person=`)
await phone.page.locator('.work').first().waitFor()
await phone.page.evaluate('navigator.serviceWorker.ready.then(() => undefined)')
await phone.page.waitForTimeout(8_000)
const span = 'from=2027-03-21T11:00:00Z&to=2027-03-22T11:00:00Z'
const { tasks } = (await (await phone.page.request.get(`${wire.url}/api/tasks?${span}`)).json()) as {
  tasks: TaskWire[]
}
wire.cut()

const openMs: number[] = []
const openCpuMs: number[] = []
let session: CDPSession | undefined
let lines = 0
for (let run = 0; run < RUNS; run += 1) {
  // Cold: a browser that has just been started knows nothing but what it kept on the disk.
  await phone.kill()
  phone = await openPhoneBrowser(profile)
  session = await slowed(phone.page)
  await phone.page.goto(`${wire.url}/today?person=`, { waitUntil: 'commit' })
  await phone.page.locator('.work').first().waitFor()
  openMs.push(
    await phone.page.evaluate<number>(
      'new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done(performance.now()))))',
    ),
  )
  openCpuMs.push(await cpuMs(session))
  lines = await phone.page.locator('.work').count()
}

/** From the finger to the words that say it is noted, which stand only after the strict write. */
const TICK = `new Promise((done) => {
  const button = [...document.querySelectorAll('.floor-acts button')].find((b) => b.textContent === 'Start')
  const began = performance.now()
  new MutationObserver((_, seen) => {
    if (!document.querySelector('.floor-task[data-state=underway] .op-state')) return
    seen.disconnect()
    done(performance.now() - began)
  }).observe(document.body, { childList: true, subtree: true, attributes: true })
  button.click()
})`
const tickMs: number[] = []
const tickCpuMs: number[] = []
const plain = tasks.filter(
  (t) => ['planned', 'due'].includes(t.state) && t.caution === '' && t.fromVessels.length + t.toVessels.length === 0,
)
for (const task of plain.slice(0, RUNS)) {
  await phone.page.goto(`${wire.url}/today/${task.key}`)
  await phone.page.locator('.floor-task').waitFor()
  await phone.page.getByRole('button', { name: 'Start', exact: true }).waitFor()
  await phone.page.waitForTimeout(1_000)
  const before = session ? await cpuMs(session) : Number.NaN
  tickMs.push(await phone.page.evaluate<number>(TICK))
  tickCpuMs.push(session ? (await cpuMs(session)) - before : Number.NaN)
}

const shown = (what: string, cpu: readonly number[], clock: readonly number[], goal: number) => ({
  what,
  figure: Math.round(median(cpu)),
  clock: Math.round(median(clock)),
  goal,
})
const rows = [
  shown(`list of ${lines} lines visible, cold, no server, CPU ms`, openCpuMs, openMs, GOALS.openMs),
  shown(`start noted (${tickMs.length} tasks), CPU ms`, tickCpuMs, tickMs, GOALS.tickMs),
  ...['today', 'task-screen'].map((page) => ({
    what: `scripts of ${page}, kB gzipped`,
    figure: Number(gzippedKB(chunksOf(DIST, page)).toFixed(1)),
    goal: GOALS.kB,
  })),
]
console.table(rows)
const each = (list: readonly number[]) => list.map(Math.round).join(' ')
console.log(`open CPU ${each(openCpuMs)}, clock ${each(openMs)}; tick CPU ${each(tickCpuMs)}, clock ${each(tickMs)}`)
console.log(`load ${loadavg()[0]?.toFixed(1)}`)

await phone.close()
await wire.close()
await running?.close()
rmSync(profile, { recursive: true, force: true, maxRetries: 5 })
process.exit(rows.some((row) => !(row.figure <= row.goal)) ? 1 : 0)
