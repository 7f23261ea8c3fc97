/**
 * `npm run bench:writers -- [--rounds 200] [--plans 100]`: 8 writers on the same rows through two servers on one
 * PostgreSQL, then both servers told of different lots at the same moment. Goals: one winner each, none overwritten,
 * no machine booked twice.
 */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { parseArgs } from 'node:util'
import { startPostgres } from '../helpers/postgres.ts'
import { race, racePlanners, startServer } from '../helpers/writers.ts'

async function main(): Promise<void> {
  const { values } = parseArgs({ options: { rounds: { type: 'string' }, plans: { type: 'string' } } })
  const folder = mkdtempSync(join(tmpdir(), 'leesway-writers-'))
  const postgres = await startPostgres()
  const args = ['--demo', '--at', '2027-03-22']
  const one = await startServer(postgres.url, folder, args)
  const two = await startServer(postgres.url, folder, args)
  const startMs = performance.now()
  const result = await race([one, two], 8, Number(values.rounds ?? 200))
  const seconds = ((performance.now() - startMs) / 1000).toFixed(0)
  console.log(
    `${result.writers} writers, ${result.rounds} rounds, two servers, ${seconds} s: ` +
      `${result.rounds - result.notOneWinner} rounds with one winner, ${result.overwritten} silently overwritten, ${result.others} other answers`,
  )
  const planned = await racePlanners([one, two], Number(values.plans ?? 100))
  console.log(
    `planners of two servers, ${planned.rounds} rounds: ${planned.doubleBooked} machines booked twice, ${planned.refused} refused`,
  )
  await Promise.all([one.stop(), two.stop()])
  await postgres.stop()
  rmSync(folder, { recursive: true, force: true })
  process.exitCode =
    result.notOneWinner + result.overwritten + result.others + planned.doubleBooked + planned.refused === 0 ? 0 : 1
}

void main()
