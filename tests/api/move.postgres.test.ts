import { readdirSync } from 'node:fs'
import { afterAll, describe, expect, it } from 'vitest'
import { createDrill, recordTemp, temps } from './drill-steps.ts'

const drill = createDrill()
afterAll(drill.end)

describe('a move from the folder to a server database', () => {
  it('counts every row, refuses a folder in use, and closes the folder behind it', { timeout: 400_000 }, async () => {
    const folder = await drill.place('moving', 'pglite')
    await drill.fill(folder)
    const before = await drill.start(folder)
    expect((await recordTemp(before.port, before.cookie, 14.5)).status).toBe(201)
    const to = await drill.place('unused', 'postgres')
    const url = to.DATABASE_URL!
    await expect(drill.command(['move', '--to', url], folder)).rejects.toThrow(
      `in use by process ${before.server.child.pid}`,
    )
    before.server.child.kill('SIGTERM')
    expect(await before.server.ended).toBe(0)
    expect(await drill.command(['move', '--to', url], folder)).toMatch(/ 1 {2}lot\n[\s\S]*Moved \d+ rows/)
    await expect(drill.command(['move', '--to', url], folder)).rejects.toThrow('was moved')
    const again = await drill.tryStart(folder)
    expect(again.status).toBe(1)
    expect(again.said).toContain('was moved to a server database')
    const after = await drill.start(to)
    expect(await temps(after.port, after.cookie)).toEqual([14.5])
    expect(readdirSync(drill.folder)).not.toContain('unused')
  })
})
