import { sql } from 'drizzle-orm'
import { describe, expect, it } from 'vitest'
import { KEPT, type KeptNames, keptPlanned } from '../../db/kept.ts'
import { ask, ms } from '../../db/queries/ask.ts'
import { withDb } from '../helpers/db.ts'

describe('Questions kept planned', () => {
  it('are prepared once and asked by name, each parameter as a literal that ends nothing', async () => {
    const said: string[] = []
    const names: KeptNames = new Map()
    const asks = keptPlanned(async (text) => void said.push(text), names)
    const text = `${KEPT} select $1, $2, $3`
    await asks(text, ["it's '); drop table x --", 7, null])
    await asks(text, ['a', true, undefined])
    const name = names.get(text)
    expect(said).toEqual([
      `prepare ${name} as ${text}`,
      `execute ${name}('it''s ''); drop table x --', '7', null)`,
      `execute ${name}('a', 'true', null)`,
    ])
  })

  it('leave others as they are, and those with a parameter that is no literal', async () => {
    const said: unknown[] = []
    const asks = keptPlanned(async (text, params) => void said.push([text, params]), new Map())
    await asks('select $1', ['a'])
    await asks(`${KEPT} select $1`, ['a\0b'])
    await asks(`${KEPT} select $1`, [['a']])
    expect(said).toEqual([
      ['select $1', ['a']],
      [`${KEPT} select $1`, ['a\0b']],
      [`${KEPT} select $1`, [['a']]],
    ])
  })
})

describe('Asking', () => {
  it('answers the same again and again, with quotes, nothing, and other parameters', () =>
    withDb(async (db) => {
      const asked = (word: string, n: number | null) =>
        ask<{ word: string; n: number | null }>(db, sql`select ${word}::text as word, ${n}::int as n`)
      for (const word of ["o'clock", '"', '\\', "';--", '', 'é'])
        expect(await asked(word, null)).toEqual([{ word, n: null }])
      for (const n of [1, 2, 3, 4, 5, 6, 7]) expect(await asked('x', n)).toEqual([{ word: 'x', n }])
      expect(await ask(db, sql`select 1 as n where false`)).toEqual([])
    }))

  it('tells a moment to the millisecond', () =>
    withDb(async (db) => {
      for (const millis of [0, 1, 999, 1_803_186_000_123, 2_147_483_648_001, 4_294_967_295_999]) {
        const iso = new Date(millis).toISOString()
        expect(await ask(db, sql`select ${ms(sql`${iso}::timestamptz`)} as back`)).toEqual([{ back: millis }])
      }
    }))

  it('goes on after a transaction that was undone, in which the question was first asked', () =>
    withDb(async (db) => {
      const asked = () => ask<{ n: number }>(db, sql`select 40 + ${2}::int as n`)
      await expect(
        db.transaction(async (tx) => {
          expect(await ask(tx, sql`select 40 + ${2}::int as n`)).toEqual([{ n: 42 }])
          throw new Error('undone')
        }),
      ).rejects.toThrow('undone')
      expect(await asked()).toEqual([{ n: 42 }])
    }))
})
