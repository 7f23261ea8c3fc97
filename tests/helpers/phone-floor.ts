/** What somebody does on a phone on the floor, and what that phone keeps of it. */
import { existsSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import type { Page } from 'playwright-core'
import { expect } from 'vitest'
import type { TaskWire } from '../../api/wire.ts'
import { goTo } from './floor-day.ts'

export interface StoredRow {
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
/** Paths whose answers it keeps to read. */
export const KEPT_TO_READ = STORED.replaceAll('operations', 'view').replace('getAll()', 'getAllKeys()')
export const stored = (page: Page): Promise<StoredRow[]> => page.evaluate(STORED)

export const openTask = async (page: Page, key: string) => {
  await goTo(page, `/today/${key}`)
  await page.locator(`.floor-task[data-task="${key}"]`).waitFor()
}

export const waitingHere = async (page: Page) => (await stored(page)).filter((r) => r.state === 'phone').length

export async function note(page: Page, key: string, words: string): Promise<void> {
  await openTask(page, key)
  await page.getByRole('button', { name: 'Note', exact: true }).click()
  await page.locator('.floor-task form').getByRole('textbox').fill(words)
  const before = (await stored(page)).length
  await page.getByRole('button', { name: 'Keep', exact: true }).click()
  await expect.poll(async () => (await stored(page)).length).toBe(before + 1)
}

/** Through the caution and the vessel, with what the form asks for. */
export async function finish(page: Page, task: TaskWire): Promise<void> {
  await goTo(page, `/today/${task.key}?do=done`)
  const screen = page.locator(`.floor-task[data-task="${task.key}"]`)
  await screen.waitFor()
  if (task.caution && task.state !== 'underway') await screen.locator('label.check').first().click()
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

/** The phone hears at once that there is a signal again. */
export const signal = (page: Page) => page.evaluate("window.dispatchEvent(new Event('online'))")

/** Whether the browser has written who is signed in to its disk, which it does within half a minute. */
export function isSignInOnDisk(profile: string): boolean {
  const files = ['Cookies', 'Network/Cookies'].map((file) => join(profile, 'Default', file))
  return files.some((file) => existsSync(file) && readFileSync(file, 'latin1').includes('127.0.0.1session'))
}
