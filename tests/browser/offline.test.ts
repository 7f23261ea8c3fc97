import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { PersonWire, TaskWire } from '../../api/wire.ts'
import { openBrowser, type RunningApp, signIn, startApp } from '../helpers/browser.ts'
import { picture } from '../helpers/floor-day.ts'
import { openPhoneBrowser, type PhoneBrowser } from '../helpers/phone.ts'
import {
  finish,
  isSignInOnDisk,
  KEPT_TO_READ,
  note,
  openTask,
  type StoredRow,
  signal,
  stored,
  waitingHere,
} from '../helpers/phone-floor.ts'
import { startWire, type Wire } from '../helpers/wire.ts'

// A phone in the invented cellar, mid-vintage. The wire to the server is cut, mended, and made to lose answers.
let app: RunningApp
let wire: Wire
let phone: PhoneBrowser
/** The winemaker's own, by the cookie alone. */
let alex = ''
let kim: PersonWire
const profile = mkdtempSync(join(tmpdir(), 'leesway-phone-'))

beforeAll(async () => {
  app = await startApp(['--demo', '--at', '2027-03-22'])
  wire = await startWire(app.url)
  const browser = await openBrowser()
  const context = await browser.newContext()
  await signIn(context, app.link)
  alex = (await context.cookies()).map((c) => `${c.name}=${c.value}`).join('; ')
  await browser.close()
  const { people } = await ask<{ people: PersonWire[] }>('GET', '/api/people')
  kim = people.find((one) => one.name === 'Kim')!
  phone = await openPhoneBrowser(profile)
})

afterAll(async () => {
  await phone?.close()
  await wire?.close()
  await app?.close()
  rmSync(profile, { recursive: true, force: true, maxRetries: 5 })
})

/** As the winemaker, past the wire. */
async function ask<T>(method: string, path: string, body?: unknown): Promise<T> {
  const answer = await fetch(`${app.url}${path}`, {
    method,
    headers: { cookie: alex, 'content-type': 'application/json', origin: app.url },
    ...(body === undefined ? {} : { body: JSON.stringify(body) }),
  })
  if (!answer.ok) throw new Error(`${method} ${path}: ${answer.status} ${await answer.text()}`)
  return (await answer.json()) as T
}

/** Everything of the cellar as the server holds it. */
const server = () => ask<Record<string, Record<string, unknown>[]>>('GET', '/api/export.json')
const linkFor = async (id: string) =>
  (await ask<{ link: string }>('POST', `/api/people/${id}/link`, {})).link.replace(app.url, wire.url)

const PICTURE = join(import.meta.dirname, '../../web/public/icon-192.png')

const TOLD = 30
let tasks: readonly TaskWire[] = []
let told: readonly StoredRow[] = []
let skipped = ''

