/**
 * `npm run bench:floor` (after `npm run build`): how heavy the day's list is, and how fast it opens and notes on a phone:
 * 390 px, the processor four times slower, the server gone. Prints one table; medians of five.
 *
 * A cold open is the opening of an installed page by a browser that has just been started and has come to rest: nothing
 * in memory, its worker asleep. Told are the clock, from the address to the end of the first frame with lines (more than
 * a screen of them) and to the frame with all of them; and the CPU of the page's main thread until the first. The slowing
 * holds for that thread; where other work keeps it waiting, the waiting is made four times longer too, so the figures
 * are right on a quiet machine only. The page watches for itself: a driver that looks again and again works on the same
 * thread. Goals are judged by the clock.
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

/** In the page: tells `lines`, the moment and how many there are, after the first frame with lines and after later ones with more. */
const WATCH = `
  globalThis.tellAfterFrame = (words) => requestAnimationFrame(() => {
    // A message comes in once the frame has been handed over.
    const channel = new MessageChannel()
    channel.port1.onmessage = () => console.debug(words() + ' ' + performance.now())
    channel.port2.postMessage(0)
  })
  let known = 0
  const watch = new MutationObserver(() => {
    const count = document.getElementsByClassName('work').length
    if (count <= known) return
    known = count
    tellAfterFrame(() => 'lines ' + count)
  })
  watch.observe(document, { childList: true, subtree: true })
`
/** In the page: from the finger to the frame with the words that say it is noted, which stand only after the strict write. */
const TICK = `(() => {
  const button = [...document.querySelectorAll('.floor-acts button')].find((b) => b.textContent === 'Start')
  const began = performance.now()
  const watch = new MutationObserver(() => {
    if (!document.querySelector('.floor-task[data-state=underway] .op-state')) return
    watch.disconnect()
    tellAfterFrame(() => 'noted ' + began)
  })
  watch.observe(document, { childList: true, subtree: true, attributes: true })
  button.click()
})()`

/** What the page tells next: the two figures after a word. */
async function told(page: Page, word: string, least = 0): Promise<readonly [first: number, atMs: number]> {
  const message = await page.waitForEvent('console', (m) => {
    const [said, figure] = m.text().split(' ')
    return said === word && Number(figure) >= least
  })
  const [, first, at] = message.text().split(' ')
  return [Number(first), Number(at)]
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

/** After its start a browser is busy with its own windows. */
const REST_MS = 3_000

const openMs: number[] = []
const openCpuMs: number[] = []
const wholeMs: number[] = []
let session: CDPSession | undefined
let lines = 0
let firstLines = 0
for (let run = 0; run < RUNS; run += 1) {
  await phone.kill()
  phone = await openPhoneBrowser(profile)
  await phone.page.waitForTimeout(REST_MS)
  session = await slowed(phone.page)
  await phone.page.addInitScript(WATCH)
  const first = told(phone.page, 'lines')
  const all = lines > 0 ? told(phone.page, 'lines', lines) : undefined
  await phone.page.goto(`${wire.url}/today?person=`, { waitUntil: 'commit' })
  const [count, atMs] = await first
  firstLines = count
  openMs.push(atMs)
  openCpuMs.push(await cpuMs(session))
  if (all) wholeMs.push((await all)[1])
  await phone.page.waitForTimeout(REST_MS)
  lines = await phone.page.locator('.work').count()
}

const tickMs: number[] = []
const tickCpuMs: number[] = []
const plain = tasks.filter(
  (t) => ['planned', 'due'].includes(t.state) && t.caution === '' && t.fromVessels.length + t.toVessels.length === 0,
)
for (const task of plain.slice(0, RUNS)) {
  await phone.page.goto(`${wire.url}/today/${task.key}`)
  await phone.page.getByRole('button', { name: 'Start', exact: true }).waitFor()
  await phone.page.waitForTimeout(REST_MS)
  const before = session ? await cpuMs(session) : Number.NaN
  const noted = told(phone.page, 'noted')
  await phone.page.evaluate(TICK)
  const [beganMs, notedMs] = await noted
  tickCpuMs.push(session ? (await cpuMs(session)) - before : Number.NaN)
  tickMs.push(notedMs - beganMs)
}

const shown = (what: string, clock: readonly number[], goal: number, cpu?: readonly number[]) => ({
  what,
  figure: Math.round(median(clock)),
  goal,
  ...(cpu ? { cpu: Math.round(median(cpu)) } : {}),
})
const rows = [
  shown(`first ${firstLines} lines visible, cold, no server, ms`, openMs, GOALS.openMs, openCpuMs),
  shown(`all ${lines} lines, ms`, wholeMs, GOALS.openMs),
  shown(`start noted (${tickMs.length} tasks), ms`, tickMs, GOALS.tickMs, tickCpuMs),
  ...['today', 'task-screen'].map((page) => ({
    what: `scripts of ${page}, kB gzipped`,
    figure: Number(gzippedKB(chunksOf(DIST, page)).toFixed(1)),
    goal: GOALS.kB,
  })),
]
console.table(rows)
const each = (list: readonly number[]) => list.map(Math.round).join(' ')
console.log(`open ${each(openMs)}, CPU ${each(openCpuMs)}, all lines ${each(wholeMs)}`)
console.log(`tick ${each(tickMs)}, CPU ${each(tickCpuMs)}`)
console.log(`load ${loadavg()[0]?.toFixed(1)}`)

await phone.close()
await wire.close()
await running?.close()
rmSync(profile, { recursive: true, force: true, maxRetries: 5 })
process.exit(rows.some((row) => !(row.figure <= row.goal)) ? 1 : 0)
