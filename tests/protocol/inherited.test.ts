import { describe, expect, it } from 'vitest'
import type { Facts } from '../../api/protocol/facts.ts'
import { endedBecause, withInherited } from '../../api/protocol/inherited.ts'
import { Temporal } from '../../api/time.ts'
import { makeFacts, makeLot } from '../helpers/make.ts'

const at = Temporal.Instant.from('2027-04-01T00:00:00Z')
const before = at.subtract({ hours: 24 })
const after = at.add({ hours: 24 })
const parent = { ...makeLot('crisp', { code: 'P1' }), endedAt: at }
const child = {
  ...makeLot('crisp', { code: 'P1a', vesselPins: { store: ['T01'] } }),
  parents: [{ lotId: 'P1', share: 1, at: at.toString(), scale: 0.25 }],
}
const facts: Facts = {
  ...makeFacts([parent, child]),
  readings: [
    { id: 'r1', lotId: 'P1', kind: 'density', value: 1050, takenAt: before, taskKey: 'P1/check-ferment/1' },
    { id: 'r2', lotId: 'P1', kind: 'density', value: 1010, takenAt: after },
    { id: 'r3', lotId: 'P1', kind: 'volume', value: 4000, takenAt: before },
  ],
  taskFacts: [{ id: 'f1', taskKey: 'P1/press/1', kind: 'done', at: before, vessels: ['T01', 'T02'] }],
  additions: [
    { id: 'a1', lotId: 'P1', product: 'x', amount: 80, unit: 'g', treatedL: 4000, addedAt: before, personId: 'p' },
  ],
  transfers: [
    { id: 't1', lotId: 'P1', toVesselId: 'T02', volumeL: 4000, lossL: 0, movedAt: before, taskKey: 'P1/press/1' },
  ],
}

describe('a quarter of a lot', () => {
  const all = withInherited(facts)
  it('goes on from what was read and done until it was parted, not after; a dip of the whole is none of it', () => {
    expect(all.readings.filter((r) => r.lotId === 'P1a').map((r) => [r.kind, r.value, r.taskKey])).toEqual([
      ['density', 1050, 'P1a/check-ferment/1'],
    ])
    expect(all.taskFacts.filter((f) => f.taskKey === 'P1a/press/1').map((f) => [f.kind, f.vessels])).toEqual([
      ['done', ['T01']],
    ])
  })
  it('has a quarter of the litres and doses, and lies only in its own vessels', () => {
    // 4,000 L and 80 g, a quarter of each: 1,000 L and 20 g; T02 is not the child's.
    expect(all.transfers.find((t) => t.lotId === 'P1a')).toMatchObject({ volumeL: 1000, taskKey: 'P1a/press/1' })
    expect(all.transfers.find((t) => t.lotId === 'P1a')?.toVesselId).toBeUndefined()
    expect(all.additions.find((a) => a.lotId === 'P1a')).toMatchObject({ amount: 20, treatedL: 1000 })
  })
  it('says why the parent’s work is no longer needed', () => {
    expect(endedBecause(facts, 'P1/rack-gross/1')).toBe('P1 became P1a: the work goes on there.')
    expect(endedBecause(facts, 'P1a/rack-gross/1')).toBeUndefined()
  })
})
