import type { Browser, BrowserContext, Locator, Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest'
import type {
  EnteredWire,
  LotLedgerWire,
  MovementsWire,
  RegisterWire,
  StockWire,
  TraceWire,
  VesselLedgerWire,
} from '../../api/wire.ts'
import { contrastFaultsOf, faultsOf } from '../helpers/axe.ts'
import { listenForErrors, openBrowser, type RunningApp, signIn, startApp } from '../helpers/browser.ts'

/*
 * The invented cellar on 10 April 2027. Through the screens: three splits (L11 into egg and cube, L12 with 2,000 L
 * apart, L04 into cask and barrels), the taille blend of L05 and L06, two merges (the cuvees, then all three into one),
 * opening stock, a year of toppings of two barrels (twelve, each with its real time), a correction, an undo, a stock
 * count. Only the wine that is topped, bought a year before, comes in through the route the screen uses.
 */
// Every write plans the whole cellar anew; on a busy machine that takes its time.
vi.setConfig({ testTimeout: 300_000 })

let app: RunningApp
let browser: Browser
let context: BrowserContext
let page: Page
let errors: readonly string[] = []

beforeAll(async () => {
  app = await startApp(['--demo', '--at', '2027-04-10'])
  browser = await openBrowser()
  context = await browser.newContext({ viewport: { width: 1280, height: 900 }, colorScheme: 'light' })
  page = await signIn(context, app.link)
  page.setDefaultTimeout(120_000)
  errors = listenForErrors(page)
})

afterAll(async () => {
  await browser?.close()
  await app?.close()
})

const api = async <T>(path: string): Promise<T> => {
  const answer = await page.request.get(`${app.url}${path}`)
  expect(answer.status(), path).toBe(200)
  return (await answer.json()) as T
}
const tell = async <T>(path: string, data: unknown): Promise<T> => {
  const answer = await page.request.post(`${app.url}${path}`, { headers: { 'sec-fetch-site': 'same-origin' }, data })
  expect(answer.status(), await answer.text()).toBe(201)
  return (await answer.json()) as T
}
const open = async (path: string) => {
  await page.goto(`${app.url}${path}`)
  await page.getByRole('heading', { level: 1 }).first().waitFor()
}
const picture = (name: string, fullPage = true) =>
  process.env.PICTURES ? page.screenshot({ path: `${process.env.PICTURES}/${name}.png`, fullPage }) : undefined
const stock = () => api<StockWire>('/api/ledger/stock')
const inVessel = async (code: string) => (await stock()).contents.find((content) => content.vessel.code === code)!
const lotOf = (code: string) => api<LotLedgerWire>(`/api/ledger/lots/${code}`)
const toastWith = (words: string | RegExp) => page.locator('.toast').filter({ hasText: words }).first().waitFor()
const form = () => page.getByRole('form', { name: 'A movement' })

/** Looks first, reads what becomes of the plans, then does it. */
async function lookThen(dialog: Locator, name: string): Promise<string> {
  await dialog.getByRole('button', { name: 'Look first' }).click()
  const plans = dialog.getByRole('region', { name: 'What becomes of the plans' })
  await plans.waitFor()
  await plans
    .getByText(/still to do/)
    .first()
    .waitFor()
  const words = (await plans.textContent()) ?? ''
  await dialog.getByRole('button', { name }).click()
  await dialog.waitFor({ state: 'detached' })
  return words
}

async function merge(
  code: string,
  name: string,
  lots: readonly string[],
  parts: Readonly<Record<string, string>>,
): Promise<string> {
  await open('/ledger')
  await page.getByRole('button', { name: 'Merge lots' }).click()
  const dialog = page.getByRole('dialog', { name: 'Merge lots' })
  await dialog.getByLabel('Code of the new lot').fill(code)
  await dialog.getByLabel('Name').fill(name)
  for (const lot of lots) await dialog.getByRole('checkbox', { name: new RegExp(`^${lot},`) }).check()
  for (const [vessel, goes] of Object.entries(parts))
    await dialog.getByLabel(new RegExp(`^${vessel}: `)).selectOption(goes)
  await picture(`merge-${code}`, false)
  return lookThen(dialog, 'Merge the lots')
}

describe('lots part and join on the screens', () => {
  it('splits a lot by its vessels, and the children have its plan', async () => {
    const before = await lotOf('L11')
    await open('/ledger/lots/L11')
    await page.getByRole('button', { name: 'Split' }).click()
    const dialog = page.getByRole('dialog', { name: /^Split L11/ })
    const [egg, cube] = [
      dialog.getByRole('group', { name: /^Child 1/ }),
      dialog.getByRole('group', { name: /^Child 2/ }),
    ]
    await dialog.getByRole('button', { name: 'Look first' }).click()
    await dialog.getByText('L11a needs a code and a name.').waitFor()
    await egg.getByLabel('Name').fill('Chenin egg')
    await egg.getByRole('checkbox', { name: 'T16' }).check()
    await cube.getByLabel('Name').fill('Chenin cube')
    await cube.getByRole('checkbox', { name: 'T17' }).check()
    await picture('split-L11', false)
    const words = await lookThen(dialog, 'Split the lot')
    expect(words).toMatch(/L11 has [1-9]\d* tasks still to do\. Its plan ends/)
    await page.getByRole('heading', { name: 'L11a Chenin egg' }).waitFor()
    const [a, b] = [await lotOf('L11a'), await lotOf('L11b')]
    expect(a.volumeL + b.volumeL).toBeCloseTo(before.volumeL, 3)
    expect(a.parents.map((parent) => parent.lot.code)).toEqual(['L11'])
    const { tasks } = await api<{ tasks: { lotCode: string }[] }>('/api/tasks?lot=L11a')
    expect(tasks.length).toBeGreaterThan(0)
  })

  it('splits litres off into another tank', async () => {
    const before = await inVessel('T10')
    expect(before.lot?.code).toBe('L12')
    await open('/ledger/lots/L12')
    await page.getByRole('button', { name: 'Split' }).click()
    const dialog = page.getByRole('dialog', { name: /^Split L12/ })
    const [oak, rest] = [
      dialog.getByRole('group', { name: /^Child 1/ }),
      dialog.getByRole('group', { name: /^Child 2/ }),
    ]
    await oak.getByLabel('Name').fill('Colombard on oak')
    await oak.getByRole('button', { name: 'Move wine for L12a' }).click()
    await oak.getByLabel('From').selectOption('T10')
    await oak.getByLabel('To').selectOption('T07')
    await oak.getByLabel('How much').fill('2000')
    await rest.getByLabel('Name').fill('Colombard plain')
    await rest.getByRole('checkbox', { name: 'T10' }).check()
    await lookThen(dialog, 'Split the lot')
    await page.getByRole('heading', { name: 'L12a Colombard on oak' }).waitFor()
    expect((await lotOf('L12a')).volumeL).toBe(2000)
    expect((await lotOf('L12b')).volumeL).toBeCloseTo(before.volumeL - 2000, 3)
  })

  it('splits a third lot into cask and barrels', async () => {
    await open('/ledger/lots/L04')
    await page.getByRole('button', { name: 'Split' }).click()
    const dialog = page.getByRole('dialog', { name: /^Split L04/ })
    const [cask, wood] = [
      dialog.getByRole('group', { name: /^Child 1/ }),
      dialog.getByRole('group', { name: /^Child 2/ }),
    ]
    await cask.getByLabel('Name').fill('Chardonnay cask')
    await cask.getByRole('checkbox', { name: 'T19' }).check()
    await wood.getByLabel('Name').fill('Chardonnay barrels')
    for (const code of ['D1', 'D2', 'D3', 'D4']) await wood.getByRole('checkbox', { name: code }).check()
    await lookThen(dialog, 'Split the lot')
    await page.getByRole('heading', { name: 'L04a Chardonnay cask' }).waitFor()
    expect((await lotOf('L04b')).where.map((content) => content.vessel.code)).toEqual(['D1', 'D2', 'D3', 'D4'])
  })

  it('blends the tailles, merges the cuvees, and makes one wine of all; its trace lists every parcel', async () => {
    const [taille5, cuvee5] = [(await inVessel('T14')).volumeL, (await inVessel('T02')).volumeL]
    const [taille6, cuvee6] = [(await inVessel('T05')).volumeL, (await inVessel('T12')).volumeL]
    await merge('TAI', 'Taille blend', ['L05', 'L06'], { T14: 'stays', T05: 'T14' })
    await page.getByRole('heading', { name: 'TAI Taille blend' }).waitFor()
    const tai = await lotOf('TAI')
    expect(tai.volumeL).toBeCloseTo(taille5 + taille6, 3)
    expect(tai.sources.find((source) => source.lot?.code === 'L05')?.share).toBeCloseTo(
      taille5 / (taille5 + taille6),
      9,
    )
    await merge('CUV', 'Cuvee blend', ['L05', 'L06'], { T02: 'stays', T12: 'T02' })
    await merge('FIN', 'Final blend', ['TAI', 'CUV', 'L12a'], { T02: 'T09', T14: 'T09', T07: 'T09' })
    const totalL = taille5 + cuvee5 + taille6 + cuvee6 + 2000
    // Each parcel's litres over all: what went in of L05, of L06, and 2,000 L of L12.
    const expected = { L05: (taille5 + cuvee5) / totalL, L06: (taille6 + cuvee6) / totalL, L12: 2000 / totalL }
    const trace = await api<TraceWire>('/api/ledger/trace?lot=FIN&direction=back')
    expect(trace.totalL).toBeCloseTo(totalL, 3)
    for (const [lot, share] of Object.entries(expected))
      expect(
        trace.sources.filter((source) => source.lot?.code === lot).reduce((sum, source) => sum + source.share, 0),
        lot,
      ).toBeCloseTo(share, 9)
    await open('/ledger/trace?lot=FIN')
    const parcels = page.getByRole('table', { name: 'Every parcel in it' })
    await parcels.waitFor()
    expect(await parcels.locator('tbody tr').count()).toBe(trace.sources.length)
    for (const lot of ['L05', 'L06', 'L12'])
      expect(await parcels.getByRole('link', { name: lot, exact: true }).count(), lot).toBeGreaterThan(0)
    const drawing = page.getByRole('img', { name: /^What is in FIN: / })
    for (const lot of ['FIN', 'TAI', 'CUV', 'L12a', 'L05', 'L06', 'L12'])
      expect(await drawing.locator('title', { hasText: new RegExp(`^${lot}\\b`) }).count(), lot).toBeGreaterThan(0)
    // A box has room for twenty letters: they must be enough to tell one from another.
    const boxes = await drawing.locator('.trace-code').allTextContents()
    expect(new Set(boxes).size).toBe(boxes.length)
    await picture('trace-final')
    await page.getByRole('radio', { name: 'Forward: where it went' }).check({ force: true })
    await page.getByLabel('Lot', { exact: true }).selectOption('L12')
    await page.getByRole('heading', { name: 'Is in now' }).waitFor()
    await page.getByRole('table').first().getByText('T09').first().waitFor()
  })
})

describe('a year of toppings', () => {
  it('brings wine of last year in as opening stock, row by row', async () => {
    await open('/ledger/opening')
    const table = page.getByLabel(/^Table, comma separated/)
    const head = 'vessel,lot,volumeL,variety,vintage,block,origin,name'
    await table.fill(
      `${head}\nE8,V26,120,Chardonnay,2026,Old block,Ostrel,Chardonnay 2026\nE99,V26,20,Chardonnay,2026,,,`,
    )
    await page.getByRole('button', { name: /^Check/ }).click()
    await page.getByText('1 of 2 rows do not fit.').waitFor()
    await picture('opening-wrong')
    await table.fill(`${head}\nE8,V26,120,Chardonnay,2026,Old block,Ostrel,Chardonnay 2026`)
    await page.getByRole('button', { name: /^Check/ }).click()
    await page.getByRole('button', { name: 'Write 1 rows' }).click()
    await toastWith('1 vessels written')
    expect((await inVessel('E8')).lot?.code).toBe('V26')
  })

  it('tops two barrels every second month for a year, each with its real time', async () => {
    const bought = { kind: 'receive', lot: 'V26', bought: true, variety: 'Chardonnay', vintage: '2026' }
    for (const [to, volumeL] of [
      ['D5', 270],
      ['D6', 270],
      ['D7', 280],
    ] as const)
      await tell<EnteredWire>('/api/ledger/movements', { ...bought, to, volumeL, atLocal: '2026-04-20T09:00' })
    const months = ['2026-05', '2026-07', '2026-09', '2026-11', '2027-01', '2027-03']
    await open('/ledger/entry?kind=top')
    for (const month of months) {
      await form().getByLabel('When it happened').fill(`${month}-01T09:00`)
      await form().getByLabel('From', { exact: true }).selectOption('D7')
      await form().getByLabel('To', { exact: true }).selectOption('D5')
      await form().getByLabel('Arrived').fill('2.5')
      await form().getByRole('button', { name: 'Write it down' }).click()
      await toastWith(/D7 \(V26\) to D5 \(V26\), 2.5 L, topped/)
      await expect.poll(() => form().getByLabel('To', { exact: true }).inputValue()).toBe('D6')
      await form().getByRole('button', { name: 'Write it down' }).click()
      await expect.poll(() => form().getByLabel('To', { exact: true }).inputValue()).toBe('')
    }
    await picture('entry-topped')
    // 270 L and six times 2.5 L; from the source twelve times.
    expect((await inVessel('D5')).volumeL).toBe(285)
    expect((await inVessel('D6')).volumeL).toBe(285)
    expect((await inVessel('D7')).volumeL).toBe(250)
    // On 1 August 2026 it had been topped in May and in July: 270 + 2 x 2.5.
    const then = await api<VesselLedgerWire>('/api/ledger/vessels/D5?at=2026-08-01T00:00:00Z')
    expect(then.content.volumeL).toBe(275)
    const late = (await api<MovementsWire>('/api/ledger/movements?vessel=D5&limit=50')).movements
    expect(late.filter((movement) => movement.cause === 'top' && movement.late)).toHaveLength(6)
  })

  it('refuses to overfill at the field, shows new shares before other wine goes in, and takes back', async () => {
    await open('/ledger/entry?kind=top&from=D7&to=D5')
    await form().getByLabel('Arrived').fill('16')
    await form()
      .getByText(/has room for 15 L; overfilling is refused/)
      .waitFor()
    await form().getByLabel('Arrived').fill('1')
    await form().getByLabel('To', { exact: true }).selectOption('D1')
    await form().getByRole('button', { name: 'Write it down' }).click()
    const note = form().getByRole('status', { name: 'What it would do' })
    await note.getByText(/Vintage 2026: 0 % →/).waitFor()
    await picture('entry-other-wine')
    await form().getByRole('button', { name: 'It is meant so: write it down' }).click()
    await toastWith(/D7 \(V26\) to D1/)
    expect((await inVessel('D7')).volumeL).toBe(249)
    await page.locator('.toast').filter({ hasText: /to D1/ }).first().getByRole('button', { name: 'Undo' }).click()
    await toastWith('Taken back')
    expect((await inVessel('D7')).volumeL).toBe(250)
  })

  it('corrects a wrong entry by one against it, with the reason', async () => {
    await open('/ledger/movements?vessel=D6')
    const row = page.getByRole('row').filter({ hasText: '2.5 L' }).first()
    await row.getByRole('button', { name: /^Correct/ }).click()
    const dialog = page.getByRole('dialog', { name: 'Correct a movement' })
    await dialog.getByLabel('Why it was wrong').fill('read the can wrongly')
    await dialog.getByLabel('Arrived').fill('2')
    await picture('correct', false)
    await dialog.getByRole('button', { name: 'Write the correction' }).click()
    await dialog.waitFor({ state: 'detached' })
    expect((await inVessel('D6')).volumeL).toBe(284.5)
    const stored = (await api<MovementsWire>('/api/ledger/movements?vessel=D6&limit=50')).movements
    expect(stored.filter((movement) => movement.reversesId).map((movement) => movement.reason)).toEqual([
      'read the can wrongly',
    ])
    expect(await page.locator('tr.struck').count()).toBe(1)
  })

  it('bars a lot from topping others, with its reason', async () => {
    await open('/ledger/lots/V26')
    await page.getByRole('button', { name: 'Bar it' }).click()
    const dialog = page.getByRole('dialog', { name: 'Bar V26' })
    await dialog.getByLabel('Why').fill('volatile acidity rising')
    await dialog.getByRole('button', { name: 'Bar it' }).click()
    await page.getByText('Barred from topping other wine').waitFor()
    await open('/ledger/entry?kind=top&from=D7&to=D1')
    await form().getByLabel('Arrived').fill('1')
    await form().getByRole('button', { name: 'Write it down' }).click()
    await form().getByRole('alert').first().waitFor()
    // The correction before gave half a litre back to it.
    expect((await inVessel('D7')).volumeL).toBe(250.5)
  })
})

describe('the book', () => {
  it('closes its balance over the year', async () => {
    await open('/ledger/registers?name=balance&from=2026-04-01&to=2027-04-10')
    await page.getByText('The balance closes').waitFor()
    const register = await api<RegisterWire>('/api/ledger/registers/balance?from=2026-04-01&to=2027-04-10')
    expect(register.closes).toBe(true)
    await picture('balance')
    const csv = await page.request.get(
      `${app.url}/api/ledger/registers/vessels/csv?from=2026-04-01&to=2027-04-10&vessel=D5`,
    )
    expect((await csv.text()).trim().split('\n').length).toBeGreaterThan(6)
  })

  it('has a count whose difference is explained, and its own check holds', async () => {
    await open('/ledger/count')
    await page.getByLabel('D5 counted').fill('270')
    await page.getByRole('button', { name: 'Show the differences' }).click()
    await page.getByText('more than usual').waitFor()
    expect(await page.getByRole('button', { name: 'Write the count' }).isDisabled()).toBe(true)
    await page.getByLabel('D5 cause').selectOption('leak')
    await page.getByLabel('D5 explained').fill('weeping stave')
    await picture('count')
    await page.getByRole('button', { name: 'Write the count' }).click()
    await toastWith('Counted 1 vessels')
    expect((await inVessel('D5')).volumeL).toBe(270)
    await open('/ledger/checks')
    await page.getByRole('button', { name: 'Check now' }).click()
    await toastWith(/The book holds\.|faults found/)
    await picture('checks')
    const { checks } = await api<{ checks: { ok: boolean; faults: unknown[] }[] }>('/api/ledger/checks')
    expect(checks[0]?.faults).toEqual([])
  })
})

const PAGES = [
  '/ledger',
  '/ledger/entry',
  '/ledger/movements',
  '/ledger/trace?lot=FIN',
  '/ledger/registers?name=lots',
  '/ledger/registers?name=losses',
  '/ledger/registers?name=yields',
  '/ledger/count',
  '/ledger/opening',
  '/ledger/checks',
  '/ledger/vessels/T09',
  '/ledger/lots/FIN',
]

describe('every page of the ledger', () => {
  it.each(PAGES)('%s fits a phone, on both grounds, without a fault', async (path) => {
    await page.setViewportSize({ width: 390, height: 844 })
    await open(path)
    await expect.poll(() => page.locator('.loading').count()).toBe(0)
    expect(await page.evaluate<number>('document.documentElement.scrollWidth')).toBeLessThanOrEqual(390)
    expect(await faultsOf(page)).toEqual([])
    await page.emulateMedia({ colorScheme: 'dark' })
    expect(await contrastFaultsOf(page)).toEqual([])
    await page.setViewportSize({ width: 1280, height: 900 })
    await page.emulateMedia({ colorScheme: 'light' })
  })

  it('prints a register without the frame', async () => {
    await open('/ledger/registers?name=vessels&from=2027-03-01&to=2027-04-10')
    await page
      .getByRole('region', { name: /Movements by vessel/i })
      .first()
      .waitFor()
    await page.emulateMedia({ media: 'print' })
    expect(await page.getByRole('navigation', { name: 'Ledger' }).isVisible()).toBe(false)
    expect(await page.getByText(/^Printed .* by /).isVisible()).toBe(true)
    await page.emulateMedia({ media: 'screen' })
  })

  it('raised no error on any page', () => {
    // Refusals that were asked for above: another lot there, a barred lot.
    expect(errors.filter((words) => !/\b(409|422)\b/.test(words))).toEqual([])
  })
})
