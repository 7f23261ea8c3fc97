import { join } from 'node:path'
import { AxeBuilder } from '@axe-core/playwright'
import type { Browser, BrowserContext, Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { TaskWire } from '../../api/wire.ts'
import { listenForErrors, openBrowser, type RunningApp, signIn, startApp } from '../helpers/browser.ts'
import { chunksOf, gzippedKB } from '../helpers/weight.ts'

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

/** Colours of the chart on show, in steps of sixteen, of which more than a few points are seen. */
const HUES_DRAWN = `(() => {
  const seen = new Map()
  for (const tile of document.querySelectorAll('.chart-drawing canvas')) {
    if (tile.width === 0 || tile.height === 0 || tile.classList.contains('chart-over')) continue
    const sheet = new OffscreenCanvas(tile.width, tile.height)
    const pen = sheet.getContext('2d')
    pen.drawImage(tile, 0, 0)
    const { data } = pen.getImageData(0, 0, tile.width, tile.height)
    for (let i = 0; i < data.length; i += 28) {
      const key = [data[i], data[i + 1], data[i + 2]].map((v) => (v >> 4).toString(16)).join('')
      seen.set(key, (seen.get(key) ?? 0) + 1)
    }
  }
  return [...seen].filter(([, count]) => count > 20).map(([key]) => key)
})()`

/** Sheets while the printer asks, and after. */
const PRINT_AND_BACK = `(() => {
  window.dispatchEvent(new Event('beforeprint'))
  const sheets = document.querySelectorAll('.print-sheets svg').length
  window.dispatchEvent(new Event('afterprint'))
  return [sheets, document.querySelectorAll('.print-sheets svg').length]
})()`

const grid = () => page.getByRole('treegrid')
const said = async () => (await page.locator('[data-announce]').allTextContents()).join(' ').trim()
const tasks = async () =>
  ((await (await page.request.get(`${app.url}/api/tasks`)).json()) as { tasks: TaskWire[] }).tasks
const startOf = async (key: string) => (await tasks()).find((t) => t.key === key)?.startAt

const openSeason = async (path = '/season') => {
  await page.goto(`${app.url}${path}`)
  await grid().getByRole('row').nth(3).waitFor({ state: 'attached' })
}

/** Focuses by keys the next open task of a lot that has room to move: a day and more. */
async function focusMovable(): Promise<void> {
  const list = await tasks()
  const focused = async () => ({
    place: (await page.locator(':focus').getAttribute('data-place')) ?? '',
    words: (await page.locator(':focus').textContent()) ?? '',
  })
  const press = async (key: string) => {
    const { place } = await focused()
    await page.keyboard.press(key)
    await expect.poll(async () => (await focused()).place, { interval: 20 }).not.toBe(place)
  }
  await grid().locator('[role=row][aria-level="1"]').first().focus()
  for (let row = 0; row < 12; row++) {
    for (let step = 0; step < 4; step++) {
      await press('n')
      const { place, words } = await focused()
      const [lot] = place.split(' ')
      const isMovable = list.some(
        (t) =>
          t.lotCode === lot &&
          t.slackMin > 1500 &&
          (t.state === 'planned' || t.state === 'due') &&
          words.startsWith(`${t.name}, ${lot}`),
      )
      if (isMovable) return
    }
    await press('ArrowLeft')
    await press('ArrowDown')
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
    await expect.poll(said, { timeout: 90_000 }).toMatch(/moved to/)
    const moved = (await tasks()).filter((t) => t.pinned && before.get(t.key) !== t.startAt)
    expect(moved).toHaveLength(1)
    await page.keyboard.press('Control+z')
    await expect.poll(() => startOf(moved[0]?.key ?? ''), { timeout: 60_000 }).toBe(before.get(moved[0]?.key ?? ''))
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

describe('the season for everybody', () => {
  const windowOf = (options: Parameters<Browser['newContext']>[0]) =>
    context.storageState().then((storageState) => browser.newContext({ ...options, storageState }))

  it.each([320, 390])('is a lot and its days on a phone %i wide, by touch', async (width) => {
    const phone = await windowOf({ viewport: { width, height: 800 }, hasTouch: true, colorScheme: 'dark' })
    const small = await phone.newPage()
    await small.goto(`${app.url}/season`)
    await small.getByLabel('Lot').waitFor()
    await small.getByRole('button', { name: 'Month' }).tap()
    expect(await small.locator('html').evaluate((root) => root.scrollWidth)).toBeLessThanOrEqual(width)
    expect(await small.getByRole('treegrid').count()).toBe(0)
    const { violations } = await new AxeBuilder({ page: small }).analyze()
    expect(violations.map((v) => v.id)).toEqual([])
    await phone.close()
  })

  it('keeps its shapes under forced colours, and axe finds nothing', async () => {
    const forced = await windowOf({ viewport: { width: 1280, height: 800 }, forcedColors: 'active' })
    const tab = await forced.newPage()
    await tab.goto(`${app.url}/season`)
    await tab.getByRole('treegrid').waitFor()
    // System colours: the chart is drawn in the two or three of them, none of our hues.
    await expect.poll(async () => (await tab.evaluate<string[]>(HUES_DRAWN)).length).toBeGreaterThan(1)
    const hues = await tab.evaluate<string[]>(HUES_DRAWN)
    const isOurs = (key: string) => ['a50', '058', '486', '409', '899', 'fdc', 'eed'].includes(key)
    expect(hues.filter(isOurs)).toEqual([])
    await forced.close()
  })

  it('loses nothing at text of twice the size', async () => {
    const large = await windowOf({ viewport: { width: 1280, height: 800 } })
    const tab = await large.newPage()
    await tab.goto(`${app.url}/season`)
    await tab.getByRole('treegrid').waitFor()
    await tab.evaluate("document.documentElement.style.fontSize = '200%'")
    await tab.waitForTimeout(500)
    expect(await tab.locator('html').evaluate((root) => root.scrollWidth)).toBeLessThanOrEqual(1280)
    const chart = await tab.locator('.chart').boundingBox()
    expect(chart?.height ?? 0).toBeGreaterThan(200)
    await tab.getByRole('button', { name: 'More …' }).click()
    await tab.getByRole('menuitem', { name: /Print and export/ }).waitFor()
    await large.close()
  })

  it('emits nothing at a click without movement', async () => {
    await openSeason()
    let sent = 0
    const count = (request: { method: () => string; url: () => string }) => {
      if (request.method() !== 'GET') sent += 1
    }
    page.on('request', count)
    const spot = await page.locator('.chart').boundingBox()
    for (let i = 0; i < 12; i++) {
      await page.mouse.move((spot?.x ?? 0) + 260 + i * 70, (spot?.y ?? 0) + 128)
      await page.mouse.down()
      await page.mouse.up()
      await page.keyboard.press('Escape')
    }
    page.off('request', count)
    expect(sent).toBe(0)
  })

  it('draws a band out by its end, and puts the wish into the form', async () => {
    await openSeason()
    // Lees end months from now: the whole plan has their ends in sight.
    await page.getByRole('button', { name: 'All', exact: true }).click()
    await page.waitForTimeout(300)
    // The hand over a band's end is told by its sign: looked for from left to right in the lots' bands.
    const found = await page.evaluate<{ x: number; y: number } | null>(`(() => {
      const chart = document.querySelector('.chart')
      const box = chart.getBoundingClientRect()
      const rows = [...document.querySelectorAll('.chart-grid [aria-level="1"]')].map((r) => r.getBoundingClientRect())
      for (const row of rows)
        for (let x = box.left + 190; x < box.right - 20; x += 4) {
          const y = row.top + row.height * 0.72
          chart.dispatchEvent(new PointerEvent('pointermove', { bubbles: true, clientX: x, clientY: y, pointerId: 1 }))
          if (chart.style.cursor === 'ew-resize') return { x, y }
        }
      return null
    })()`)
    if (!found) throw new Error('no band on screen has an end that may be drawn')
    await page.mouse.move(found.x, found.y)
    await page.mouse.down()
    await page.mouse.move(found.x + 40, found.y, { steps: 4 })
    await expect.poll(said).toMatch(/(Skin contact|On fine lees) of L\d\d: [\d.]+ (h|months), until/)
    await page.mouse.up()
    const dialog = page.getByRole('dialog', { name: /^How long/ })
    await dialog.waitFor()
    expect(await dialog.getByRole('spinbutton').or(dialog.getByRole('textbox')).first().inputValue()).not.toBe('')
    await dialog.getByRole('button', { name: 'Leave it' }).click()
    await dialog.waitFor({ state: 'detached' })
  })

  it('folds a row, finds work and zooms by keys alone', async () => {
    await openSeason()
    const rows = grid().locator('[role=row][aria-level="1"]')
    await rows.nth(1).focus()
    await page.keyboard.press('c')
    await expect.poll(said).toMatch(/folded/)
    await page.keyboard.press('c')
    await page.keyboard.press('+')
    await page.keyboard.press('/')
    await page.keyboard.type('Chardonnay')
    await expect.poll(() => rows.count()).toBeLessThan(6)
    await page.keyboard.press('Control+a')
    await page.keyboard.press('Delete')
  })

  it('lays sheets for the printer at Ctrl+P, and takes them away', async () => {
    await openSeason()
    // What prints comes once the page is at rest.
    let laid: [number, number] = [0, 0]
    await expect
      .poll(async () => {
        laid = await page.evaluate<[number, number]>(PRINT_AND_BACK)
        return laid[0]
      })
      .toBeGreaterThan(0)
    expect(laid[1]).toBe(0)
  })

  it('changes how long a lot lies on its lees, by the form, and takes it back', async () => {
    await openSeason()
    const lot = grid().locator('[role=row][data-place="L05"]')
    await lot.focus()
    await page.keyboard.press('l')
    const dialog = page.getByRole('dialog', { name: 'How long, L05' })
    await dialog.waitFor()
    const field = dialog.getByLabel(/On fine lees/)
    const before = Number(await field.inputValue())
    await field.fill(String(before + 1))
    await dialog.getByRole('button', { name: 'See what changes' }).click()
    await dialog.getByRole('status').waitFor({ timeout: 60_000 })
    await dialog.getByRole('button', { name: 'Keep' }).click()
    await dialog.waitFor({ state: 'detached', timeout: 60_000 })
    const months = async () =>
      (
        (await (await page.request.get(`${app.url}/api/lots`)).json()) as {
          lots: { code: string; choices: { fineLeesMonths: number } }[]
        }
      ).lots.find((l) => l.code === 'L05')?.choices.fineLeesMonths
    expect(await months()).toBe(before + 1)
    await page.getByRole('button', { name: 'Undo' }).last().click()
    await expect.poll(months, { timeout: 60_000 }).not.toBe(before + 1)
  })

  it('draws a trial against the real plan, with the differences in words', async () => {
    const { lots } = (await (await page.request.get(`${app.url}/api/lots`)).json()) as { lots: { id: string }[] }
    const made = await page.request.post(`${app.url}/api/trials`, {
      headers: { origin: app.url },
      data: { name: 'Cooler', changes: [{ kind: 'choices', lot: lots[1]?.id, choices: { fermentTempC: 13 } }] },
    })
    const { trial } = (await made.json()) as { trial: { id: string } }
    await openSeason(`/season?trial=${trial.id}`)
    const list = page.getByRole('complementary', { name: 'Trial: Cooler' })
    await list.getByRole('heading', { name: /tasks? would/i }).waitFor({ timeout: 60_000 })
    expect(await list.getByText('\u2192').count()).toBeGreaterThan(0)
    const { violations } = await new AxeBuilder({ page }).analyze()
    expect(violations.map((v) => v.id)).toEqual([])
  })

  it('loads less than 150 kB of scripts', () => {
    const kB = gzippedKB(chunksOf(join(import.meta.dirname, '../../dist/web'), 'timeline'))
    expect(kB).toBeGreaterThan(40)
    expect(kB).toBeLessThan(150)
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
