import { join } from 'node:path'
import type { Opened } from '../../db/open.ts'
import type { Now } from '../clock.ts'
import { type Log, shownError } from '../log.ts'
import type { Temporal } from '../time.ts'
import { backupName, listBackups, type Made, makeBackup, removeOutlived } from './store.ts'

/** The hour of the cellar's night from which the day's backup is due. */
const DUE_HOUR = 3
const LOOK_MS = 10 * 60_000
/** A start has other things to do first. */
const FIRST_LOOK_MS = 60_000

export interface NightlyPlan {
  readonly folder: string
  readonly passphrase: string | undefined
  /** The cellar's zone: its night, its days and weeks. */
  readonly zone: string
}

/** Is a backup due: it is past three at night, and the newest is of an earlier day. A machine that slept makes it up. */
export function isDue(newestAt: Temporal.Instant | undefined, nowAt: Temporal.Instant, zone: string): boolean {
  const now = nowAt.toZonedDateTimeISO(zone)
  if (!newestAt) return true
  if (now.hour < DUE_HOUR) return false
  return newestAt.toZonedDateTimeISO(zone).toPlainDate().until(now.toPlainDate()).days >= 1
}

/** The night's backup if it is due, and the old ones removed after it. */
export async function backupIfDue(
  opened: Pick<Opened, 'raw' | 'kind'>,
  plan: NightlyPlan,
  nowAt: Temporal.Instant,
): Promise<Made | undefined> {
  const [newest] = await listBackups(plan.folder)
  if (!isDue(newest?.at, nowAt, plan.zone)) return undefined
  const to = join(plan.folder, backupName(nowAt, plan.passphrase !== undefined))
  const made = await makeBackup(opened, to, plan.passphrase, nowAt)
  await removeOutlived(plan.folder, plan.zone)
  return made
}

/** Looks a minute after the start and every ten minutes. A backup that failed is tried again at the next look; the reason is in the log. */
export function keepBackups(
  opened: Pick<Opened, 'raw' | 'kind'>,
  plan: () => Promise<NightlyPlan | undefined>,
  now: Now,
  log: Log,
): () => Promise<void> {
  let running: Promise<void> = Promise.resolve()
  const look = () => {
    running = running.then(async () => {
      try {
        const at = await plan()
        const made = at && (await backupIfDue(opened, at, now()))
        if (made) log.info({ path: made.path, bytes: made.bytes }, 'backup made and read back')
      } catch (error) {
        log.error(shownError(error), 'the nightly backup failed')
      }
    })
  }
  const first = setTimeout(look, FIRST_LOOK_MS)
  const timer = setInterval(look, LOOK_MS)
  return async () => {
    clearTimeout(first)
    clearInterval(timer)
    await running
  }
}
