/**
 * Makes the pictures of the README from the built app: one lot from fruit to bottling-ready, and the season from every
 * side. Run by `npm run pictures [-- NAME ...]`; names choose those that begin so.
 */
import { mkdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import type { Page } from 'playwright-core'
import { openBrowser, signIn, startApp } from './browser.ts'
import { smallPng } from './small-png.ts'

const FOLDER = join(import.meta.dirname, '../../web/pictures')
const WIDTH = 1280

type Ground = 'light' | 'dark'

interface Picture {
  readonly name: string
  readonly path: string
  readonly height?: number
  readonly before?: (page: Page) => Promise<void>
  readonly ground?: Ground
}

const settled = async (page: Page) => {
  await page.locator('.loading').waitFor({ state: 'detached' })
  await page.evaluate('document.fonts.ready')
  // Curves and the season are drawn a frame after their figures arrive.
  await page.waitForTimeout(700)
}

/** L01 is the lot that the pictures follow; it stands mid-ferment on 22 March 2027. */
const PICTURES: readonly Picture[] = [
  {
    name: '1-fruit-and-choices',
    path: '/lots/new',
    height: 1000,
    before: async (page) => {
      await page.getByLabel('Name', { exact: true }).fill('Long rows')
      await page.getByRole('textbox', { name: 'Variety' }).fill('Chenin Blanc')
      await page.getByRole('radio', { name: 'Textured, barrel' }).check({ force: true })
      await page.locator('.dates tr').first().waitFor()
    },
  },
  { name: '2-season', path: '/season', height: 900 },
  { name: '3-lot', path: '/lots/L01', height: 900 },
  { name: '4-today', path: '/today', height: 900 },
  {
    name: '5-task',
    path: '/lots/L01',
    height: 900,
    before: async (page) => {
      await page
        .getByRole('button', { name: /first SO2/i })
        .first()
        .click()
      await page.getByText('Why not later').or(page.getByText('May start')).first().waitFor()
    },
  },
  { name: '6-vessels', path: '/vessels', height: 900 },
]

const press = (name: string) => async (page: Page) => {
  await page.getByRole('button', { name, exact: true }).click()
}

/** The season from every side, on 22 March 2027. */
const SEASON: readonly Picture[] = [
  { name: 'season-1-year', path: '/season', before: press('All') },
  { name: 'season-2-month', path: '/season', before: press('Month') },
  {
    name: 'season-3-one-lot-one-day',
    path: '/season',
    height: 560,
    before: async (page) => {
      await page.getByLabel('Find tasks, lots, vessels').fill('L03')
      await press('Day')(page)
    },
  },
  {
    name: 'season-4-vessels',
    path: '/season',
    before: async (page) => {
      await press('Vessels')(page)
      await press('Month')(page)
    },
  },
  {
    name: 'season-5-people',
    path: '/season',
    before: async (page) => {
      await press('People')(page)
      await press('Week')(page)
    },
  },
  {
    name: 'season-6-trial',
    path: '/season',
    before: async (page) => {
      const { lots } = (await (await page.request.get(`${app.url}/api/lots`)).json()) as {
        lots: { id: string; code: string }[]
      }
      const of = (code: string) => lots.find((l) => l.code === code)?.id
      const made = await page.request.post(`${app.url}/api/trials`, {
        headers: { origin: app.url },
        data: {
          name: 'Cooler, and the Riesling earlier',
          changes: [
            { kind: 'choices', lot: of('L02'), choices: { fermentTempC: 13 } },
            { kind: 'pick', lot: of('L07'), pickOn: '2027-03-28' },
          ],
        },
      })
      const { trial } = (await made.json()) as { trial: { id: string } }
      await page.goto(`${app.url}/season?trial=${trial.id}`)
      await page.getByRole('complementary', { name: /^Trial/ }).waitFor()
    },
  },
  {
    name: 'season-7-print-sheet',
    path: '/season',
    before: async (page) => {
      await page.getByRole('button', { name: 'More …' }).click()
      await page.getByRole('menuitem', { name: /Print and export/ }).click()
      await page.getByRole('img', { name: 'The first sheet' }).waitFor()
    },
  },
  { name: 'season-8-night', path: '/season', ground: 'dark', before: press('Month') },
  {
    name: 'season-9-readings',
    path: '/season',
    before: async (page) => {
      await page.getByRole('button', { name: 'More …' }).click()
      await page.getByRole('menuitem', { name: /Readings/ }).click()
    },
  },
]

const named = process.argv.slice(2)
const isWanted = (name: string) => named.length === 0 || named.some((wish) => name.startsWith(wish))

async function take(page: Page, name: string) {
  writeFileSync(join(FOLDER, `${name}.png`), smallPng(await page.screenshot()))
  console.log(`web/pictures/${name}.png`)
}

const app = await startApp(['--demo', '--at', '2027-03-22'])
const browser = await openBrowser()
try {
  mkdirSync(FOLDER, { recursive: true })
  const context = await browser.newContext({
    viewport: { width: WIDTH, height: 900 },
    colorScheme: 'light',
    reducedMotion: 'reduce',
  })
  const page = await signIn(context, app.link)
  for (const picture of [...PICTURES, ...SEASON].filter((p) => isWanted(p.name))) {
    await page.emulateMedia({ colorScheme: picture.ground ?? 'light' })
    await page.setViewportSize({ width: WIDTH, height: picture.height ?? 900 })
    await page.goto(`${app.url}${picture.path}`)
    await settled(page)
    await picture.before?.(page)
    await settled(page)
    await take(page, picture.name)
  }
  const phone = await browser.newContext({
    viewport: { width: 390, height: 844 },
    colorScheme: 'dark',
    hasTouch: true,
    storageState: await context.storageState(),
  })
  const hand = await phone.newPage()
  for (const [name, path] of [
    ['7-today-phone-night', '/today'],
    ['season-10-phone', '/season'],
  ] as const) {
    if (!isWanted(name)) continue
    await hand.goto(`${app.url}${path}`)
    await settled(hand)
    await take(hand, name)
  }
} finally {
  await browser.close()
  await app.close()
}
