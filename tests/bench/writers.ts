/** `npm run bench:writers`: 8 writers, 200 rounds, two servers on one PostgreSQL. Goal: one winner each, none overwritten. */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { startPostgres } from '../helpers/postgres.ts'
import { race, startServer } from '../helpers/writers.ts'

async function main(): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'leesway-writers-'))
  const postgres = await startPostgres()
  const args = ['--demo', '--at', '2027-03-22']
  const one = await startServer(postgres.url, folder, args)
  const two = await startServer(postgres.url, folder, args)
  const startMs = performance.now()
  const result = await race([one, two], 8, 200)
  const seconds = ((performance.now() - startMs) / 1000).toFixed(0)
  console.log(
    `${result.writers} writers, ${result.rounds} rounds, two servers, ${seconds} s: ` +
      `${result.rounds - result.notOneWinner} rounds with one winner, ${result.overwritten} silently overwritten, ${result.others} other answers`,
  )
  await Promise.all([one.stop(), two.stop()])
  await postgres.stop()
  rmSync(folder, { recursive: true, force: true })
  process.exitCode = result.notOneWinner + result.overwritten + result.others === 0 ? 0 : 1
}

void main()
