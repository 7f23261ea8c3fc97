/** One task after another through the floor's screens, with what was entered kept for comparing. */
import type { Locator, Page } from 'playwright-core'
import type { ReadingWire, TaskWire } from '../../api/wire.ts'
import { inState, openTask, passGates, USUAL } from './floor-day.ts'

export interface Entered {
  readonly task: TaskWire
  readonly readings: readonly { readonly kind: string; readonly value: number }[]
  readonly additions: readonly { readonly product: string; readonly amount: number; readonly batchNo: string }[]
  readonly movedL?: number
  readonly isCautioned: boolean
  readonly isStarted: boolean
}

export interface Driven {
  /** Counts the tasks of the day; every sixth is started before it is done. */
  readonly n: number
  /** Litres to tell, where they are told. */
  readonly movedL: number | undefined
  /** The last value of `lotId kind`. */
  readonly lasts: ReadonlyMap<string, number>
  /** The dose goes in otherwise than planned: a tenth more. */
  readonly isOther: boolean
}

/** One task from its screen until the screen says that it is done. */
export async function drive(page: Page, task: TaskWire, how: Driven): Promise<Entered> {
  const screen = await openTask(page, task.key)
  const state = await screen.getAttribute('data-state')
  const isCautioned = await passGates(screen, task)
  const press = (name: string) => screen.getByRole('button', { name, exact: true }).click()
  const isStarted = state !== 'underway' && how.n % 6 === 0
  if (isStarted) {
    await press('Start')
    await inState(page, task.key, 'underway').waitFor()
  }
  await press(state === 'underway' || isStarted ? 'Done' : 'It is done already')
  const form = screen.locator('form.finish')
  const closed = inState(page, task.key, 'done')
  await form.or(closed).first().waitFor()
  if ((await form.count()) === 0) return { task, readings: [], additions: [], isCautioned, isStarted }
  const filled = await fillIn(screen, task, how)
  await form.locator('button[type="submit"]').click()
  // What is hard to believe is asked about once; then it stands.
  const stands = screen.getByRole('button', { name: 'It stands: done' })
  await stands.or(closed).first().waitFor()
  if ((await stands.count()) > 0) await stands.click()
  await closed.waitFor()
  return { task, ...filled, isCautioned, isStarted }
}

/** Fills the form as somebody in the cellar would: each reading, each dose with its batch, the litres that moved. */
async function fillIn(screen: Locator, task: TaskWire, { n, movedL, lasts, isOther }: Driven) {
  const readings: { kind: string; value: number }[] = []
  for (const input of await screen.locator('input[data-kind]').all()) {
    const kind = (await input.getAttribute('data-kind')) as ReadingWire['kind']
    const value = lasts.get(`${task.lotId} ${kind}`) ?? USUAL[kind]
    await input.fill(String(value))
    await input.blur()
    readings.push({ kind, value })
  }
  const additions: { product: string; amount: number; batchNo: string }[] = []
  for (const [at, input] of (await screen.locator('input[data-dose]').all()).entries()) {
    const dose = task.doses[at]
    if (!dose) throw new Error(`a dose of ${task.key} has no plan`)
    const amount = isOther && at === 0 ? Number((dose.amount * 1.1).toFixed(1)) : dose.amount
    const batchNo = `B-${n}-${at}`
    await input.fill(String(amount))
    await input.blur()
    await screen.getByLabel('Batch number').nth(at).fill(batchNo)
    additions.push({ product: dose.product, amount, batchNo })
  }
  const litres = screen.locator('input[data-litres]')
  if (movedL === undefined || (await litres.count()) !== 1) return { readings, additions }
  await litres.fill(String(movedL))
  await litres.blur()
  return { readings, additions, movedL }
}

/**
 * The first of each kind of work by time. SO2 on a wine that waits for malolactic is refused: such a dose goes where
 * none is awaited, if there is such a wine.
 *
 * @param waits ids of lots that wait for malolactic
 */
export function oneOfEach(tasks: readonly TaskWire[], waits: ReadonlySet<string>): readonly TaskWire[] {
  const isLocked = (task: TaskWire) =>
    task.family === 'protect' && task.doses.length > 0 && task.lotId !== null && waits.has(task.lotId)
  const steps = [...new Set(tasks.map((task) => task.step))]
  return steps
    .flatMap((step) => {
      const some = tasks.filter((task) => task.step === step)
      return some.find((task) => !isLocked(task)) ?? some[0] ?? []
    })
    .toSorted((a, b) => a.startAt.localeCompare(b.startAt) || a.key.localeCompare(b.key))
}
