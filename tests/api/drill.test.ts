import { statSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, describe, expect, it } from 'vitest'
import { KIND } from '../helpers/db.ts'
import { ask } from '../helpers/process.ts'
import { createDrill, recordTemp, temps } from './drill-steps.ts'

const BACKUP_PASSPHRASE = 'forty years of lees'

const drill = createDrill()
afterAll(drill.end)

describe('a restore drill', () => {
  it('brings back what was acknowledged before a backup made under writes, and lets no old session in', {
    timeout: 400_000,
  }, async () => {
    const from = await drill.place('from', KIND)
    await drill.fill(from)
    const source = await drill.start(from)
    const record = async (value: number) => {
      const answer = await recordTemp(source.port, source.cookie, value)
      expect(answer.status, await answer.text()).toBe(201)
    }
    for (const value of [10, 10.5, 11]) await record(value)
    const file = join(drill.folder, 'drill.backup.age')
    let writing = true
    const writer = (async () => {
      for (let value = 12; writing; value += 0.1) await record(Math.round(value * 10) / 10)
    })()
    const said = await drill.command(['backup', '--to', file], { ...from, BACKUP_PASSPHRASE })
    writing = false
    await writer
    expect(said).toMatch(/Backup made and read back: .*\n\d+ bytes, \d+ rows/)
    expect(statSync(file).mode & 0o777).toBe(0o600)
    await expect(drill.command(['backup', '--to', file], { ...from, BACKUP_PASSPHRASE })).rejects.toThrow(
      'written over',
    )
    await expect(
      drill.command(['restore', file], { ...from, BACKUP_PASSPHRASE: 'fifty years of lees' }),
    ).rejects.toThrow('does not open')
    await expect(drill.command(['restore', file], { ...from, BACKUP_PASSPHRASE })).rejects.toThrow(
      KIND === 'postgres' ? 'not empty' : 'holds a cellar',
    )
    source.server.child.kill('SIGKILL')
    await source.server.ended

    const to = await drill.place('to', KIND)
    expect(await drill.command(['restore', file], { ...to, BACKUP_PASSPHRASE })).toMatch(/Restored .* \d+ rows/)
    const restored = await drill.start(to)
    const found = await temps(restored.port, restored.cookie)
    expect(found.slice(0, 3)).toEqual([10, 10.5, 11])
    // Whatever else came along was written in order, without a gap.
    expect(found.slice(3)).toEqual(found.slice(3).map((_, i) => Math.round((12 + i * 0.1) * 10) / 10))
    expect((await ask(restored.port, 'GET', '/api/plan', { cookie: source.cookie })).status).toBe(401)
  })
})
