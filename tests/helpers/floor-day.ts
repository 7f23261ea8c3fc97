/** The invented cellar mid-vintage, a desk that leads and a phone that works, as the tests of the floor drive them. */
import type { Browser, BrowserContext, Locator, Page } from 'playwright-core'
import type { ReadingWire, TaskWire, VesselWire } from '../../api/wire.ts'
import { listenForErrors, openBrowser, type RunningApp, signIn, startApp } from './browser.ts'
import { startWire, type Wire } from './wire.ts'

// A press day, ferments, barrels, wines that wait.
export const DAY = '2027-03-22'

export interface FloorDay {
  readonly app: RunningApp
  readonly browser: Browser
  readonly desk: Page
  readonly phone: Page
  readonly phoneContext: BrowserContext
  /** Between the phone and the cellar. */
  readonly wire: Wire
  readonly errors: readonly string[]
  readonly kimId: string
  /** As the desk is answered. */
  readonly api: <T>(path: string) => Promise<T>
  readonly taskNow: (key: string) => Promise<TaskWire>
  readonly linkOf: (name: string) => Promise<string>
  readonly close: () => Promise<void>
}

export async function openFloorDay(): Promise<FloorDay> {
  const app = await startApp(['--demo', '--at', DAY])
  const wire = await startWire(app.url)
  const browser = await openBrowser()
  const desk = await signIn(await browser.newContext({ viewport: { width: 1280, height: 900 } }), app.link)
  // Asked twice: a kept-alive connection may have ended while the cellar was planning.
  const api = async <T>(path: string): Promise<T> => {
    const ask = () => desk.request.get(`${app.url}${path}`)
    return (await (await ask().catch(ask)).json()) as T
  }
  const idOf = async (name: string): Promise<string> => {
    const { people } = await api<{ people: { id: string; name: string }[] }>('/api/people')
    const person = people.find((one) => one.name === name)
    if (!person) throw new Error(`the invented cellar has no ${name}`)
    return person.id
  }
  const linkOf = async (name: string): Promise<string> => {
    const answer = await desk.request.post(`${app.url}/api/people/${await idOf(name)}/link`, {
      data: {},
      headers: { origin: app.url },
    })
    return ((await answer.json()) as { link: string }).link
  }
  const phoneContext = await browser.newContext({ viewport: { width: 390, height: 844 }, colorScheme: 'light' })
  const phone = await signIn(phoneContext, (await linkOf('Kim')).replace(app.url, wire.url))
  return {
    app,
    browser,
    desk,
    phone,
    phoneContext,
    wire,
    errors: listenForErrors(phone),
    kimId: await idOf('Kim'),
    api,
    taskNow: (key) => api<TaskWire>(`/api/tasks/${key}`),
    linkOf,
    close: async () => {
      await browser.close()
      await wire.close()
      await app.close()
    },
  }
}

export const picture = (page: Page, name: string) =>
  process.env.PICTURES ? page.screenshot({ path: `${process.env.PICTURES}/floor-${name}.png` }) : undefined

/** Everything of the vintage, by time. */
export const allTasks = async (day: FloorDay) =>
  (await day.api<{ tasks: TaskWire[] }>('/api/tasks?from=2027-02-01T00:00:00Z&to=2028-12-01T00:00:00Z')).tasks

/** Of the day itself, on Auckland's clock, thirteen hours ahead of UTC until 4 April. */
export const todaysTasks = async (day: FloorDay) =>
  (await day.api<{ tasks: TaskWire[] }>('/api/tasks?from=2027-03-21T11:00:00Z&to=2027-03-22T11:00:00Z')).tasks

export const isOpen = (task: TaskWire) => ['planned', 'due', 'blocked', 'underway'].includes(task.state)

export const screenOf = (page: Page, key: string): Locator => page.locator(`.floor-task[data-task="${key}"]`)
export const inState = (page: Page, key: string, state: TaskWire['state']): Locator =>
  page.locator(`.floor-task[data-task="${key}"][data-state="${state}"]`)

/** Goes there as a tapped link does, without reading the page anew. */
export async function goTo(page: Page, path: string): Promise<void> {
  await page.evaluate(
    `(() => {
      const link = document.createElement('a')
      link.href = ${JSON.stringify(path)}
      document.body.append(link)
      link.click()
      link.remove()
    })()`,
  )
}

export async function openTask(page: Page, key: string): Promise<Locator> {
  await goTo(page, `/today/${key}`)
  const screen = screenOf(page, key)
  await screen.waitFor()
  return screen
}

/** The vessel by two digits, the caution by its tap: nothing starts before both. @returns whether there was a caution */
export async function passGates(screen: Locator, task: TaskWire): Promise<boolean> {
  const digits = screen.locator('.input.digits')
  const code = task.fromVessels[0] ?? task.toVessels[0]
  if (code && (await digits.count()) > 0) await digits.fill(code.replace(/\D/g, '').slice(-2).padStart(2, '0'))
  const caution = screen.getByRole('checkbox', { name: /I have read this/ })
  if ((await caution.count()) === 0) return false
  await caution.check()
  return true
}

/** A value that wine or juice can have, where nothing was read before. Common practice. */
export const USUAL: Readonly<Record<ReadingWire['kind'], number>> = {
  brix: 20,
  density: 1080,
  sugar: 200,
  temp: 15,
  pH: 3.3,
  ta: 7,
  malic: 2,
  yan: 180,
  'free-so2': 30,
  'total-so2': 90,
  ntu: 80,
  va: 0.3,
  alcohol: 12.5,
  rot: 1,
  volume: 1000,
  headspace: 2,
  'co2-air': 600,
  oxygen: 0.3,
  smell: 0,
  conductivity: 1500,
  'protein-haze': 1,
  humidity: 80,
  'lees-share': 5,
  'glucose-fructose': 1,
  copper: 0.1,
}

/** What lies in the vessel that the wine leaves, where it can go whole into one that is empty; else nothing is measured. */
export function arrivedL(task: TaskWire, vessels: readonly VesselWire[]): number | undefined {
  const [from, ...others] = task.fromVessels
  if (!from || others.length > 0 || task.toVessels.length !== 1 || task.toVessels[0] === from) return undefined
  const there = vessels.find((one) => one.code === from)?.now
  const into = vessels.find((one) => one.code === task.toVessels[0])
  if (there?.lotCode !== task.lotCode || !into || into.now || there.volumeL > into.volumeL * 0.9) return undefined
  return Math.floor(there.volumeL * 0.98)
}
