import { describe, expect, it } from 'vitest'
import { demoFacts, weeksTo } from '../../api/demo/facts.ts'
import { storeFacts } from '../../api/demo/store.ts'
import { choices } from '../../api/protocol/choices.ts'
import type { Facts } from '../../api/protocol/facts.ts'
import { Temporal } from '../../api/time.ts'
import { loadFacts } from '../../db/queries/facts.ts'
import { withDb } from '../helpers/db.ts'

const at = Temporal.Instant.from('2027-02-01T00:00:00Z')

/** Temporal values have no own fields to compare, so they are compared as the text they stand for; lists by id. */
function plain(facts: Facts): unknown {
  const byId = <T extends { readonly id: string }>(list: readonly T[]) =>
    [...list].sort((a, b) => (a.id < b.id ? -1 : 1)).map(({ ...row }) => ({ ...row, version: undefined }))
  return JSON.parse(
    JSON.stringify({
      ...facts,
      cellar: { ...facts.cellar, demo: undefined, version: undefined },
      people: byId(facts.people),
      vessels: byId(facts.vessels),
      machines: byId(facts.machines),
      lots: byId(facts.lots),
      readings: byId(facts.readings),
      taskFacts: byId(facts.taskFacts).map((f) => ({ ...f, writtenAt: undefined, opId: undefined })),
      additions: byId(facts.additions),
      transfers: byId(facts.transfers),
    }),
  )
}

const worked: Pick<Facts, 'readings' | 'taskFacts' | 'additions' | 'transfers'> = {
  readings: [
    { id: 'r1', lotId: 'L01', vesselId: 'T09', kind: 'temp', value: 14.5, takenAt: at, personId: 'noor' },
    {
      id: 'r2',
      lotId: 'L01',
      kind: 'temp',
      value: 13.5,
      takenAt: at.add({ hours: 1 }),
      correctsId: 'r1',
      note: 'misread',
    },
  ],
  taskFacts: [
    {
      id: 'f1',
      taskKey: 'L01/receive/1',
      kind: 'done',
      at,
      startAt: at.subtract({ hours: 1 }),
      personId: 'sam',
      people: ['sam', 'kim'],
      vessels: ['T09'],
    },
    { id: 'f2', taskKey: 'L01/receive/1', kind: 'undo', at: at.add({ hours: 1 }), undoesId: 'f1', reason: 'wrong lot' },
  ],
  additions: [
    {
      id: 'a1',
      lotId: 'L01',
      vesselId: 'T09',
      product: 'potassium metabisulfite',
      amount: 270,
      unit: 'g',
      batchNo: 'B7',
      treatedL: 3080,
      addedAt: at,
      personId: 'kim',
      taskKey: 'L01/dose-juice/1',
    },
  ],
  transfers: [
    { id: 't1', lotId: 'L01', fromVesselId: 'T09', toVesselId: 'T01', volumeL: 5790, lossL: 370, movedAt: at },
  ],
}

describe('the invented cellar', () => {
  it('has 12 lots, 20 vessels, 60 barrels, 6 people, and answers the choice schema accepts unchanged', () => {
    const facts = demoFacts()
    expect(facts.lots).toHaveLength(12)
    expect(facts.vessels.filter((v) => v.row === undefined)).toHaveLength(20)
    expect(facts.vessels.filter((v) => v.row !== undefined)).toHaveLength(60)
    expect(facts.people).toHaveLength(6)
    for (const lot of facts.lots) expect(choices.parse(lot.choices)).toEqual(lot.choices)
  })

  it('names only vessels it has where a lot is to lie', () => {
    const facts = demoFacts()
    const ids = new Set(facts.vessels.map((v) => v.id))
    const wanted = facts.lots.flatMap((l) => Object.values(l.vesselPins).flat())
    expect(wanted.filter((id) => !ids.has(id))).toEqual([])
  })

  it('comes to the week of any day with its weekdays kept', () => {
    for (const day of ['2026-11-23', '2026-11-25', '2026-11-29', '2027-03-22', '2031-01-01']) {
      const todayOn = Temporal.PlainDate.from(day)
      const lot = demoFacts({ shiftWeeks: weeksTo(todayOn) }).lots.find((l) => l.code === 'L03')!
      expect(lot.pickOn.dayOfWeek).toBe(1)
      const since = lot.pickOn.until(todayOn, { largestUnit: 'days' }).days
      expect(since).toBeGreaterThanOrEqual(0)
      expect(since).toBeLessThan(7)
    }
  })
})

describe('facts', () => {
  it('come back from the database as they were stored', async () => {
    const facts = { ...demoFacts(), ...worked }
    const loaded = await withDb(async (db) => {
      await storeFacts(db, facts, { demo: true, at })
      return loadFacts(db, facts.cellar.id)
    })
    expect(plain(loaded!)).toEqual(plain(facts))
  })

  it('of an unknown cellar are not there', async () => {
    expect(await withDb((db) => loadFacts(db, 'nowhere'))).toBeUndefined()
  })

  it('of one cellar do not show in another with the same ids', async () => {
    const first = demoFacts()
    const second = { ...first, cellar: { ...first.cellar, id: 'other' }, lots: first.lots.slice(0, 2) }
    await withDb(async (db) => {
      await storeFacts(db, { ...first, ...worked }, { demo: true, at })
      await storeFacts(db, second, { demo: false, at })
      const loaded = await loadFacts(db, 'other')
      expect(loaded!.lots.map((l) => l.id)).toEqual(['L01', 'L02'])
      expect(loaded!.readings).toEqual([])
      expect(loaded!.taskFacts).toEqual([])
    })
  })
})
