import { AxeBuilder } from '@axe-core/playwright'
import type { Browser, BrowserContext, Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { PersonWire, TaskWire } from '../../api/wire.ts'
import { listenForErrors, openBrowser, type RunningApp, signIn, startApp } from '../helpers/browser.ts'

let app: RunningApp
let browser: Browser
let context: BrowserContext
let page: Page
let errors: readonly string[] = []

beforeAll(async () => {
  app = await startApp(['--demo', '--at', '2027-03-22'])
  browser = await openBrowser()
  context = await browser.newContext({
    viewport: { width: 1440, height: 900 },
    colorScheme: 'light',
    reducedMotion: 'reduce',
  })
  page = await signIn(context, app.link)
  errors = listenForErrors(page)
})

afterAll(async () => {
  await browser?.close()
  await app?.close()
})

const get = async <T>(path: string): Promise<T> => (await page.request.get(`${app.url}${path}`)).json() as Promise<T>
const tasks = async () => (await get<{ tasks: TaskWire[] }>('/api/tasks')).tasks
const open = async () =>
  new Map(
    (await tasks())
      .filter((t) => t.state === 'planned' || t.state === 'due')
      .map((t) => [t.key, `${t.startAt} ${t.people.join()}`]),
  )
const axe = async () => {
  const { violations } = await new AxeBuilder({ page }).analyze()
  return violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.html.slice(0, 120)).join(' | ')}`)
}

describe('what if', () => {
  it('asks one of seven questions, shows both plans in numbers and task by task, and changes nothing', async () => {
    await page.goto(`${app.url}/what-if`)
    await page.getByRole('heading', { name: 'What if', level: 1 }).waitFor()
    await page.getByText('Nothing tried yet').waitFor()
    expect(await axe()).toEqual([])
    const before = await open()
    await page.getByLabel('Lot', { exact: true }).selectOption({ label: 'L04 Chardonnay west' })
    await page.getByLabel('Picked and pressed on').fill('2027-03-25')
    await page.getByRole('button', { name: 'Try it' }).click()
    await page.getByRole('heading', { name: 'In numbers' }).waitFor({ timeout: 60_000 })
    await page.getByText('L04 Chardonnay west is picked on Thu 25 Mar', { exact: true }).first().waitFor()
    await page.getByRole('row', { name: /Hard rules broken/ }).waitFor()
    await page.getByRole('checkbox', { name: 'L04 Weigh and receive fruit moves' }).waitFor()
    expect(await axe()).toEqual([])
    expect(await open()).toEqual(before)
  })

  it('adopts it, and one undo takes all of it back', async () => {
    await page.getByRole('button', { name: 'Adopt', exact: true }).click()
    await page.getByText('Adopted: it is the plan now').waitFor({ timeout: 60_000 })
    const pick = async () => (await get<{ lot: { pickOn: string } }>('/api/lots/L04')).lot.pickOn
    await expect.poll(pick, { timeout: 60_000 }).toBe('2027-03-25')
    await page.getByRole('button', { name: 'Take all of it back' }).click()
    await expect.poll(pick, { timeout: 60_000 }).toBe('2027-03-24')
    await page.getByText('Adopted, taken back').waitFor()
  })

  it('is left by cancel while it is worked out, and dropped', async () => {
    await page.route('**/api/trials/*/plan', async (route) => {
      await new Promise((later) => setTimeout(later, 4_000))
      await route.continue().catch(() => {})
    })
    await page.goto(`${app.url}/what-if?ask=away`)
    await page.getByLabel('Person', { exact: true }).selectOption({ label: 'Kim' })
    await page.getByRole('button', { name: 'Try it' }).click()
    await page.getByRole('progressbar').waitFor()
    await page.getByRole('button', { name: 'Cancel' }).click()
    await page.getByText('It was not worked out.').waitFor()
    await page.unroute('**/api/trials/*/plan')
    await page.getByRole('button', { name: 'Work it out' }).click()
    await page.getByRole('button', { name: 'Drop' }).click({ timeout: 60_000 })
    await page
      .getByRole('row', { name: /Kim is away/ })
      .getByText('Dropped')
      .waitFor()
  })

  it('says what is wrong at the form', async () => {
    await page.goto(`${app.url}/what-if?ask=away`)
    await page.getByLabel('From', { exact: true }).fill('2027-03-24T10:00')
    await page.getByLabel('To', { exact: true }).fill('2027-03-24T08:00')
    await page.getByRole('button', { name: 'Try it' }).click()
    await page.getByRole('alert').getByText('must be later than its beginning').waitFor()
  })
})

describe('a proposal', () => {
  it('stands on every page until it is decided; what is unticked is pinned where it was', async () => {
    const { people } = await get<{ people: PersonWire[] }>('/api/people')
    const alex = people.find((p) => p.id === 'alex')
    // The winemaker is away today: the work of others is asked about, wherever the plan would rather move it.
    await page.request.post(`${app.url}/api/people/alex/absences`, {
      data: {
        fromAt: '2027-03-21T17:30:00Z',
        toAt: '2027-03-22T11:00:00Z',
        reason: 'ill',
        version: alex?.version,
      },
      headers: { 'sec-fetch-site': 'same-origin' },
    })
    const { open: proposal, earlier } = await get<{
      open: { moves: { key: string; applied: boolean; fromStartAt: string }[] } | null
      earlier: { moves: { key: string }[] }[]
    }>('/api/proposals')
    expect((proposal?.moves ?? earlier[0]?.moves ?? []).length).toBeGreaterThan(0)
    await page.goto(`${app.url}/changes`)
    await page.getByRole('heading', { name: 'Changes', level: 1 }).waitFor()
    expect(await axe()).toEqual([])
    const waiting = proposal?.moves.filter((m) => !m.applied) ?? []
    if (waiting.length === 0) {
      // Nothing could wait: all of it is listed as moved at once.
      await page
        .getByText(/moved at once/)
        .first()
        .waitFor()
      return
    }
    await page.goto(`${app.url}/today`)
    await page.getByText(/The plan would change/).waitFor()
    await page.getByRole('link', { name: 'Look and decide' }).click()
    const boxes = page.getByRole('checkbox')
    await boxes.first().waitFor()
    await boxes.first().uncheck()
    await page.getByRole('button', { name: /pin the rest|Agree to 0/ }).click()
    await page
      .getByText(/Agreed in part|Refused: all stays/)
      .first()
      .waitFor({ timeout: 60_000 })
    const key = waiting[0]?.key ?? ''
    await expect.poll(async () => (await tasks()).find((t) => t.key === key)?.pinned, { timeout: 60_000 }).toBe(true)
    expect((await tasks()).find((t) => t.key === key)?.startAt).toBe(waiting[0]?.fromStartAt)
  })
})

describe('asking', () => {
  it('answers in sentences, with lines that open tasks; axe finds nothing', async () => {
    await page.goto(`${app.url}/ask`)
    await page.getByRole('button', { name: 'Is the plan possible at all?' }).click()
    await page
      .locator('[data-answer=possible]')
      .getByText(/hard rule/)
      .first()
      .waitFor({ timeout: 60_000 })
    expect(await axe()).toEqual([])
    await page.getByRole('button', { name: 'Which tank is free on a day for so many litres?' }).click()
    await page.getByLabel('Volume').fill('6200')
    await page.getByLabel('On', { exact: true }).fill('2027-03-25')
    await page.getByRole('button', { name: 'Ask', exact: true }).click()
    await page
      .locator('[data-answer=free-tank]')
      .getByText(/95 % is the most for settling/)
      .waitFor({ timeout: 60_000 })
    await page.getByRole('button', { name: 'What will hurt us next week?' }).click()
    await page
      .locator('[data-answer=hurts-next]')
      .getByRole('button', { name: /^Open/ })
      .first()
      .click({ timeout: 60_000 })
    await page.getByRole('dialog').waitFor()
    expect(errors.filter((e) => !/422|409/.test(e))).toEqual([])
  })

  it('keeps what an answer tried as a trial', async () => {
    await page.goto(`${app.url}/ask?q=press-on`)
    await page.getByLabel('Lot', { exact: true }).selectOption({ label: 'L04 Chardonnay west' })
    await page.getByLabel('On', { exact: true }).fill('2027-03-26')
    await page.getByRole('button', { name: 'Ask', exact: true }).click()
    await page.getByRole('button', { name: 'Keep it as a trial and compare' }).click({ timeout: 60_000 })
    await page.getByText('L04 Chardonnay west is picked on Fri 26 Mar').first().waitFor()
  })
})
