import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { sql } from 'drizzle-orm'
import { expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { storeFacts } from '../../api/demo/store.ts'
import { rebuildLedger } from '../../api/ledger/rebuild.ts'
import { MIGRATIONS } from '../../db/open.ts'
import { listContents } from '../../db/queries/contents.ts'
import { listReadings, listTransfers } from '../../db/queries/records.ts'
import { withDb } from '../helpers/db.ts'
import { MORNING } from '../helpers/tasks.ts'

/** The table that was folded in, as it stood before. */
const OLD = sql`create table transfer (cellar_id text not null, id text not null, lot_id text not null, from_vessel_id text,
  to_vessel_id text, volume_l double precision not null, loss_l double precision not null, moved_at timestamptz(3) not null,
  written_at timestamptz(3) not null, person_id text, task_key text)`

it('moves written in the older table become movements, litres without vessels become dips, none is lost', async () => {
  await withDb(async (db) => {
    const facts = demoFacts()
    const { id } = facts.cellar
    await storeFacts(db, facts, { demo: true, at: MORNING })
    // Migrations run as the owner of the tables.
    await db.execute(sql`set local role none`)
    await db.execute(OLD)
    await db.execute(sql`insert into transfer values
      (${id}, 't1', 'L01', null, 'T09', 6160, 0, '2027-03-11T05:00Z', '2027-03-11T05:01Z', 'kim', 'L01/press/1'),
      (${id}, 't2', 'L01', 'T09', 'T01', 5790.25, 369.75, '2027-03-12T05:00Z', '2027-03-12T05:01Z', 'sam', 'L01/rack-juice/1'),
      (${id}, 't3', 'L02', null, null, 2967, 0, '2027-03-12T06:00Z', '2027-03-12T06:01Z', 'kim', 'L02/rack-juice/1'),
      (${id}, 't4', 'L05', null, 'T05', 2856, 0, '2027-02-24T06:00Z', '2027-02-24T06:01Z', 'kim', 'L05/press/1')`)
    await db.execute(sql`insert into task_fact (cellar_id, id, task_key, kind, at, written_at, undoes_id) values
      (${id}, 'd4', 'L05/press/1', 'done', '2027-02-24T06:00Z', '2027-02-24T06:01Z', null),
      (${id}, 'u4', 'L05/press/1', 'undo', '2027-02-24T07:00Z', '2027-02-24T07:01Z', 'd4')`)
    const text = readFileSync(join(MIGRATIONS, '0009_one_ledger.sql'), 'utf8')
    for (const part of text.split('--> statement-breakpoint')) await db.execute(sql.raw(part))
    const { faults } = await rebuildLedger(db, id)
    expect(faults).toEqual([])
    expect((await listContents(db, id)).map((c) => [c.vesselId, c.lotId, c.volumeMl])).toEqual([
      ['T01', 'L01', 5_790_250],
    ])
    const transfers = await listTransfers(db, id, 'L01')
    expect(transfers.map((t) => [t.id, t.fromVesselId, t.toVesselId, t.volumeL, t.lossL])).toEqual([
      ['t1', undefined, 'T09', 6160, 0],
      ['t2', 'T09', 'T01', 5790.25, 369.75],
    ])
    const dips = (await listReadings(db, id, 'L02')).filter((r) => r.kind === 'volume')
    expect(dips.map((r) => [r.value, r.taskKey])).toEqual([[2967, 'L02/rack-juice/1']])
  })
})
