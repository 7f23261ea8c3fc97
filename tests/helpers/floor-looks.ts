/** What a wet glove, a glare and a reader of 200 % text would find wrong with a page of the floor. */
import { AxeBuilder } from '@axe-core/playwright'
import type { Page } from 'playwright-core'

// Run in the page, so they are text here. A file is chosen by its label, boxes by theirs.
const SMALL_TARGETS = `[...document.querySelectorAll('.floor :is(button, a, select, summary, input:not([type=checkbox], [type=radio], [type=file]))')]
  .map((element) => ({ box: element.getBoundingClientRect(), html: element.outerHTML.slice(0, 90) }))
  .filter(({ box }) => box.width > 0 && (box.height < 47.5 || box.width < 24))
  .map(({ html, box }) => Math.round(box.height) + ' ' + html)`
const OVERFLOW_PX = 'document.documentElement.scrollWidth - document.documentElement.clientWidth'

/** @returns faults that axe finds, targets under 48 px, and pages wider than the phone, also at 200 % text; each with its page */
export async function faultsOf(page: Page, path: string): Promise<readonly string[]> {
  const { violations } = await new AxeBuilder({ page })
    .include('.floor')
    // One printed tag is like the next, and each has hundreds of shapes.
    .exclude('.vessel-tag:nth-child(n + 3)')
    .analyze()
  const faults = violations.map((one) => `${path} ${one.id}: ${one.nodes[0]?.html}`)
  faults.push(...(await page.evaluate<string[]>(SMALL_TARGETS)).map((one) => `${path} ${one}`))
  for (const size of ['', '200%']) {
    await page.evaluate(`document.documentElement.style.fontSize = '${size}'`)
    const over = await page.evaluate<number>(OVERFLOW_PX)
    if (over > 1) faults.push(`${path} at ${size || '100%'} is ${over} px too wide`)
  }
  return faults
}
