/** The ledger's check, once a night a cellar. */
import { listCellars } from '../../db/queries/cellars.ts'
import { listLedgerChecks } from '../../db/queries/contents.ts'
import type { Db } from '../../db/types.ts'
import type { Now } from '../clock.ts'
import { type Log, shownError } from '../log.ts'
import { dayOf, Temporal, wallTimeAt } from '../time.ts'
import { checkLedger } from './check.ts'

/** At three the cellar sleeps, also in vintage. Common practice. */
const NIGHT_MIN = 3 * 60
const LOOK_MS = 10 * 60_000

/** Whether the check of the last night is still to be made. */
export function isCheckDue(lastAt: Temporal.Instant | undefined, nowAt: Temporal.Instant, zone: string): boolean {
  if (!lastAt) return true
  const today = dayOf(nowAt, zone)
  const tonight = wallTimeAt(today, NIGHT_MIN, zone)
  const due =
    Temporal.Instant.compare(nowAt, tonight) >= 0 ? tonight : wallTimeAt(today.subtract({ days: 1 }), NIGHT_MIN, zone)
  return Temporal.Instant.compare(lastAt, due) < 0
}

export async function checkIfDue(db: Db, now: Now, log: Log): Promise<void> {
  for (const cellar of await listCellars(db)) {
    try {
      const [last] = await listLedgerChecks(db, cellar.id, 1)
      if (!isCheckDue(last?.at, now(), cellar.zone)) continue
      const { ok, movements, tookMs, faults } = await checkLedger(db, cellar.id, now)
      if (ok) log.info({ cellar: cellar.id, movements, tookMs }, 'the ledger closes')
      else log.error({ cellar: cellar.id, movements, faults }, 'the ledger has faults')
    } catch (error) {
      // One that cannot be read keeps no other from its check.
      log.error({ cellar: cellar.id, ...shownError(error) }, 'the ledger could not be checked')
    }
  }
}

/** Looks at the start and every ten minutes. */
export function keepChecked(db: Db, now: Now, log: Log): () => Promise<void> {
  let running: Promise<void> = Promise.resolve()
  const look = () => {
    running = running
      .then(() => checkIfDue(db, now, log))
      .catch((error: unknown) => log.error(shownError(error), 'the ledger could not be checked'))
  }
  look()
  const timer = setInterval(look, LOOK_MS)
  return async () => {
    clearInterval(timer)
    await running
  }
}
