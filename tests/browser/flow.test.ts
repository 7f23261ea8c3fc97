import type { Browser, BrowserContext, Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { contrastFaultsOf, faultsOf } from '../helpers/axe.ts'
import { listenForErrors, openBrowser, type RunningApp, signIn, startApp } from '../helpers/browser.ts'

// The invented cellar in its own dates, on the morning of 22 March 2027: mid-vintage, whatever the day of the run.
let app: RunningApp
let browser: Browser
let context: BrowserContext
let page: Page
let errors: readonly string[] = []

beforeAll(async () => {
  app = await startApp(['--demo', '--at', '2027-03-22'])
  browser = await openBrowser()
  context = await browser.newContext({ viewport: { width: 1280, height: 900 }, colorScheme: 'light' })
  page = await signIn(context, app.link)
  errors = listenForErrors(page)
})

afterAll(async () => {
  await browser?.close()
  await app?.close()
})

const api = async <T>(path: string): Promise<T> => (await (await page.request.get(`${app.url}${path}`)).json()) as T

interface LotRow {
  readonly id: string
  readonly code: string
  readonly phase: string | null
  readonly vessels: readonly string[]
  readonly dry?: { readonly likelyAt: string }
}

const open = async (path: string) => {
  await page.goto(`${app.url}${path}`)
  await page
    .getByRole('heading', { level: 1 })
    .or(page.getByRole('heading', { name: 'Season' }))
    .first()
    .waitFor()
}

describe('a winemaker at the desk', () => {
  it('signs in by the one-time link, which is then spent, and sees the season', async () => {
    await page.getByRole('heading', { name: 'Season' }).waitFor()
    expect(page.url()).not.toContain('token')
    const stranger = await browser.newContext()
    const door = await stranger.newPage()
    await door.goto(app.link)
    await door.getByRole('button', { name: 'Open the book' }).click()
    expect(await door.getByRole('alert').textContent()).toMatch(/link/i)
    await stranger.close()
  })

  it('enters a lot with answers of its own and has its dated work at once', async () => {
    await open('/lots/new')
    await page.getByLabel('Code').fill('L31')
    await page.getByLabel('Name', { exact: true }).fill('Long rows')
    await page.getByRole('textbox', { name: 'Variety' }).fill('Chenin Blanc')
    await page.getByLabel('Picked on').fill('2027-03-25')
    await page.getByLabel('Fruit', { exact: true }).fill('2.5')
    await page.getByRole('radio', { name: 'Neutral, volume' }).check({ force: true })
    const settling = page.locator('#choice-10')
    await settling.getByRole('radio', { name: 'Cold settle', exact: true }).check({ force: true })
    expect(await settling.textContent()).toContain('not the style’s')
    await page.locator('.dates tr').first().waitFor()
    expect(await page.locator('.dates tr').count()).toBeGreaterThan(3)
    await page.getByRole('button', { name: 'Enter the lot' }).click()
    await page.getByRole('heading', { name: 'L31 Long rows' }).waitFor()
    const rows = page.locator('tr[data-task^="L31/"]')
    expect(await rows.count()).toBeGreaterThan(20)
    expect(await page.locator('tr[data-task^="L31/press/"]').count()).toBeGreaterThan(0)
    expect(await page.locator('tr[data-task^="L31/float"]').count()).toBe(0)
  })

  it('ticks a task, is told what else changed, and takes it back', async () => {
    const row = page.locator('tr[data-task^="L31/"]').first()
    const key = (await row.getAttribute('data-task')) ?? ''
    const states = async () => (await api<{ state: string }>(`/api/tasks/${key}`)).state
    expect(['planned', 'due']).toContain(await states())
    await row.getByRole('button').first().click()
    const panel = page.getByRole('dialog')
    await panel.getByText('Why then').waitFor()
    await panel.getByRole('button', { name: 'Done', exact: true }).click()
    const sheet = page.getByRole('dialog').filter({ hasText: 'Done:' })
    const caution = sheet.getByRole('checkbox', { name: /I have read this/ })
    if ((await sheet.count()) > 0) {
      if ((await caution.count()) > 0) {
        expect(await sheet.getByRole('button', { name: 'Done', exact: true }).isDisabled()).toBe(true)
        await caution.check()
      }
      await sheet.getByRole('button', { name: 'Done', exact: true }).click()
    }
    const toast = page.locator('.toast').filter({ hasText: 'Done:' })
    await toast.waitFor()
    expect(await states()).toBe('done')
    await page.keyboard.press('Escape')
    await toast.getByRole('button', { name: 'Undo' }).click()
    await page.locator('.toast').filter({ hasText: 'Taken back' }).waitFor()
    expect(['planned', 'due']).toContain(await states())
  })

  it('writes a reading, and the forecast of dryness moves', async () => {
    const { lots } = await api<{ lots: LotRow[] }>('/api/lots')
    const lot = lots.find((entry) => entry.phase === 'ferment' && entry.dry)
    expect(lot, 'the demo cellar has a fermenting lot with a forecast').toBeDefined()
    if (!lot) return
    await open(`/lots/${lot.id}`)
    const form = page.getByRole('form', { name: 'New reading' })
    // The first tap shows the last value; twelve more take 1.2 Brix off it.
    for (let tap = 0; tap <= 12; tap += 1) await form.getByRole('button', { name: /Sugar: .* less/ }).click()
    await form.getByRole('button', { name: 'Write it down' }).click()
    await page.locator('.toast').filter({ hasText: 'written down' }).waitFor()
    const after = (await api<{ lots: LotRow[] }>('/api/lots')).lots.find((entry) => entry.id === lot.id)
    expect(after?.dry?.likelyAt).toBeDefined()
    expect(after?.dry?.likelyAt).not.toBe(lot.dry?.likelyAt)
  })

  it('is stopped by a conflict, and passes with a signed reason', async () => {
    await open('/lots/new')
    await page.getByLabel('Name', { exact: true }).fill('Trial')
    await page.getByRole('textbox', { name: 'Variety' }).fill('Chardonnay')
    await page.getByLabel('Fruit', { exact: true }).fill('1')
    await page.getByRole('radio', { name: 'Neutral, volume' }).check({ force: true })
    const enter = page.getByRole('button', { name: 'Enter the lot' })
    // Malolactic wanted, and SO2 given right after dryness: K04.
    await page.locator('#choice-16').getByRole('radio', { name: 'Inoculate after' }).check({ force: true })
    const block = page.locator('[data-conflict="K04"]').first()
    await block.waitFor()
    await expect.poll(() => enter.isDisabled()).toBe(true)
    const blocks = page.locator('.note.bad[data-conflict]')
    while ((await blocks.filter({ hasText: 'Keep it all the same' }).count()) > 0) {
      const next = blocks.filter({ hasText: 'Keep it all the same' }).first()
      await next.getByText('Keep it all the same').click()
      await next.getByRole('textbox').fill('A small trial, watched daily')
      await next.getByRole('button', { name: 'Sign' }).click()
    }
    await expect.poll(() => enter.isDisabled()).toBe(false)
    await enter.click()
    await page.getByRole('heading', { name: /Trial/ }).waitFor()
    expect(await page.locator('[data-conflict="K04"]').first().textContent()).toContain('A small trial, watched daily')
  })

  it('makes a feed whose address gives a calendar, and whose revoking kills it', async () => {
    await open('/feeds')
    await page.getByRole('radio', { name: 'The whole cellar' }).check({ force: true })
    await page.getByRole('button', { name: 'Make the feed' }).click()
    await page.getByRole('img', { name: /QR code/ }).waitFor()
    const url = (await page.locator('[data-feed-url]').textContent())?.trim() ?? ''
    const feed = await fetch(url)
    const text = await feed.text()
    expect(feed.status).toBe(200)
    expect(text).toContain('BEGIN:VCALENDAR')
    expect(text.split('BEGIN:VEVENT').length).toBeGreaterThan(20)
    await page.getByRole('button', { name: 'Revoke' }).click()
    await page.locator('.toast').filter({ hasText: 'is dead' }).waitFor()
    expect([404, 410]).toContain((await fetch(url)).status)
  })

  it('sees in a second browser what the first one does, without asking', async () => {
    const { people } = await api<{ people: { id: string; role: string; language: string }[] }>('/api/people')
    // The screens speak the language of whoever is signed in; the words looked for below are English.
    const hand = people.find((person) => person.role === 'hand' && person.language === 'en')
    const made = await page.request.post(`${app.url}/api/people/${hand?.id}/link`, { headers: { origin: app.url } })
    const other = await browser.newContext({ viewport: { width: 390, height: 844 } })
    const phone = await signIn(other, ((await made.json()) as { link: string }).link)
    const { tasks } = await api<{
      tasks: { key: string; name: string; state: string; startAt: string; records: string[]; doses: unknown[] }[]
    }>('/api/tasks?from=2027-03-21T11:00:00Z&to=2027-03-22T11:00:00Z')
    const task = tasks.find((entry) => entry.state === 'planned' || entry.state === 'due')
    expect(task).toBeDefined()
    if (!task) return
    await phone.goto(`${app.url}/today?person=&day=2027-03-22`)
    const line = phone.locator(`[data-task="${task.key}"]`)
    await line.getByRole('button', { name: 'Done', exact: true }).waitFor()
    const told = await page.request.post(`${app.url}/api/tasks/${task.key}/start`, {
      data: {},
      headers: { origin: app.url },
    })
    expect(told.status()).toBe(200)
    await line.getByText('Under way').waitFor({ timeout: 90_000 })
    await other.close()
  })

  it('is told plainly when the connection is gone, keeps what was read, and sends nothing', async () => {
    await open('/vessels')
    await page.getByText(/in use,/).waitFor()
    await context.setOffline(true)
    await page.getByText('No connection. What you see was read before').waitFor({ timeout: 90_000 })
    expect(await page.getByText(/in use,/).count()).toBe(1)
    await page.getByRole('button', { name: 'New vessel' }).click()
    await page.getByLabel('Code').fill('T77')
    await page.getByLabel('Holds', { exact: true }).fill('1000')
    await page.getByRole('button', { name: 'Keep' }).click()
    await page.getByText('No connection: this was not sent').waitFor()
    await context.setOffline(false)
    await page.keyboard.press('Escape')
    await page.getByText('No connection. What you see was read before').waitFor({ state: 'detached', timeout: 90_000 })
    const { vessels } = await api<{ vessels: { code: string }[] }>('/api/vessels')
    expect(vessels.some((vessel) => vessel.code === 'T77')).toBe(false)
  })

  it('sees each wrong row of a table before anything is written', async () => {
    await open('/exchange')
    await page.getByLabel(/^Table/).fill('code,kind,volumeL\nT90,tank,5000\nT91,bathtub,-3\n')
    await page.getByRole('button', { name: 'Check 2 rows' }).click()
    await page.getByText('1 of 2 rows do not fit.').waitFor()
    expect(await page.locator('tr.bad').textContent()).toContain('kind')
    expect(await page.getByRole('button', { name: 'Write 2 rows' }).isDisabled()).toBe(true)
    const { vessels } = await api<{ vessels: { code: string }[] }>('/api/vessels')
    expect(vessels.some((vessel) => vessel.code === 'T90')).toBe(false)
  })

  it('made no page complain on the console', () => {
    // A cut connection and a refused table are told by the browser itself; anything else is ours.
    const ours = errors.filter((text) => !/ERR_INTERNET_DISCONNECTED|status of 4(04|09|10|22)/.test(text))
    expect(ours).toEqual([])
  })
})

const PAGES = [
  '/season',
  '/calendar',
  '/today?day=2027-03-22',
  '/lots',
  '/lots/L05',
  '/lots/new',
  '/vessels',
  '/crew',
  '/protocols',
  '/bench',
  '/bench/so2-dose',
  '/feeds',
  '/exchange',
  '/cellar',
] as const

describe('each page', () => {
  let view: Page
  let complaints: readonly string[] = []

  beforeAll(async () => {
    const own = await browser.newContext({
      viewport: { width: 1280, height: 900 },
      reducedMotion: 'reduce',
      storageState: await context.storageState(),
    })
    view = await own.newPage()
    complaints = listenForErrors(view)
  })

  afterAll(async () => {
    await view?.context().close()
  })

  it.each(PAGES)('%s has no fault that axe can find, on either ground', async (path) => {
    await view.emulateMedia({ colorScheme: 'light' })
    await view.goto(`${app.url}${path}`)
    await view.getByRole('main').waitFor()
    await view.locator('.loading').waitFor({ state: 'detached' })
    expect(await faultsOf(view)).toEqual([])
    await view.emulateMedia({ colorScheme: 'dark' })
    expect(await contrastFaultsOf(view)).toEqual([])
  })

  it('complained of nothing on the console', () => {
    expect(complaints).toEqual([])
  })
})

describe('on narrow screens', () => {
  let view: Page

  beforeAll(async () => {
    const own = await browser.newContext({ reducedMotion: 'reduce', storageState: await context.storageState() })
    view = await own.newPage()
  })

  afterAll(async () => {
    await view?.context().close()
  })

  it.each(PAGES)('%s fits 320, 390 and 768 px without scrolling sideways', async (path) => {
    for (const width of [320, 390, 768]) {
      await view.setViewportSize({ width, height: 844 })
      // Between phones only the width differs; what a screen shows is chosen when it opens.
      if (width !== 390) {
        await view.goto(`${app.url}${path}`)
        await view.getByRole('main').waitFor()
        await view.locator('.loading').waitFor({ state: 'detached' })
      }
      const past = await view.evaluate('document.documentElement.scrollWidth - document.documentElement.clientWidth')
      expect(past, `${path} at ${width} px`).toBe(0)
    }
  })
})
