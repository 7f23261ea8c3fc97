/** `npm run bench:feed`: what a feed costs to build, to send and to answer with 304. Prints one table; CPU time, medians. */
import { createHash } from 'node:crypto'
import { gzipSync } from 'node:zlib'
import { isStillGood } from '../../api/feed/conditional.ts'
import { writeFeed } from '../../api/feed/write.ts'
import { makeFeedTask, makeSettings, NOW } from '../feed/make.ts'

const RUNS = 9

function cpuMs(work: () => void): number {
  const before = process.cpuUsage()
  work()
  const used = process.cpuUsage(before)
  return (used.user + used.system) / 1000
}

const median = (values: number[]) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)]!
const repeat = (work: () => void) => median(Array.from({ length: RUNS }, () => cpuMs(work)))

const settings = makeSettings({ toAt: NOW.add({ hours: 24 * 40_000 }) })
const rows = [100, 1_000, 10_000].map((count) => {
  const tasks = Array.from({ length: count }, (_, n) => makeFeedTask(n, { state: 'planned' }))
  const body = writeFeed(tasks, settings, NOW)
  const gz = gzipSync(body)
  const etag = `W/"${createHash('sha256').update(body).digest('base64url')}"`
  return {
    tasks: count,
    'build ms CPU': repeat(() => writeFeed(tasks, settings, NOW)).toFixed(1),
    'gzip ms CPU': repeat(() => gzipSync(body)).toFixed(1),
    'digest ms CPU': repeat(() => createHash('sha256').update(body).digest()).toFixed(2),
    '304 ms CPU, of 1,000': (
      repeat(() => {
        for (let i = 0; i < 1_000; i++) isStillGood({ ifNoneMatch: etag, ifModifiedSince: undefined }, etag, 0)
      }) / 1_000
    ).toFixed(5),
    kB: (Buffer.byteLength(body) / 1000).toFixed(0),
    'kB gzipped': (gz.length / 1000).toFixed(0),
    'RSS MB': (process.memoryUsage().rss / 1e6).toFixed(0),
  }
})
console.table(rows)
