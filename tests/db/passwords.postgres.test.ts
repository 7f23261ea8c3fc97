import { sql } from 'drizzle-orm'
import { expect, it } from 'vitest'
import { fitsPassword, hashPassword } from '../../api/password.ts'
import { openDb } from '../../db/open.ts'
import { findAccountByName, listMemberships } from '../../db/queries/accounts.ts'
import { emptyServerDb } from '../helpers/db.ts'

/** Passwords once belonged to a person in a cellar; the sixth edition of the tables made accounts of them. */
const BEFORE_ACCOUNTS = 5
const PASSWORD = 'forty barrels in a row'

it('keeps every password of an older edition, each under a name of its own', { timeout: 60_000 }, async () => {
  const { url, drop } = await emptyServerDb()
  const hashed = await hashPassword(PASSWORD)
  if (!hashed.ok) throw new Error('too busy to hash')
  const old = await openDb({ url, migrations: BEFORE_ACCOUNTS })
  for (const cellar of ['east', 'west']) {
    await old.db.execute(sql`
      insert into cellar (id, name, hemisphere, vintage, zone, units, sugar_unit, language, rates, holidays, created_at)
      values (${cellar}, ${cellar}, 'south', 2027, 'UTC', 'metric', 'Brix', 'en', '{}', '[]', now())`)
    for (const [id, name] of [
      ['ida', 'Ida'],
      ['sam', `Sam of ${cellar}`],
    ]) {
      await old.db.execute(sql`
        insert into person (cellar_id, id, name, role, post, skills, language, shifts, absences)
        values (${cellar}, ${id}, ${name}, 'owner', '', '[]', 'en', '[]', '[]')`)
    }
    await old.db.execute(sql`
      insert into credential (cellar_id, person_id, password_hash, changed_at)
      values (${cellar}, 'ida', ${hashed.value}, '2026-10-01T08:00:00Z')`)
  }
  await old.close()
  const now = await openDb({ url })
  try {
    // The first of two with one name keeps it; the other one signs in with the longer name.
    for (const [name, cellarId] of [
      ['ida', 'east'],
      ['Ida west ida', 'west'],
    ] as const) {
      const account = (await findAccountByName(now.db, name))!
      expect(await fitsPassword(account.passwordHash, PASSWORD)).toEqual({ ok: true, value: true })
      expect(account.passwordChangedAt?.toString()).toBe('2026-10-01T08:00:00Z')
      expect(await listMemberships(now.db, account.id)).toMatchObject([{ cellarId, personId: 'ida' }])
    }
    expect(await findAccountByName(now.db, 'Sam of east')).toBeUndefined()
  } finally {
    await now.close()
    await drop()
  }
})
