import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { TaskWire } from '../../api/wire.ts'
import { type RunningApp, startApp } from '../helpers/browser.ts'
import { openPhoneBrowser, type PhoneBrowser } from '../helpers/phone.ts'
import { startWire, type Wire } from '../helpers/wire.ts'

// A phone in the invented cellar, mid-vintage. The wire to the server is cut, mended, and made to lose answers.
let app: RunningApp
let wire: Wire
let phone: PhoneBrowser
const profile = mkdtempSync(join(tmpdir(), 'leesway-phone-'))

beforeAll(async () => {
  app = await startApp(['--demo', '--at', '2027-03-22'])
  wire = await startWire(app.url)
  phone = await openPhoneBrowser(profile)
})

afterAll(async () => {
  await phone?.close()
  await wire?.close()
  await app?.close()
  rmSync(profile, { recursive: true, force: true, maxRetries: 5 })
})

interface StoredRow {
  readonly opId: string
  readonly state: string
  readonly op: { readonly kind: string; readonly taskKey?: string; readonly value: Record<string, unknown> }
}

/** What stands in the phone's own storage. */
const STORED = `new Promise((done, fail) => {
  const open = indexedDB.open('leesway-floor')
  open.onerror = fail
  open.onsuccess = () => {
    const all = open.result.transaction('operations').objectStore('operations').getAll()
    all.onsuccess = () => {
      open.result.close()
      done(all.result)
    }
  }
})`
const stored = (page: Page): Promise<StoredRow[]> => page.evaluate(STORED)

/** Everything of the cellar as the server holds it, asked past the wire. */
async function server(): Promise<Record<string, Record<string, unknown>[]>> {
  const cookie = (await phone.context.cookies()).map((c) => `${c.name}=${c.value}`).join('; ')
  return (await (await fetch(`${app.url}/api/export.json`, { headers: { cookie } })).json()) as never
}

async function desk(path: string, body: unknown): Promise<number> {
  const cookie = (await phone.context.cookies()).map((c) => `${c.name}=${c.value}`).join('; ')
  const answer = await fetch(`${app.url}${path}`, {
    method: 'POST',
    headers: { cookie, 'content-type': 'application/json', origin: app.url },
    body: JSON.stringify(body),
  })
  return answer.status
}

const openTask = async (page: Page, key: string) => {
  await page.goto(`${wire.url}/today/${key}`)
  await page.locator(`.floor-task[data-task="${key}"]`).waitFor()
}

const waitingHere = async (page: Page) => (await stored(page)).filter((r) => r.state === 'phone').length

async function note(page: Page, key: string, words: string): Promise<void> {
  await openTask(page, key)
  await page.getByRole('button', { name: 'Note', exact: true }).click()
  await page.getByRole('textbox').fill(words)
  const before = (await stored(page)).length
  await page.getByRole('button', { name: 'Keep', exact: true }).click()
  await expect.poll(async () => (await stored(page)).length).toBe(before + 1)
}

/** Through the caution and the vessel, with what the form asks for. */
async function finish(page: Page, task: TaskWire): Promise<void> {
  await page.goto(`${wire.url}/today/${task.key}?do=done`)
  const screen = page.locator(`.floor-task[data-task="${task.key}"]`)
  await screen.waitFor()
  const caution = screen.getByRole('checkbox').first()
  if (task.caution && task.state !== 'underway') await caution.check({ force: true })
  const digits = screen.locator('input.digits')
  if ((await digits.count()) > 0) await digits.fill((task.fromVessels[0] ?? task.toVessels[0] ?? '').replace(/\D/g, ''))
  await screen.locator('form.finish').waitFor()
  for (const input of await screen.locator('input[data-kind]').all()) {
    const kind = await input.getAttribute('data-kind')
    await input.fill(kind === 'temp' ? '14' : kind === 'brix' ? '12' : '1')
    await input.blur()
  }
  const done = screen.locator('form.finish button[type="submit"]')
  await done.click()
  // What is hard to believe is asked about once; then it stands.
  const asked = screen.locator('form.finish .note.fresh')
  const noted = screen.locator('.done-note')
  await noted.or(asked).first().waitFor()
  if (await asked.isVisible()) await done.click()
  await noted.waitFor()
}

