import { AxeBuilder } from '@axe-core/playwright'
import type { Page } from 'playwright-core'

/** Every fault that axe can find by looking, as `rule: where | where`. */
export const faultsOf = (page: Page): Promise<string[]> => told(new AxeBuilder({ page }))

/** On another ground of the same page only the colours differ. */
export const contrastFaultsOf = (page: Page): Promise<string[]> =>
  told(new AxeBuilder({ page }).withRules(['color-contrast']))

async function told(look: AxeBuilder): Promise<string[]> {
  const { violations } = await look.analyze()
  return violations.map((v) => `${v.id}: ${v.nodes.map((node) => node.target.join(' ')).join(' | ')}`)
}
