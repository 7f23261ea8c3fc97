/** Where a test of screens failed, what stood on them: nobody can look at them afterwards. */
import type { Page } from 'playwright-core'
import { afterEach } from 'vitest'
import { openPages } from './browser.ts'

const MOST_LETTERS = 1_500

async function toldOf(page: Page): Promise<string> {
  const text = await page
    .locator('main, body:not(:has(main))')
    .first()
    .ariaSnapshot({ timeout: 3_000 })
    .catch((error: unknown) => `not to be read: ${String(error)}`)
  return `${page.url()}\n${text.slice(0, MOST_LETTERS)}`
}

afterEach(async ({ task }) => {
  if (task.result?.state !== 'fail') return
  for (const page of openPages()) console.error(`On the screen as "${task.name}" failed: ${await toldOf(page)}`)
})
