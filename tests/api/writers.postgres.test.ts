import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { expect, it } from 'vitest'
import { emptyServerDb, KIND } from '../helpers/db.ts'
import { race, racePlanners, startServer } from '../helpers/writers.ts'

// Two servers need a database that both reach; `npm run bench:writers` is the long form.
if (KIND === 'postgres') {
  it('lets one of eight writers at two servers win each round, overwrites nothing, and books no machine twice', {
    timeout: 300_000,
  }, async () => {
    const folder = mkdtempSync(join(tmpdir(), 'leesway-writers-'))
    const { url, drop } = await emptyServerDb()
    const args = ['--demo', '--at', '2027-03-22']
    const servers = [await startServer(url, folder, args), await startServer(url, folder, args)]
    const result = await race(servers, 8, 10)
    expect(result).toEqual({ rounds: 10, writers: 8, notOneWinner: 0, overwritten: 0, others: 0 })
    expect(await racePlanners(servers, 4)).toEqual({ rounds: 4, refused: 0, doubleBooked: 0 })
    for (const server of servers) await server.stop()
    await drop()
    rmSync(folder, { recursive: true, force: true })
  })
}