describe('a shift without a signal', () => {
  it('has the day’s work on the phone once it was opened with a signal', async () => {
    const { page } = phone
    await page.goto(await linkFor(kim.id))
    await page.getByRole('button', { name: 'Open the book' }).click()
    await page.getByRole('navigation').first().waitFor()
    await page.goto(`${wire.url}/today?person=`)
    await page.locator('.work').first().waitFor()
    await page.evaluate('navigator.serviceWorker.ready.then(() => undefined)')
    await expect
      .poll(() => page.evaluate('navigator.serviceWorker.controller !== null'), { timeout: 90_000 })
      .toBe(true)
    const answer = await page.request.get(`${wire.url}/api/tasks?from=2027-03-20T11:00:00Z&to=2027-03-23T11:00:00Z`)
    tasks = ((await answer.json()) as { tasks: TaskWire[] }).tasks.filter(
      (t) => ['planned', 'due'].includes(t.state) && t.lotId !== null,
    )
    expect(tasks.length).toBeGreaterThan(12)
    // The coming days are read a moment after the page.
    await page.waitForTimeout(3_000)
  })

  it('keeps thirty records of every kind while the wire is cut', async () => {
    const { page } = phone
    wire.cut()
    const dosed = tasks.filter((t) => t.doses.length > 0 && t.step !== 'post-so2').slice(0, 2)
    const read = tasks.filter((t) => t.records.length > 0 && t.doses.length === 0).slice(0, 4)
    const finished = [...dosed, ...read]
    expect(finished.length).toBeGreaterThan(3)
    const left = tasks.filter((t) => t.leaving !== 'no' && !finished.includes(t))
    for (const task of finished) await finish(page, task)
    skipped = left[0]!.key
    await openTask(page, skipped)
    await page.getByRole('button', { name: 'Not possible', exact: true }).click()
    await page.getByRole('textbox').fill('No pump free')
    await page.locator('form button[type="submit"]').click()
    await page.locator('.done-note').waitFor()
    await picture(page, 'not-possible')
    const photographed = left[1]!.key
    await openTask(page, photographed)
    await page.locator('input[type="file"][accept="image/*"]').setInputFiles(PICTURE)
    await page.locator('.photo-thumb').waitFor()
    let n = 0
    while ((await waitingHere(page)) < TOLD) {
      n += 1
      await note(page, left[2 + (n % 8)]!.key, `note number ${n}.`)
    }
    told = await stored(page)
    expect(told).toHaveLength(TOLD)
    const kinds = new Set(told.map((r) => r.op.kind))
    expect([...kinds]).toEqual(expect.arrayContaining(['done', 'note', 'skip', 'photo']))
    expect(told.some((r) => Array.isArray(r.op.value.readings))).toBe(true)
    expect(told.some((r) => Array.isArray(r.op.value.additions))).toBe(true)
  }, 600_000)

  it('shows all thirty after the browser was killed and opened again, still without the server', async () => {
    // A shift is longer than that.
    await expect.poll(() => isSignInOnDisk(profile), { timeout: 60_000, interval: 500 }).toBe(true)
    await phone.kill()
    phone = await openPhoneBrowser(profile)
    const { page } = phone
    await page.goto(`${wire.url}/today?person=`)
    await page.locator('.work').first().waitFor()
    const line = page.getByRole('region', { name: 'Not sent yet' })
    await line.getByText(`${TOLD} records on this phone`).waitFor()
    await line.getByRole('button', { name: 'Show', exact: true }).click()
    const lines = page.locator('.ops li')
    await expect.poll(() => lines.count()).toBe(TOLD)
    expect(await page.locator('.ops li[data-state="phone"]').count()).toBe(TOLD)
    // On the cellar's clock, whatever the phone's own says: the demo's day is told from its start on.
    expect(await lines.first().textContent()).toMatch(/Mon 22 Mar 0?6:3\d.*on this phone/)
    await picture(page, 'on-this-phone')
  })

  it('ends with each on the server once, though a page came in between and answers were lost', async () => {
    const { page } = phone
    // Meanwhile somebody else did what the phone left out.
    await ask('POST', `/api/tasks/${skipped}/done`, {})
    wire.captive = 1
    wire.loseAnswers = 2
    wire.mend()
    await signal(page)
    await expect.poll(() => waitingHere(page), { timeout: 120_000, interval: 500 }).toBe(0)
    expect([wire.captive, wire.loseAnswers]).toEqual([0, 0])
    expect(wire.posts()).toBeGreaterThan(2)
    const held = await server()
    const ids = held.operations!.map((o) => o.opId)
    expect(new Set(ids).size).toBe(TOLD)
    expect(ids.toSorted()).toEqual(told.map((r) => r.opId).toSorted())
    for (const { op, opId } of told) {
      const facts = held.taskFacts!.filter((f) => f.opId === opId).length
      const elsewhere = held.photos!.filter((f) => f.id === opId).length
      expect([opId, op.kind, facts + elsewhere]).toEqual([opId, op.kind, op.kind === 'skip' ? 0 : 1])
    }
  }, 400_000)

  it('shows what was refused, with its choices, and keeps what becomes of it', async () => {
    const { page } = phone
    const refused = page.locator('.ops li[data-state="refused"]')
    await expect.poll(() => refused.count(), { timeout: 90_000 }).toBe(1)
    expect(await refused.textContent()).toMatch(/not accepted/i)
    for (const name of ['Do it anew on the plan as it is now', 'Keep as a note', 'Show to the winemaker']) {
      expect(await refused.getByRole('button', { name }).count()).toBe(1)
    }
    await refused.scrollIntoViewIfNeeded()
    await picture(page, 'refused')
    await refused.getByRole('button', { name: 'Keep as a note' }).click()
    await expect.poll(() => refused.count()).toBe(0)
    await expect.poll(() => waitingHere(page), { timeout: 90_000 }).toBe(0)
    const held = await server()
    expect(held.taskFacts!.filter((f) => String(f.reason).includes('No pump free'))).toHaveLength(1)
    expect(held.recordEntries!.filter((e) => e.kind === 'offered')).toHaveLength(1)
  }, 300_000)

  it('sends from two tabs without doubling anything', async () => {
    const second = await phone.context.newPage()
    await second.goto(`${wire.url}/today?person=`)
    await second.locator('.work').first().waitFor()
    const pages = [phone.page, second]
    wire.cut()
    const marks = Array.from({ length: 6 }, (_, i) => `tab record ${i}.`)
    for (const [i, words] of marks.entries()) await note(pages[i % 2]!, tasks.at(-1 - (i % 3))!.key, words)
    wire.mend()
    await Promise.all(pages.map(signal))
    await expect.poll(() => waitingHere(second), { timeout: 60_000 }).toBe(0)
    const held = await server()
    for (const words of marks) {
      expect(held.taskFacts!.filter((f) => String(f.reason).includes(words))).toHaveLength(1)
    }
    expect(new Set(held.operations!.map((o) => o.opId)).size).toBe(held.operations!.length)
    await second.close()
  }, 300_000)

  it('keeps, shows and hands over in words what somebody told who was let in no more', async () => {
    const { page } = phone
    const { key } = tasks.at(-1)!
    wire.cut()
    await note(page, key, 'valve of the racking arm drips.')
    const { people } = await ask<{ people: PersonWire[] }>('GET', '/api/people')
    const { version } = people.find((one) => one.id === kim.id)!
    await ask('POST', `/api/people/${kim.id}/remove`, { version })
    wire.mend()
    await page.goto(`${wire.url}/today`)
    await page.getByText('1 record still here').waitFor()
    await page.getByRole('button', { name: 'Show', exact: true }).click()
    await page.locator('.ops li').getByText(/^Note/).waitFor()
    await picture(page, 'let-in-no-more')
    expect(await page.evaluate<unknown[]>(KEPT_TO_READ)).not.toContainEqual(expect.stringContaining('/api/tasks'))
    const alexId = people.find((one) => one.name === 'Alex')!.id
    await page.goto(await linkFor(alexId))
    await page.getByRole('button', { name: 'Open the book' }).click()
    const line = page.getByRole('region', { name: 'Not sent yet' })
    await line.getByRole('button', { name: 'Show', exact: true }).click()
    await page.locator('[data-gone]').getByText('Kim').first().waitFor()
    await picture(page, 'of-somebody-gone')
    await page.getByRole('button', { name: 'Keep them in words under my name' }).click()
    await page.locator('[data-gone]').waitFor({ state: 'detached' })
    await expect.poll(() => waitingHere(page), { timeout: 60_000 }).toBe(0)
    const told = (await server()).handovers!.filter((h) => String(h.words).includes('racking arm drips'))
    expect(told.map((h) => h.personId)).toEqual([alexId])
    expect(told[0]!.words).toMatch(/Kim: Note/)
  }, 300_000)

  it('leaves nothing on the phone once somebody signs out and nothing waits', async () => {
    const { page } = phone
    expect(await stored(page)).not.toEqual([])
    await page.getByRole('button', { name: 'Menu' }).click()
    await page.getByRole('menuitem', { name: /^Sign out/ }).click()
    await page.getByRole('heading', { name: 'Sign in' }).waitFor()
    expect(await stored(page)).toEqual([])
  }, 300_000)
})
