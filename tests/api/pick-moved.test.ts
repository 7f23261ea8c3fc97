import { expect, it } from 'vitest'
import { dayOf, Temporal } from '../../api/time.ts'
import type { LotWire, TaskWire } from '../../api/wire.ts'
import { makeApp } from './make.ts'

interface Full {
  readonly lot: LotWire
  readonly tasks: readonly TaskWire[]
}

it('takes the ferment along when a pick is moved from April back to March, in one step', async () => {
  const { as } = await makeApp({ lots: ['L07'] })
  const call = as('winemaker')
  const pick = async (pickOn: string) => {
    const { lot } = (await call<Full>('GET', '/api/lots/L07')).body
    const { name, variety, block, place, vintage, fruit, version } = lot
    const body = { name, variety, block, place, vintage, fruit, version, pickOn }
    expect((await call('PUT', `/api/lots/${lot.id}`, body)).status).toBe(200)
    const now = (await call<Full>('GET', '/api/lots/L07')).body
    const first = now.tasks.find((t) => t.step === 'check-ferment' && t.state !== 'cancelled')
    const daysAfter = (at: string) =>
      dayOf(Temporal.Instant.from(at), 'Pacific/Auckland').since(Temporal.PlainDate.from(pickOn)).days
    return { read: daysAfter(first!.startAt), dry: daysAfter(now.lot.dry!.likelyAt) }
  }
  const late = await pick('2027-04-20')
  const soon = await pick('2027-03-29')
  expect(Math.abs(soon.read - late.read)).toBeLessThanOrEqual(2)
  expect(Math.abs(soon.dry - late.dry)).toBeLessThanOrEqual(2)
})
