import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import fc from 'fast-check'
import { afterAll, describe, expect, it } from 'vitest'
import { askDoor, openDoor } from '../../api/ops/door.ts'
import { isDue } from '../../api/ops/nightly.ts'
import { backupName, KEPT, listBackups, outlived } from '../../api/ops/store.ts'
import { Temporal } from '../../api/time.ts'
import { linesOf } from '../../db/backup/format.ts'

const folder = mkdtempSync(join(tmpdir(), 'leesway-ops-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))

const at = (text: string) => Temporal.Instant.from(text)
const ZONE = 'Pacific/Auckland'

describe('which backups stay', () => {
  // One every night at 03:00 in Auckland for 60 nights, the last on Thursday 2026-11-26. By hand:
  // days: 26, 25, 24, 23, 22, 21, 20 November. Weeks (Monday first): the newest of the weeks of 23, 16, 9 and 2
  // November: 26, 22 (both kept as days), 15, 8 November. Months: 26 November (kept), 31 October, and 30 September.
  const nights = Array.from({ length: 60 }, (_, i) =>
    Temporal.PlainDate.from('2026-11-26').subtract({ days: i }).toZonedDateTime({ timeZone: ZONE, plainTime: '03:00' }),
  )
  const backups = nights.map((night) => ({ path: night.toPlainDate().toString(), at: night.toInstant() }))

  it('are the newest of seven days, four weeks and twelve months', () => {
    const gone = new Set(outlived(backups, ZONE).map((b) => b.path))
    expect(backups.map((b) => b.path).filter((path) => !gone.has(path))).toEqual([
      '2026-11-26',
      '2026-11-25',
      '2026-11-24',
      '2026-11-23',
      '2026-11-22',
      '2026-11-21',
      '2026-11-20',
      '2026-11-15',
      '2026-11-08',
      '2026-10-31',
      '2026-09-30',
    ])
  })

  it('always include the newest, and never more than the sum, whatever times they were made at', () => {
    fc.assert(
      fc.property(
        fc.uniqueArray(fc.integer({ min: 0, max: 4 * 365 * 24 }), { minLength: 1, maxLength: 200 }),
        (hours) => {
          const all = hours.map((h) => ({ path: String(h), at: at('2023-01-01T00:00:00Z').add({ hours: h }) }))
          const gone = new Set(outlived(all, ZONE).map((b) => b.path))
          expect(gone.has(String(Math.max(...hours)))).toBe(false)
          expect(hours.length - gone.size).toBeLessThanOrEqual(KEPT.days + KEPT.weeks + KEPT.months)
          // Removing twice removes nothing more.
          expect(
            outlived(
              all.filter((b) => !gone.has(b.path)),
              ZONE,
            ),
          ).toEqual([])
        },
      ),
    )
  })
})

describe('the night’s backup', () => {
  it('is due from three in the cellar’s night, once a day, and made up after a sleep', () => {
    // Auckland is UTC+13 in November: 03:00 on the 26th there is 14:00 on the 25th in UTC.
    const last = at('2026-11-24T14:05:00Z')
    expect(isDue(last, at('2026-11-25T13:59:00Z'), ZONE)).toBe(false)
    expect(isDue(last, at('2026-11-25T14:00:00Z'), ZONE)).toBe(true)
    expect(isDue(at('2026-11-25T14:00:00Z'), at('2026-11-25T23:00:00Z'), ZONE)).toBe(false)
    expect(isDue(at('2026-11-01T14:00:00Z'), at('2026-11-25T20:00:00Z'), ZONE)).toBe(true)
    expect(isDue(undefined, at('2026-11-25T12:00:00Z'), ZONE)).toBe(true)
  })

  it('is found again by its name, and other files are left alone', async () => {
    const nowAt = at('2026-11-25T14:00:07Z')
    writeFileSync(join(folder, backupName(nowAt, true)), '')
    writeFileSync(join(folder, backupName(nowAt.subtract({ hours: 30 }), false)), '')
    writeFileSync(join(folder, 'leesway-20261399T990000Z.backup'), '')
    writeFileSync(join(folder, 'my notes.txt'), '')
    const found = await listBackups(folder)
    expect(found.map((b) => b.at.toString())).toEqual(['2026-11-25T14:00:07Z', '2026-11-24T08:00:07Z'])
    expect(await listBackups(join(folder, 'none'))).toEqual([])
  })
})

describe('the door of a running server', () => {
  it('opens to the key in the folder only, and says in words why not', async () => {
    const close = await openDoor(folder, async ({ to }) => {
      if (to === 'full') throw new Error('no space left')
      return { path: to }
    })
    expect(await askDoor(folder, { to: 'there' })).toEqual({ path: 'there' })
    await expect(askDoor(folder, { to: 'full' })).rejects.toThrow('no space left')
    writeFileSync(join(folder, 'door-key'), 'guessed')
    await expect(askDoor(folder, { to: 'there' })).rejects.toThrow('does not fit')
    await close()
    expect(() => askDoor(folder, { to: 'there' })).toThrow()
  })
})

describe('lines', () => {
  it('are the same however the bytes are cut', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.array(fc.string()),
        fc.array(fc.integer({ min: 1, max: 7 }), { minLength: 1 }),
        async (texts, cuts) => {
          const whole = Buffer.from(texts.join('\n'))
          async function* parts() {
            for (let start = 0, i = 0; start < whole.length; i++) {
              const end = start + cuts[i % cuts.length]!
              yield whole.subarray(start, end)
              start = end
            }
          }
          const lines: string[] = []
          for await (const line of linesOf(parts())) lines.push(Buffer.from(line).toString('utf8'))
          expect(lines.join('')).toBe(whole.toString('utf8'))
          for (const line of lines.slice(0, -1)) expect(line.indexOf('\n')).toBe(line.length - 1)
        },
      ),
    )
  })
})
