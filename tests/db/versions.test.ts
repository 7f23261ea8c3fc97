import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { storeFacts } from '../../api/demo/store.ts'
import type { Result } from '../../api/result.ts'
import { findCellar, saveCellar } from '../../db/queries/cellars.ts'
import { findLot, listChoices, saveChoices, saveLot } from '../../db/queries/lots.ts'
import { listPeople, savePerson } from '../../db/queries/people.ts'
import { addProtocol, listProtocols, saveProtocol } from '../../db/queries/protocols.ts'
import { listMachines, listVessels, saveMachine, saveVessel } from '../../db/queries/vessels.ts'
import type { Db } from '../../db/types.ts'
import { KIND, ownDb, type TestDb, withDb } from '../helpers/db.ts'
import { MORNING } from '../helpers/tasks.ts'

const facts = demoFacts()
const cellarId = facts.cellar.id
const lot = facts.lots[0]!
const inCellar = <T>(test: (db: Db) => Promise<T>) =>
  withDb(async (db) => {
    await storeFacts(db, facts, { demo: true, at: MORNING })
    return test(db)
  })

type Saved = Promise<Result<number, string>>
const person = { ...facts.people[0]!, language: 'fr' }
const protocol = { id: 'p1', name: 'Our crisp', choices: lot.choices, changedAt: MORNING }
const BY = { personId: 'alex', at: MORNING }
const signed = [{ conflict: 'K09', reason: 'tank is free', personId: 'alex', at: MORNING }]
const answers = { choices: { ...lot.choices, fermentTempC: 14 }, signed, personId: 'alex', at: MORNING }

const saves: Record<string, (db: Db, version: number) => Saved> = {
  cellar: (db, version) => saveCellar(db, { ...facts.cellar, name: 'New name' }, version),
  person: (db, version) => savePerson(db, cellarId, person, version),
  vessel: (db, version) => saveVessel(db, cellarId, { ...facts.vessels[0]!, state: 'dirty' }, version, BY),
  machine: (db, version) => saveMachine(db, cellarId, { ...facts.machines[0]!, name: 'Old press' }, version, BY),
  lot: (db, version) => saveLot(db, cellarId, { ...lot, name: 'New name' }, version),
  choices: (db, version) => saveChoices(db, cellarId, lot.id, answers, version),
  protocol: async (db, version) => {
    await addProtocol(db, cellarId, protocol)
    return saveProtocol(db, cellarId, { ...protocol, name: 'Our crispest' }, version)
  },
}

describe('a change', () => {
  it.each(Object.entries(saves))('of a %s is saved over the version that was read, and no other', async (_, save) => {
    await inCellar(async (db) => {
      expect(await save(db, 1)).toEqual({ ok: true, value: 2 })
      expect(await save(db, 1)).toEqual({ ok: false, why: 'stale' })
      expect(await save(db, 2)).toEqual({ ok: true, value: 3 })
    })
  })

  it('of what is not there says so', async () => {
    await withDb(async (db) => {
      for (const [name, save] of Object.entries(saves).filter(([n]) => n !== 'protocol')) {
        expect([name, await save(db, 1)]).toEqual([name, { ok: false, why: 'unknown' }])
      }
    })
  })

  it('is what is read afterwards', async () => {
    await inCellar(async (db) => {
      for (const save of Object.values(saves)) await save(db, 1)
      expect((await findCellar(db, cellarId))!.name).toBe('New name')
      expect((await listPeople(db, cellarId)).find((p) => p.id === person.id)!.language).toBe('fr')
      expect((await listVessels(db, cellarId)).find((v) => v.id === 'T01')!.state).toBe('dirty')
      expect((await listMachines(db, cellarId)).find((m) => m.id === 'PA')!.name).toBe('Old press')
      expect((await listProtocols(db, cellarId)).map((p) => p.name)).toEqual(['Our crispest'])
    })
  })

  it('of the answers keeps every earlier version with what was signed', async () => {
    await inCellar(async (db) => {
      await saveChoices(db, cellarId, lot.id, answers, 1)
      const versions = await listChoices(db, cellarId, lot.id)
      expect(versions.map((v) => [v.version, v.choices.fermentTempC])).toEqual([
        [2, 14],
        [1, 13],
      ])
      const now = (await findLot(db, cellarId, lot.id))!
      expect(now.choicesVersion).toBe(2)
      expect(now.signed).toMatchObject([{ conflict: 'K09', reason: 'tank is free', personId: 'alex' }])
      expect(now.signed[0]!.at.toString()).toBe(MORNING.toString())
    })
  })
})

// The embedded database runs transactions one after another and so hides every race.
if (KIND === 'postgres') {
  describe('eight people who save the same at the same time', () => {
    let own: TestDb
    beforeAll(async () => {
      own = await ownDb()
      await own.db.transaction((tx) => storeFacts(tx, facts, { demo: true, at: MORNING }))
    })
    afterAll(() => own.close())

    it('have one winner a round, and nothing is overwritten unseen', async () => {
      for (let version = 1; version <= 20; version++) {
        const answers = await Promise.all(
          Array.from({ length: 8 }, (_, i) =>
            own.db.transaction((tx) =>
              saveVessel(tx, cellarId, { ...facts.vessels[0]!, volumeL: 6000 + i }, version, BY),
            ),
          ),
        )
        expect(answers.filter((a) => a.ok)).toHaveLength(1)
        const winner = answers.findIndex((a) => a.ok)
        const [stored] = (await listVessels(own.db, cellarId)).filter((v) => v.id === facts.vessels[0]!.id)
        expect(stored).toMatchObject({ version: version + 1, volumeL: 6000 + winner })
      }
    })

    it('have one winner without a transaction round them, too', async () => {
      for (let version = 1; version <= 20; version++) {
        const answers = await Promise.all(Array.from({ length: 8 }, () => saveLot(own.db, cellarId, lot, version)))
        expect(answers.filter((a) => a.ok)).toHaveLength(1)
      }
    })
  })
}
