import { rmSync } from 'node:fs'
import { join } from 'node:path'
import { buildServer } from '../../api/build.ts'
import { ROOT } from '../../db/root.ts'

let built: string | undefined

/** The server as `npm start` builds it, from the tree as it is now: once a process, or once for a whole run of the tests. */
export function serverFile(): string {
  built ??= process.env.BUILT_SERVER ?? buildForThis()
  return built
}

function buildForThis(): string {
  const folder = join(ROOT, `tests/.results/server-${process.pid}`)
  process.once('exit', () => rmSync(folder, { recursive: true, force: true }))
  return buildServer(folder)
}
