import { expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { planCellar } from '../../api/plan.ts'
import type { Facts } from '../../api/protocol/facts.ts'
import { Temporal } from '../../api/time.ts'

const demo = demoFacts()
const NOW = Temporal.Instant.from('2027-06-20T00:00:00Z')
const found = (code: string, more: Partial<Facts>) => {
  const lots = demo.lots.filter((l) => l.code === code)
  return planCellar({ ...demo, lots, ...more }, { nowAt: NOW }).conflicts.map((c) => c.id)
}
const va = (value: number, day: string) => ({
  id: day,
  lotId: 'L03',
  kind: 'va' as const,
  value,
  takenAt: Temporal.Instant.from(`${day}T00:00:00Z`),
})

it('warns of weekly stirring when volatile acidity rises', () => {
  const ids = found('L03', { readings: [va(0.35, '2027-05-01'), va(0.55, '2027-06-01')] })
  const flat = found('L03', { readings: [va(0.35, '2027-05-01'), va(0.36, '2027-06-01')] })
  expect(ids).toContain('K15')
  expect(flat).not.toContain('K15')
})

it('warns of ascorbic acid written down in an oxidative juice', () => {
  const addition = {
    id: 'a',
    lotId: 'L11',
    product: 'ascorbic acid',
    amount: 100,
    unit: 'g' as const,
    treatedL: 2898,
    addedAt: Temporal.Instant.from('2027-03-19T04:00:00Z'),
    personId: 'noor',
  }
  const more = found('L11', { additions: [addition] }).filter((id) => !found('L11', {}).includes(id))
  expect(more).not.toEqual([])
})

it('a lot larger than all tanks is told how much wine wants room', () => {
  const facts = demoFacts()
  const [lot] = facts.lots
  const large = { ...lot!, fruit: { ...lot!.fruit, tonnes: 60, yieldLPerT: 700 }, vesselPins: {} }
  const { conflicts } = planCellar(
    { ...facts, lots: [large] },
    { nowAt: Temporal.Instant.from('2027-03-01T00:00:00Z') },
  )
  // 60 t x 700 L/t = 42,000 L of juice; the demo's largest tank holds 12,500 L.
  expect(conflicts.find((c) => c.id === 'K34')?.reason).toContain('42,000 L')
})
