import { type ChildProcess, execFileSync, spawn } from 'node:child_process'
import { chmodSync, chownSync, existsSync, mkdtempSync, readdirSync, rmSync } from 'node:fs'
import { createServer } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import postgres from 'postgres'
import type { TestProject } from 'vitest/node'

declare module 'vitest' {
  interface ProvidedContext {
    databaseUrl: string
  }
}

const OLDEST = 15
const INSTALL = `PostgreSQL ${OLDEST} or newer is needed for the tests against a server. Install it with: apt-get install -y postgresql`

/** Starts a PostgreSQL of its own for this run, on a free port of 127.0.0.1, and removes it afterwards. */
export default async function setup(project: TestProject): Promise<() => Promise<void>> {
  const given = process.env.TEST_DATABASE_URL
  if (given) {
    project.provide('databaseUrl', given)
    return async () => {}
  }
  const server = await startPostgres()
  project.provide('databaseUrl', server.url)
  return server.stop
}

export interface OwnPostgres {
  readonly url: string
  /** Stops it: `SIGINT` ends open sessions in order, `SIGQUIT` as a crash does. It can be started again. */
  readonly halt: (signal?: 'SIGINT' | 'SIGQUIT') => Promise<void>
  /** Starts it on the same port. */
  readonly start: () => Promise<void>
  /** `SIGSTOP`: every session stays open and nothing answers. */
  readonly freeze: (frozen: boolean) => void
  readonly stop: () => Promise<void>
}

export async function startPostgres(): Promise<OwnPostgres> {
  const bin = programs()
  const folder = mkdtempSync(join(tmpdir(), 'leesway-postgres-'))
  const owner = unprivileged()
  if (owner) chownSync(folder, owner.uid, owner.gid)
  chmodSync(folder, 0o700)
  const data = join(folder, 'data')
  const as = { ...owner, cwd: folder, env: { ...process.env, LC_ALL: 'C.UTF-8', TZ: 'UTC' } }
  execFileSync(
    join(bin, 'initdb'),
    ['-D', data, '-U', 'leesway', '-A', 'trust', '-E', 'UTF8', '--locale=C.UTF-8', '--no-sync'],
    { ...as, stdio: 'pipe' },
  )
  const port = await freePort()
  // No fsync: this server lives for one run. What a commit forces to disk is tested on the embedded database.
  const options = ['-D', data, '-p', String(port), '-h', '127.0.0.1', '-k', folder, '-F', '-c', 'max_connections=60']
  let running: { readonly child: ChildProcess; readonly ended: Promise<void> } | undefined
  const kill = () => running?.child.kill('SIGKILL')
  const start = async () => {
    const child = spawn(join(bin, 'postgres'), options, { ...as, stdio: ['ignore', 'pipe', 'pipe'] })
    let said = ''
    child.stderr.on('data', (chunk) => {
      said = (said + chunk).slice(-4000)
    })
    running = { child, ended: new Promise<void>((done) => child.once('exit', () => done())) }
    try {
      await answering(port, () => child.exitCode === null)
    } catch {
      throw new Error(`PostgreSQL did not start:\n${said}`)
    }
  }
  const halt = async (signal: 'SIGINT' | 'SIGQUIT' = 'SIGINT') => {
    running?.child.kill(signal)
    await running?.ended
  }
  process.once('exit', kill)
  await start()
  return {
    url: `postgres://leesway@127.0.0.1:${port}/postgres`,
    halt,
    start,
    freeze: (frozen) => {
      const pids = execFileSync('pgrep', ['-P', String(running?.child.pid)], { encoding: 'utf8' })
        .trim()
        .split('\n')
      for (const pid of pids) process.kill(Number(pid), frozen ? 'SIGSTOP' : 'SIGCONT')
    },
    stop: async () => {
      await halt()
      process.off('exit', kill)
      rmSync(folder, { recursive: true, force: true })
    },
  }
}

function programs(): string {
  const root = '/usr/lib/postgresql'
  const versions = existsSync(root) ? readdirSync(root).map(Number) : []
  const newest = Math.max(0, ...versions.filter((v) => v >= OLDEST))
  const candidates = [newest > 0 ? join(root, String(newest), 'bin') : '', ...(process.env.PATH ?? '').split(':')]
  const found = candidates.find((dir) => dir && existsSync(join(dir, 'initdb')) && existsSync(join(dir, 'postgres')))
  if (!found) throw new Error(INSTALL)
  return found
}

/** PostgreSQL refuses to run as root; the package brings a user for it. */
function unprivileged(): { uid: number; gid: number } | undefined {
  if (process.getuid?.() !== 0) return undefined
  try {
    const id = (flag: string) => Number(execFileSync('id', [flag, 'postgres'], { encoding: 'utf8', stdio: 'pipe' }))
    return { uid: id('-u'), gid: id('-g') }
  } catch {
    throw new Error(INSTALL)
  }
}

export const freePort = () =>
  new Promise<number>((done, fail) => {
    const server = createServer()
    server.once('error', fail)
    server.listen(0, '127.0.0.1', () => {
      const address = server.address()
      server.close(() => done(typeof address === 'object' && address ? address.port : 0))
    })
  })

/** It takes connections before it answers: at first it says that it is starting up. */
async function answers(port: number): Promise<boolean> {
  const one = postgres(`postgres://leesway@127.0.0.1:${port}/postgres`, { max: 1, connect_timeout: 2 })
  try {
    await one`select 1`
    return true
  } catch {
    return false
  } finally {
    await one.end({ timeout: 1 })
  }
}

async function answering(port: number, alive: () => boolean): Promise<void> {
  for (let i = 0; i < 600; i++) {
    if (!alive()) break
    if (await answers(port)) return
    await new Promise((later) => setTimeout(later, 50))
  }
  throw new Error('no answer')
}
