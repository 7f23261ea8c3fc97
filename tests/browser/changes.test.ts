/** Changes of plan as people tell them on the screens, and what is to be seen of them: one cellar on one morning. */
import type { Browser, Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { LotWire, MachineWire, PersonWire, TaskWire } from '../../api/wire.ts'
import { listenForErrors, openBrowser, type RunningApp, signIn, startApp } from '../helpers/browser.ts'

let app: RunningApp
let browser: Browser
let page: Page
let errors: readonly string[] = []

beforeAll(async () => {
  // Fri 26 March 2027, 06:30: L04 settles since Thursday, L07 is picked on Tuesday 30.
  app = await startApp(['--demo', '--at', '2027-03-26'])
  browser = await openBrowser()
  const context = await browser.newContext({ viewport: { width: 1440, height: 900 }, reducedMotion: 'reduce' })
  page = await signIn(context, app.link)
  errors = listenForErrors(page)
})

afterAll(async () => {
  await browser?.close()
  await app?.close()
})

const get = async <T>(path: string): Promise<T> => (await page.request.get(`${app.url}${path}`)).json() as Promise<T>
const post = async <T>(path: string, data: object): Promise<T> => {
  const answer = await page.request.post(`${app.url}${path}`, { data, headers: { 'sec-fetch-site': 'same-origin' } })
  expect([answer.status() < 300, await answer.text()]).toEqual([true, expect.any(String)])
  return answer.json() as Promise<T>
}
const open = async (path: string) => {
  await page.goto(`${app.url}${path}`)
  await page.getByRole('heading', { level: 1 }).waitFor()
}
const said = (words: RegExp) => page.locator('.toast').filter({ hasText: words }).first()
const lotOf = async (code: string) => (await get<{ lot: LotWire }>(`/api/lots/${code}`)).lot
const task = (key: string) => get<TaskWire>(`/api/tasks/${key}`)
/** A report from the floor: what is wrong, at a vessel or of a lot. */
const report = async (where: string, word: string) => {
  await open(`/today/problem?${where}`)
  await page.getByRole('radio', { name: word, exact: true }).check({ force: true })
  await page.getByRole('button', { name: 'Tell it' }).click()
  await page.waitForURL('**/today')
}
/** Work that stands on the lot's page; what is raised counts from 2001 by a reading, from 8001 by a report. */
const stands = async (lot: string, ...keys: string[]) => {
  await open(`/lots/${lot}`)
  for (const key of keys) await page.locator(`tr[data-task^="${key}"]`).first().waitFor()
}
/** Answers of a lot are changed, with a reason signed for whatever stands against them. */
const choose = async (lot: string, answer: () => Promise<void>) => {
  await open(`/lots/${lot}`)
  await page.getByRole('button', { name: 'Change the choices' }).click()
  await answer()
  const keep = page.getByRole('button', { name: 'Keep these choices' })
  const blocks = page.locator('.note.bad[data-conflict]').filter({ hasText: 'Keep it all the same' })
  await page.locator('.dates tr').first().waitFor()
  while ((await blocks.count()) > 0) {
    const next = blocks.first()
    await next.getByText('Keep it all the same').click()
    await next.getByRole('textbox').fill('decided at the tank')
    await next.getByRole('button', { name: 'Sign' }).click()
  }
  await keep.click()
  await said(/kept; its work is planned anew/).waitFor()
}
const personOf = async (id: string) =>
  (await get<{ people: PersonWire[] }>('/api/people')).people.find((p) => p.id === id)!

describe('the fruit', () => {
  it('4 and 5: there is more of it and it is hot: the lot says so, its juice and its settling follow', async () => {
    await open('/lots/L07')
    await page.getByRole('button', { name: 'Change', exact: true }).first().click()
    const form = page.getByRole('dialog')
    await form.getByLabel('Fruit', { exact: true }).fill('6.6')
    await form.getByLabel('Fruit arrives at').fill('24')
    await form.getByRole('button', { name: 'Keep' }).click()
    await said(/L07 is changed/).waitFor()
    const { fruit } = await lotOf('L07')
    expect([fruit.tonnes, fruit.fruitTempC]).toEqual([6.6, 24])
    // 6.6 t x 620 L/t of the slope's fruit.
    const { phases } = await get<{ phases: { kind: string; volumeL: number }[] }>('/api/lots/L07')
    expect(phases.find((p) => p.kind === 'settle')?.volumeL).toBeCloseTo(6.6 * fruit.yieldLPerT, 0)
  })

  it('3 and 6: rain in the pick: the load is parted, the wet part with its rot is sorted, the dry part is not', async () => {
    await open('/lots/L07')
    await page.getByRole('button', { name: 'Change', exact: true }).first().click()
    const form = page.getByRole('dialog')
    await form.getByLabel('Fruit', { exact: true }).fill('4.6')
    await form.getByRole('button', { name: 'Keep' }).click()
    await said(/L07 is changed/).waitFor()
    await open('/lots/new')
    await page.getByLabel('Code').fill('L41')
    await page.getByLabel('Name', { exact: true }).fill('Slope after the rain')
    await page.getByRole('textbox', { name: 'Variety' }).fill('Riesling')
    await page.getByLabel('Picked on').fill('2027-03-30')
    await page.getByLabel('Fruit', { exact: true }).fill('2')
    await page.getByLabel('Rot', { exact: true }).fill('8')
    await page.getByRole('radio', { name: 'Crisp aromatic' }).check({ force: true })
    await page.locator('#choice-1').getByRole('radio', { name: 'By hand', exact: true }).check({ force: true })
    await page.locator('.dates tr').first().waitFor()
    await page.getByRole('button', { name: 'Enter the lot' }).click()
    await page.getByRole('heading', { name: 'L41 Slope after the rain' }).waitFor()
    await page.locator('tr[data-task^="L41/sort/"]').first().waitFor()
    await open('/lots/L07')
    await page.locator('tr[data-task^="L07/receive/"]').first().waitFor()
    expect(await page.locator('tr[data-task^="L07/sort/"]').count()).toBe(0)
  })
})

describe('the cellar', () => {
  it('12: juice that stays cloudy waits and gets its enzyme, told from the floor', async () => {
    const before = await task('L04/rack-juice/1')
    await open('/today/problem?lot=L04')
    await page.getByRole('radio', { name: 'Juice will not clear' }).check({ force: true })
    await page.getByRole('button', { name: 'Tell it' }).click()
    await page.waitForURL('**/today')
    // Twelve hours more from 06:30 is 18:30, at the earliest.
    await expect.poll(async () => (await task('L04/rack-juice/1')).startAt).not.toBe(before.startAt)
    expect((await task('L04/rack-juice/1')).startAt >= '2027-03-26T05:30:00Z').toBe(true)
    await open('/lots/L04')
    await page.locator('tr[data-task^="L04/dose-juice/8"]').first().waitFor()
  })

  it('8: a press is away for hours and is back sooner: the machine says both', async () => {
    const bookings = async () =>
      (await get<{ machines: MachineWire[] }>('/api/machines')).machines.find((m) => m.code === 'PB')!.bookings
    await open('/cellar')
    const row = page.getByRole('row', { name: /^PB / })
    await row.getByRole('button', { name: 'Change' }).click()
    await page.getByLabel('Out of service from now for').fill('8')
    await page.getByRole('button', { name: 'Save' }).click()
    await said(/PB is changed/).waitFor()
    await row.getByText(/out of service/).waitFor()
    await row.getByRole('button', { name: 'Change' }).click()
    await page.getByRole('button', { name: 'It is back now' }).click()
    await page.getByRole('button', { name: 'Save' }).click()
    await expect
      .poll(async () => (await bookings()).every((b) => Date.parse(b.toAt) - Date.parse(b.fromAt) < 3_600_000))
      .toBe(true)
  })

  it('19: malic acid that has not moved in three weeks asks for warmth, stirring and other bacteria', async () => {
    // A lot that got its bacteria three weeks ago; its readings come from the laboratory's book.
    const like = await lotOf('L03')
    const { finishOn: _, ...choices } = like.choices
    await post('/api/lots', {
      code: 'L42',
      name: 'Early rows',
      variety: like.variety,
      pickOn: '2027-02-15',
      fruit: { ...like.fruit, tonnes: 1 },
      choices,
      signed: [],
    })
    await post('/api/tasks/L42/mlf-inoculate/1/done', { at: '2027-03-03T20:00:00Z' })
    await open('/lots/L42')
    const form = page.getByRole('form', { name: 'New reading' })
    for (const [taken, malic] of [
      ['2027-03-04T10:00', '3'],
      ['2027-03-15T10:00', '3.02'],
      ['2027-03-26T06:00', '2.97'],
    ] as const) {
      await form.getByLabel('Measured').selectOption('malic')
      await form.locator('.stepper input').fill(malic)
      await form.getByLabel('Taken').fill(taken)
      await form.getByRole('button', { name: 'Write it down' }).click()
      const stands = form.getByRole('button', { name: 'It stands: write it down' })
      await said(/written down/)
        .or(stands)
        .first()
        .waitFor()
      if (await stands.isVisible()) await stands.click()
      await said(/written down/).waitFor()
      await page.getByRole('button', { name: 'Dismiss' }).first().click()
    }
    // Raised work counts from 2001.
    for (const step of ['mlf-inoculate', 'stir-lees', 'check-va'])
      await page.locator(`tr[data-task^="L42/${step}/2"], tr[data-task^="L42/${step}/8"]`).first().waitFor()
  })
})

describe('the ferment', () => {
  it('11: juice that ferments by itself is racked at once, told from the floor', async () => {
    // Still cloudy, it was to wait until the evening.
    await report('lot=L04', 'Juice ferments by itself')
    // Within two hours of the morning of the 26th: 06:30 in Auckland is 17:30 of the 25th in UTC.
    await expect.poll(async () => (await task('L04/rack-juice/1')).startAt < '2027-03-25T21:30:00Z').toBe(true)
    expect((await task('L04/rack-juice/1')).detail).toContain('it ferments by itself')
    await stands('L04', 'L04/inoculate/1')
    // Nobody waits for it to clear any more; the look of this morning stays written.
    const { tasks } = await get<{ tasks: TaskWire[] }>('/api/tasks?lot=L04')
    const looks = tasks.filter((t) => t.step === 'check-clarity' && t.state !== 'cancelled')
    expect(looks.filter((t) => t.state !== 'done')).toEqual([])
  })

  it('14: a ferment 4 C over its set point gets cold within the hour and a second reading', async () => {
    await open('/lots/L12')
    const form = page.getByRole('form', { name: 'New reading' })
    await form.getByLabel('Measured').selectOption('temp')
    await form.locator('.stepper input').fill('20')
    await form.getByRole('button', { name: 'Write it down' }).click()
    const anyway = form.getByRole('button', { name: 'It stands: write it down' })
    await said(/written down/)
      .or(anyway)
      .first()
      .waitFor()
    if (await anyway.isVisible()) await anyway.click()
    await said(/written down/).waitFor()
    await stands('L12', 'L12/set-cooling/2', 'L12/check-ferment/2')
  })

  it('15, 17, 18: a slow ferment, foam, malolactic by itself: each report raises its work', async () => {
    await report('lot=L11', 'Ferments slowly')
    await stands('L11', 'L11/check-ferment/8')
    await report('lot=L12', 'Foam comes over')
    await report('lot=L12', 'Malolactic by itself')
    await stands('L12', 'L12/check-ullage/8', 'L12/clean-line/8', 'L12/mlf-check/8')
  })

  it('13: the winemaker pitches a ferment that does not begin by itself; what was done stays', async () => {
    expect((await lotOf('L03')).choices.yeast).toBe('ambient')
    await choose('L03', async () => {
      await page.locator('#choice-12').getByRole('radio', { name: 'Selected', exact: true }).check({ force: true })
    })
    await stands('L03', 'L03/inoculate/')
    expect((await task('L03/press/1')).state).toBe('done')
  })
})

describe('the barrels and the finish', () => {
  it('20 and 21: a barrel leaks, another smells of vinegar: emptied today, and measured', async () => {
    const { vessels } = await get<{ vessels: { code: string; row?: string; now?: { lotCode: string } }[] }>(
      '/api/vessels',
    )
    const [leaky, sour] = vessels.filter((v) => v.row === 'B' && v.now?.lotCode === 'L03')
    await report(`vessel=${leaky!.code}`, 'Leaks')
    await report(`vessel=${sour!.code}`, 'Smell of vinegar')
    await stands('L03', 'L03/rack-out/8', 'L03/check-va/8')
    await page.locator('tr[data-task^="L03/rack-out/8"]').filter({ hasText: leaky!.code }).first().waitFor()
  })

  it('25: the bottler comes four weeks later: what is counted back from it slides along', async () => {
    const filled = async () => Date.parse((await task('L01/release/1')).startAt)
    const before = await filled()
    const { finishOn } = (await lotOf('L01')).choices
    const later = new Date(Date.parse(`${finishOn}T00:00:00Z`) + 28 * 86_400_000).toISOString().slice(0, 10)
    await choose('L01', () => page.locator('#choice-25').getByLabel('On', { exact: true }).fill(later))
    // To the day: the clocks in Auckland do not change between July and August.
    await expect.poll(async () => Math.round(((await filled()) - before) / 86_400_000)).toBe(28)
  })
})

describe('the people', () => {
  it('23: somebody is ill, and is back sooner; the end of it can be undone', async () => {
    await open('/crew')
    await page.getByRole('button', { name: 'Sam', exact: true }).click()
    const form = page.getByRole('form', { name: 'Add an absence' })
    await form.getByLabel('From').fill('2027-03-26T06:00')
    await form.getByLabel('To', { exact: true }).fill('2027-03-27T20:00')
    await form.getByLabel('Reason').fill('ill')
    await form.getByRole('button', { name: 'Add' }).click()
    await said(/Sam is away then/).waitFor()
    const away = (await personOf('sam')).absences.at(-1)!
    const held = (await get<{ tasks: TaskWire[] }>('/api/tasks')).tasks.filter(
      (t) => t.people.includes('sam') && t.state === 'planned' && t.startAt < away.toAt && t.crew > 0,
    )
    expect(held.map((t) => t.key)).toEqual([])
    await page.keyboard.press('Escape')
    await page.getByRole('button', { name: 'Sam is back now' }).click()
    await said(/Sam is back/).waitFor()
    const back = (await personOf('sam')).absences.at(-1)!
    expect([back.id, back.toAt < away.toAt]).toEqual([away.id, true])
    expect(await page.getByRole('button', { name: 'Sam is back now' }).count()).toBe(0)
    await said(/Sam is back/)
      .getByRole('button', { name: 'Undo' })
      .click()
    await expect.poll(async () => (await personOf('sam')).absences.at(-1)!.toAt).toBe(away.toAt)
    // Never away at all.
    await page.getByRole('button', { name: 'Sam', exact: true }).click()
    await page.getByRole('list', { name: 'Away now and later' }).getByRole('button', { name: 'Take back' }).click()
    await said(/Sam is here after all/).waitFor()
    expect((await personOf('sam')).absences.some((a) => a.id === away.id)).toBe(false)
  })

  it('made no page complain', () => {
    expect(errors.filter((e) => !/422|409/.test(e))).toEqual([])
  })
})
