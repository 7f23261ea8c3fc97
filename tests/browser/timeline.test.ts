import { AxeBuilder } from '@axe-core/playwright'
import type { Browser, BrowserContext, Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { TaskWire } from '../../api/wire.ts'
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

const grid = () => page.getByRole('treegrid')
const said = async () => (await page.locator('[data-announce]').allTextContents()).join(' ').trim()
const tasks = async () =>
  ((await (await page.request.get(`${app.url}/api/tasks`)).json()) as { tasks: TaskWire[] }).tasks
const startOf = async (key: string) => (await tasks()).find((t) => t.key === key)?.startAt

const openSeason = async (path = '/season') => {
  await page.goto(`${app.url}${path}`)
  await grid().getByRole('row').nth(3).waitFor({ state: 'attached' })
}

/** Focuses by keys the next open task of a lot that has room to move, and tells its key. */
async function focusMovable(): Promise<string> {
  const list = await tasks()
  const known = new Map(list.map((t) => [t.key, t]))
  const rows = grid().locator('[role=row][aria-level="1"]')
  await rows.first().focus()
  for (let row = 0; row < 12; row++) {
    await page.keyboard.press('n')
    for (let step = 0; step < 6; step++) {
      await page.waitForTimeout(200)
      const place = (await page.locator(':focus').getAttribute('data-place')) ?? ''
      const text = (await page.locator(':focus').textContent()) ?? ''
      const lot = place.split(' ')[0]
      const found = [...known.values()].find(
        (t) =>
          t.lotCode === lot &&
          t.slackMin > 1500 &&
          (t.state === 'planned' || t.state === 'due') &&
          text.startsWith(`${t.name}, ${lot}`),
      )
      if (found) {
        await page.keyboard.press('m')
        await page.keyboard.press('Escape')
        return lot ?? ''
      }
      await page.keyboard.press('n')
    }
    await page.keyboard.press('ArrowLeft')
    await page.keyboard.press('ArrowDown')
  }
  throw new Error('no lot of the invented cellar has a task with room to move')
}

describe('the season', () => {
  it('opens on this month with every lot, and axe finds nothing', async () => {
    await openSeason()
    const names = await grid().getByRole('rowheader').allTextContents()
    expect(names.filter((n) => /^L\d\d /.test(n)).length).toBeGreaterThanOrEqual(10)
    const { violations } = await new AxeBuilder({ page }).analyze()
    expect(violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.html.slice(0, 120)).join(' | ')}`)).toEqual([])
  })

  it('moves a task by keys alone, says so, keeps it, and takes it back', async () => {
    await openSeason()
    await focusMovable()
    const before = new Map((await tasks()).map((t) => [t.key, t.startAt]))
    await page.keyboard.press('m')
    await expect.poll(said).toMatch(/Moving/)
    await page.waitForTimeout(600)
    await page.keyboard.press('Shift+ArrowRight')
    await expect.poll(said).not.toMatch(/^Moving/)
    await page.keyboard.press('Enter')
    await expect.poll(said, { timeout: 60_000 }).toMatch(/moved to/)
    const moved = (await tasks()).filter((t) => t.pinned && before.get(t.key) !== t.startAt)
    expect(moved).toHaveLength(1)
    await page.getByRole('button', { name: 'Undo' }).last().waitFor()
    await page.keyboard.press('Control+z')
    const key = moved[0]?.key ?? ''
    await expect.poll(async () => (await tasks()).find((t) => t.key === key)?.pinned, { timeout: 60_000 }).toBe(false)
  })

  it('leaves everything where it was on Escape, and on Enter without a move', async () => {
    await openSeason()
    const before = JSON.stringify((await tasks()).map((t) => [t.key, t.startAt, t.pinned]))
    await focusMovable()
    await page.keyboard.press('m')
    await page.keyboard.press('ArrowRight')
    await page.keyboard.press('Escape')
    await expect.poll(said).toMatch(/stays where it was/)
    await page.keyboard.press('m')
    await page.keyboard.press('Enter')
    await expect.poll(said).toMatch(/Nothing was moved/)
    expect(JSON.stringify((await tasks()).map((t) => [t.key, t.startAt, t.pinned]))).toBe(before)
  })

  it('moves a task without dragging, by the dialog', async () => {
    await openSeason()
    await focusMovable()
    // Through the panel and back: the focus must come home to the task.
    await page.keyboard.press('Enter')
    const panel = page.getByRole('dialog')
    await panel.waitFor()
    await page.keyboard.press('Escape')
    await panel.waitFor({ state: 'detached' })
    await expect.poll(() => page.locator(':focus').getAttribute('data-place')).toMatch(/^L\d\d \d+$/)
    await page.keyboard.press('d')
    const dialog = page.getByRole('dialog', { name: /^Move/ })
    await dialog.waitFor()
    const before = new Map((await tasks()).map((t) => [t.key, t.startAt]))
    await dialog.getByRole('button', { name: /A day later/ }).click()
    await dialog.getByRole('button', { name: 'Move it' }).click()
    await dialog.waitFor({ state: 'detached', timeout: 60_000 })
    await expect.poll(said, { timeout: 20_000 }).toMatch(/moved to/)
    const moved = (await tasks()).filter((t) => t.pinned && before.get(t.key) !== t.startAt)
    expect(moved).toHaveLength(1)
    await page.keyboard.press('Control+z')
    await expect.poll(() => startOf(moved[0]?.key ?? ''), { timeout: 60_000 }).toBe(before.get(moved[0]?.key ?? ''))
  })

  it('shows one lot first on a phone, as wide as the phone', async () => {
    const phone = await browser.newContext({
      viewport: { width: 320, height: 640 },
      storageState: await context.storageState(),
    })
    const small = await phone.newPage()
    await small.goto(`${app.url}/season`)
    await small.getByLabel('Lot').waitFor()
    expect(await small.locator('html').evaluate((root) => root.scrollWidth)).toBeLessThanOrEqual(320)
    await phone.close()
  })

  it('prints sheets with a key and numbers', async () => {
    await openSeason()
    await page.getByRole('button', { name: 'More …' }).click()
    await page.getByRole('menuitem', { name: /Print and export/ }).click()
    const dialog = page.getByRole('dialog', { name: 'Print and export' })
    await dialog.getByRole('button', { name: 'The whole plan' }).click()
    await expect
      .poll(async () => Number.parseInt((await dialog.getByRole('status').textContent()) ?? '', 10))
      .toBeGreaterThan(1)
    expect(await page.locator('.print-sheets svg').count()).toBeGreaterThan(1)
    await page.keyboard.press('Escape')
  })
})

describe('the calendar', () => {
  it('counts the month, opens a day, walks by arrows, and axe finds nothing', async () => {
    await page.goto(`${app.url}/calendar`)
    const month = page.getByRole('grid')
    await month.waitFor()
    expect(await month.getByRole('button', { name: /22 March: .*check/ }).count()).toBe(1)
    await month.locator('[tabindex="0"]').focus()
    await page.keyboard.press('ArrowRight')
    await page.keyboard.press('Enter')
    await page.getByRole('heading', { name: 'Tuesday 23 March' }).waitFor()
    const { violations } = await new AxeBuilder({ page }).analyze()
    expect(violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.html.slice(0, 120)).join(' | ')}`)).toEqual([])
  })

  it('lists a week in columns', async () => {
    await page.getByRole('button', { name: 'Week', exact: true }).click()
    expect(await page.locator('.week section').count()).toBe(7)
  })
})

it('the page complained about nothing', () => {
  expect(errors).toEqual([])
})
