import { describe, expect, it } from 'vitest'
import { killOverAndOver } from '../bench/killed.ts'
import { emptyServerDb, KIND } from '../helpers/db.ts'

/** The short form of `npm run bench:killed`, which does it 200 times on each database. */
describe('a server killed in the middle of its work', () => {
  it('loses and doubles nothing it acknowledged, and starts again every time', { timeout: 600_000 }, async () => {
    const made = KIND === 'postgres' ? await emptyServerDb() : undefined
    try {
      const report = await killOverAndOver(5, 3, made?.url)
      expect(report.acknowledged).toBeGreaterThan(0)
      expect(report).toMatchObject({ cycles: 5, lost: 0, doubled: 0, failedStarts: 0 })
      expect(report.killedInStart, 'the seed has some').toBeGreaterThan(0)
    } finally {
      await made?.drop()
    }
  })
})
