import type { Browser, Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { listenForErrors, openBrowser, type RunningApp, startApp } from '../helpers/browser.ts'

let app: RunningApp
let browser: Browser
let page: Page
let errors: readonly string[] = []

beforeAll(async () => {
  app = await startApp(['--empty'])
  browser = await openBrowser()
  page = await (await browser.newContext({ viewport: { width: 1024, height: 900 } })).newPage()
  errors = listenForErrors(page)
})

afterAll(async () => {
  await browser?.close()
  await app?.close()
})

describe('an empty start', () => {
  it('asks for a link first, and makes nothing without it', async () => {
    await page.goto(`${app.url}/lots`)
    await page
      .getByRole('heading', { name: 'A new book' })
      .or(page.getByRole('heading', { name: 'Sign in' }))
      .first()
      .waitFor()
    expect((await page.request.get(`${app.url}/api/cellar`)).status()).toBe(401)
  })

  it('leads from the link to the cellar', async () => {
    await page.goto(app.link)
    await page.getByRole('button', { name: 'Open the book' }).click()
    await page.getByRole('heading', { name: 'A new book' }).waitFor()
    await page.getByLabel('Name of the cellar').fill('Quarry Lane')
    await page.getByLabel('Time zone').selectOption('Europe/Berlin')
    await page.getByRole('radio', { name: /North/ }).check({ force: true })
    await page.getByRole('radio', { name: '°Oechsle' }).check({ force: true })
    await page.getByLabel('Your name').fill('Mika')
    await page.getByRole('button', { name: 'Make the cellar' }).click()
    await page.getByText('What the wine lies in').waitFor()
  })

  it('then to vessels and people, as many at once as one line says', async () => {
    await page.getByLabel('How many').first().fill('3')
    await page.getByText(/3 vessels: T01, T02, T03/).waitFor()
    await page.getByRole('button', { name: 'Keep the vessels' }).click()
    await page.getByText('Who works here besides you').waitFor()
    await page.getByLabel('Name', { exact: true }).first().fill('Toni')
    await page.getByRole('button', { name: 'Keep the people' }).click()
    await page.getByRole('button', { name: 'Enter the first lot' }).click()
  })

  it('then to the first lot, whose work is dated at once', async () => {
    await page.getByRole('heading', { name: 'New lot' }).waitFor()
    await page.getByText('Still to give: a name, a variety.').waitFor()
    await page.getByLabel('Name', { exact: true }).fill('First rows')
    await page.getByRole('textbox', { name: 'Variety' }).fill('Riesling')
    await page.getByLabel('Fruit', { exact: true }).fill('2')
    // The cellar reads Oechsle: 80 Oe is about 19 Brix.
    await page.getByLabel('Sugar', { exact: true }).fill('80')
    await expect.poll(() => page.locator('form').textContent()).not.toContain('Still to give')
    await page.getByRole('button', { name: 'Enter the lot' }).click()
    await page.getByRole('heading', { name: 'L01 First rows' }).waitFor()
    expect(await page.locator('tr[data-task^="L01/"]').count()).toBeGreaterThan(20)
    const lot = (await (await page.request.get(`${app.url}/api/lots/L01`)).json()) as {
      lot: { fruit: { brix: number } }
    }
    expect(lot.lot.fruit.brix).toBeGreaterThan(19)
    expect(lot.lot.fruit.brix).toBeLessThan(19.6)
  })

  it('refuses fruit that no cellar holds, at the field, and loses nothing of what was typed', async () => {
    await page.goto(`${app.url}/lots/new`)
    await page.getByLabel('Name', { exact: true }).fill('Too much')
    await page.getByRole('textbox', { name: 'Variety' }).fill('Riesling')
    await page.getByLabel('Fruit', { exact: true }).fill('400')
    await page.getByRole('button', { name: 'Enter the lot' }).click()
    await page.getByRole('alert').first().waitFor()
    expect(await page.getByLabel('Fruit', { exact: true }).getAttribute('aria-invalid')).toBe('true')
    expect(await page.getByLabel('Name', { exact: true }).inputValue()).toBe('Too much')
    const { lots } = (await (await page.request.get(`${app.url}/api/lots`)).json()) as { lots: unknown[] }
    expect(lots).toHaveLength(1)
  })

  it('made no page complain on the console', () => {
    expect(errors.filter((text) => !/status of 4(01|22)/.test(text))).toEqual([])
  })
})
