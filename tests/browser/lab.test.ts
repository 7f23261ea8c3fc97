import type { Browser, BrowserContext, Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { brixOfDensity } from '../../api/cellar/sugar.ts'
import type { ReadingWire, TaskWire } from '../../api/wire.ts'
import { contrastFaultsOf, faultsOf } from '../helpers/axe.ts'
import { listenForErrors, openBrowser, type RunningApp, signIn, startApp } from '../helpers/browser.ts'

// The invented cellar in its own dates: L09 is to be stopped on 31 March 2027, L01 is dry.
let app: RunningApp
let browser: Browser
let context: BrowserContext
let page: Page
let errors: readonly string[] = []

beforeAll(async () => {
  app = await startApp(['--demo', '--at', '2027-03-29'])
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
const readingsOf = async (lot: string) => (await api<{ readings: ReadingWire[] }>(`/api/readings?lot=${lot}`)).readings
const open = async (path: string) => {
  await page.goto(`${app.url}${path}`)
  await page.getByRole('heading', { level: 1 }).first().waitFor()
}
const picture = (name: string, fullPage = true) =>
  process.env.PICTURES ? page.screenshot({ path: `${process.env.PICTURES}/${name}.png`, fullPage }) : undefined

describe('the lab at the desk', () => {
  it('is asked about a reading that jumps, confirms it, and sees what moved and why', async () => {
    await open('/lots/L09')
    const before = await readingsOf('L09')
    const lastDensity = before.filter((r) => r.kind === 'density').at(-1)!.value
    const jump = String(Math.round(brixOfDensity(lastDensity)) + 5)
    const form = page.getByRole('form', { name: 'New reading' })
    await form.getByRole('textbox', { name: /^Sugar/ }).fill(jump)
    await form.getByRole('textbox', { name: /^Sugar/ }).blur()
    await form.getByRole('button', { name: 'Write it down', exact: true }).click()
    await form.getByText('Hard to believe: measure again, or confirm it').waitFor()
    expect((await readingsOf('L09')).length, 'nothing is stored unasked').toBe(before.length)
    await picture('measure-again')
    await form.getByRole('button', { name: 'It stands: write it down' }).click()
    const told = page.locator('.note', { hasText: /Sugar written down for L09\..*tasks? moved:/s })
    await told.waitFor()
    expect(await told.textContent()).toMatch(/the stop is forecast for .* instead of .*, so .* -> /)
    await picture('moved')
    expect((await readingsOf('L09')).length).toBe(before.length + 1)
  })

  it('reads in the panel of a task why it moved', async () => {
    const { tasks } = await api<{ tasks: TaskWire[] }>('/api/tasks?lot=L09')
    const moved = tasks.find((t) => t.step === 'stop-so2' && t.change)!
    await page.goto(`${app.url}/lots/L09?open=${moved.key}`)
    const panel = page.getByRole('dialog')
    await panel.getByRole('heading', { name: 'Why it moved' }).waitFor()
    const words = moved.change!.words
    expect(await panel.textContent()).toContain(words.slice(1))
    await picture('why-moved', false)
  })

  it('looks again at a dose whose reading changed', async () => {
    const { tasks } = await api<{ tasks: TaskWire[] }>('/api/tasks?lot=L01')
    const dosed = tasks.find((t) => t.step === 'post-so2')!
    const posted = await page.request.post(`${app.url}/api/readings`, {
      headers: { 'sec-fetch-site': 'same-origin' },
      data: { readings: [{ lot: 'L01', kind: 'pH', value: 3.62, confirmed: true }] },
    })
    expect(posted.status()).toBe(201)
    await page.goto(`${app.url}/lots/L01?open=${dosed.key}`)
    const panel = page.getByRole('dialog')
    await panel.getByText('Look again.').waitFor()
    expect(await panel.textContent()).toMatch(/Was \d+ g potassium metabisulphite in [\d,]+ L: \d+ mg\/L SO2 x/)
    await picture('look-again', false)
    await panel.getByRole('button', { name: 'I have looked' }).click()
    await panel.getByText('Look again.').waitFor({ state: 'detached' })
  })

  it('is asked at the task, too, before a doubtful figure is ticked off with it', async () => {
    await page.setViewportSize({ width: 390, height: 844 })
    const { tasks } = await api<{ tasks: TaskWire[] }>('/api/tasks?lot=L11')
    const round = tasks.find((t) => t.step === 'check-ferment' && (t.state === 'due' || t.state === 'planned'))!
    await page.goto(`${app.url}/lots/L11?open=${round.key}`)
    const panel = page.getByRole('dialog').first()
    await panel.getByRole('button', { name: 'Done', exact: true }).click()
    const work = page.getByRole('dialog', { name: /^Done:/ })
    if (await work.getByRole('checkbox').count()) await work.getByRole('checkbox').check({ force: true })
    await work.getByRole('textbox', { name: /^Temperature/ }).fill('39')
    await work.getByRole('textbox', { name: /^Temperature/ }).blur()
    await work.getByRole('button', { name: 'Done', exact: true }).click()
    await work.getByText('Nothing is written yet.').waitFor()
    await picture('done-asked-390', false)
    expect((await api<TaskWire>(`/api/tasks/${round.key}`)).state).not.toBe('done')
    await work.getByRole('button', { name: 'It stands: done' }).click()
    await work.waitFor({ state: 'detached' })
    expect((await api<TaskWire>(`/api/tasks/${round.key}`)).state).toBe('done')
    await page.setViewportSize({ width: 1280, height: 900 })
  })

  it('types twenty results by keyboard and writes them at once', async () => {
    await open('/lab')
    const first = page.getByRole('textbox', { name: 'L01 Sugar' })
    await first.waitFor()
    const names = await page.locator('.lab-sheet tbody input').evaluateAll((all) => all.map((e) => e.ariaLabel ?? ''))
    const lots = [...new Set(names.map((name) => name.split(' ')[0]!))]
    await first.focus()
    // Down the temperatures after the sugars: a cell each, Enter between them.
    for (let i = 0; i < lots.length; i++) await page.keyboard.press('Enter')
    for (const _ of lots) {
      await page.keyboard.type('15')
      await page.keyboard.press('Enter')
    }
    await page.getByLabel('Panel').selectOption('wine')
    await page.getByRole('textbox', { name: 'L05 pH' }).focus()
    for (let i = 0; i < 8; i++) {
      await page.keyboard.type('3.2')
      await page.keyboard.press('Enter')
    }
    await page.getByText('20 filled').waitFor()
    await page.getByLabel('Panel').selectOption('ferment')
    await page.getByRole('textbox', { name: 'L12 Temperature' }).fill('abc')
    expect(await page.getByText('no number').count()).toBe(1)
    await page.getByRole('textbox', { name: 'L12 Temperature' }).fill('15')
    await picture('lab-filled')
    await page.getByRole('textbox', { name: 'L12 Temperature' }).press('Control+Enter')
    const stands = page.getByRole('button', { name: 'They stand: write all down' })
    const written = page.locator('.note', { hasText: '20 results written down.' })
    await stands.or(written).first().waitFor()
    if (await stands.isVisible()) await stands.click()
    await written.first().waitFor()
    const stored = (await readingsOf('L12')).filter((r) => r.kind === 'temp' && r.value === 15)
    expect(stored.length).toBeGreaterThan(0)
    expect((await readingsOf('L06')).some((r) => r.kind === 'pH' && r.value === 3.2)).toBe(true)
  })

  it('finds on the bench what it typed last, the arithmetic, the document and what is from memory', async () => {
    await open('/bench/so2-limit')
    await page.getByLabel(/Glucose and fructose/).fill('7')
    await page.getByRole('button', { name: 'Work it out' }).click()
    await page.getByText('eu, 7 g/L sugar: 250 mg/L').waitFor()
    await page.reload()
    await page.getByRole('button', { name: 'Work it out' }).waitFor()
    expect(await page.getByLabel(/Glucose and fructose/).inputValue()).toBe('7')
    expect(await page.getByRole('link', { name: 'Delegated Regulation (EU) 2019/934' }).getAttribute('href')).toBe(
      'https://eur-lex.europa.eu/eli/reg_del/2019/934/oj',
    )
    await page.getByText('MEMORY.', { exact: true }).waitFor()
    expect(await page.getByText('Check your own rules').count()).toBeGreaterThan(0)
    await page.emulateMedia({ media: 'print' })
    expect(await page.getByRole('button', { name: 'Work it out' }).isVisible()).toBe(false)
    expect(await page.getByText('https://eur-lex.europa.eu/eli/reg_del/2019/934/oj').isVisible()).toBe(true)
    await page.emulateMedia({ media: 'screen' })
  })

  it('sees cold and air of the week beside their limits', async () => {
    await open('/heat-air')
    await page.getByRole('heading', { name: 'Limits' }).waitFor()
    expect(await page.getByRole('img', { name: /Cooling wanted by the hour; at most [\d.]+ kW/ }).count()).toBe(1)
    expect(await page.getByText('29 CFR 1910.146(b), as quoted').count()).toBeGreaterThan(0)
    await picture('heat-air')
  })

  it.each(['/lab', '/heat-air', '/bench/so2-limit'])(
    '%s fits a phone, on both grounds, without a fault',
    async (path) => {
      await page.setViewportSize({ width: 390, height: 844 })
      await open(path)
      await page.waitForLoadState('networkidle')
      expect(await page.evaluate<number>('document.documentElement.scrollWidth')).toBeLessThanOrEqual(390)
      const name = `${path.slice(1).replace('/', '-')}-390`
      await picture(`${name}-light`)
      expect(await faultsOf(page)).toEqual([])
      await page.emulateMedia({ colorScheme: 'dark' })
      await picture(`${name}-dark`)
      expect(await contrastFaultsOf(page)).toEqual([])
      await page.emulateMedia({ colorScheme: 'light' })
      await page.setViewportSize({ width: 1280, height: 900 })
    },
  )

  it('raised no error on any page', () => {
    expect(errors.filter((words) => !words.includes('409'))).toEqual([])
  })
})