/** Whether the browser has written who is signed in to its disk, which it does within half a minute. */
function isSignInOnDisk(): boolean {
  const files = ['Cookies', 'Network/Cookies'].map((file) => join(profile, 'Default', file))
  return files.some((file) => existsSync(file) && readFileSync(file, 'latin1').includes('127.0.0.1session'))
}

const PICTURE = join(import.meta.dirname, '../../web/public/icon-192.png')

const TOLD = 30
let tasks: readonly TaskWire[] = []
let told: readonly StoredRow[] = []
let skipped = ''

describe('a shift without a signal', () => {
  it('has the day’s work on the phone once it was opened with a signal', async () => {
    const { page } = phone
    await page.goto(app.link.replace(app.url, wire.url))
    await page.getByRole('button', { name: 'Open the book' }).click()
    await page.getByRole('navigation').first().waitFor()
    await page.goto(`${wire.url}/today?person=`)
    await page.locator('.work').first().waitFor()
    await page.evaluate('navigator.serviceWorker.ready.then(() => undefined)')
    await expect
      .poll(() => page.evaluate('navigator.serviceWorker.controller !== null'), { timeout: 30_000 })
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
    await expect.poll(isSignInOnDisk, { timeout: 60_000, interval: 500 }).toBe(true)
    await phone.kill()
    phone = await openPhoneBrowser(profile)
    const { page } = phone
    await page.goto(`${wire.url}/today?person=`)
    await page.locator('.work').first().waitFor()
    const line = page.getByRole('region', { name: 'Not sent yet' })
    await line.getByText(`${TOLD} records on this phone`).waitFor()
    await line.getByRole('button', { name: 'Show' }).click()
    const lines = page.locator('.ops li')
    await expect.poll(() => lines.count()).toBe(TOLD)
    expect(await page.locator('.ops li[data-state="phone"]').count()).toBe(TOLD)
    expect(await lines.first().textContent()).toContain('on this phone')
  })

  it('ends with each on the server once, though a page came in between and answers were lost', async () => {
    const { page } = phone
    // Meanwhile somebody else did what the phone left out.
    expect(await desk(`/api/tasks/${skipped}/done`, {})).toBe(200)
    wire.captive = 1
    wire.loseAnswers = 2
    wire.mend()
    await expect.poll(() => waitingHere(page), { timeout: 240_000, interval: 500 }).toBe(0)
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
    await expect.poll(() => refused.count(), { timeout: 20_000 }).toBe(1)
    expect(await refused.textContent()).toMatch(/not accepted/i)
    for (const name of ['Do it anew on the plan as it is now', 'Keep as a note', 'Show to the winemaker']) {
      expect(await refused.getByRole('button', { name }).count()).toBe(1)
    }
    await refused.getByRole('button', { name: 'Keep as a note' }).click()
    await expect.poll(() => refused.count()).toBe(0)
    await expect.poll(() => waitingHere(page), { timeout: 30_000 }).toBe(0)
    const held = await server()
    expect(held.taskFacts!.filter((f) => String(f.reason).includes('No pump free'))).toHaveLength(1)
    expect(held.recordEntries!.filter((e) => e.kind === 'offered')).toHaveLength(1)
  }, 120_000)

  it('sends from two tabs without doubling anything', async () => {
    const second = await phone.context.newPage()
    const pages = [phone.page, second]
    wire.cut()
    const marks = Array.from({ length: 6 }, (_, i) => `tab record ${i}.`)
    for (const [i, words] of marks.entries()) await note(pages[i % 2]!, tasks.at(-1 - (i % 3))!.key, words)
    wire.mend()
    await Promise.all(pages.map((page) => page.evaluate("window.dispatchEvent(new Event('online'))")))
    await expect.poll(() => waitingHere(second), { timeout: 60_000 }).toBe(0)
    const held = await server()
    for (const words of marks) {
      expect(held.taskFacts!.filter((f) => String(f.reason).includes(words))).toHaveLength(1)
    }
    expect(new Set(held.operations!.map((o) => o.opId)).size).toBe(held.operations!.length)
  }, 300_000)
})
