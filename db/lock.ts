import { createHash } from 'node:crypto'
import { mkdirSync, realpathSync, unlinkSync } from 'node:fs'
import { connect, createServer, type Server } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'

/** Two processes on one folder damage it in silence, so the second is refused, by name of the first. */
export class FolderInUse extends Error {
  override readonly name = 'FolderInUse'
  readonly holder: string
  constructor(dir: string, holder: string) {
    super(
      `The data folder ${dir} is in use by process ${holder}. Stop it first, or set DATABASE_URL to a PostgreSQL server.`,
    )
    this.holder = holder
  }
}

const listen = (server: Server, path: string) =>
  new Promise<NodeJS.ErrnoException | null>((done) => {
    server.once('error', done)
    server.listen({ path, exclusive: true }, () => done(null))
  })

const askHolder = (path: string) =>
  new Promise<string | null>((done) => {
    let answer = ''
    const socket = connect({ path })
    socket.setTimeout(2_000, () => socket.destroy(new Error('no answer')))
    socket.on('data', (chunk) => {
      answer += chunk
    })
    socket.on('end', () => done(answer || null))
    socket.on('error', () => done(null))
  })

/** A name that the system frees when the process ends, however it ends: no stale lock files. */
function socketPath(dir: string): string {
  const id = createHash('sha256').update(realpathSync(dir)).digest('hex').slice(0, 24)
  if (process.platform === 'linux') return `\0leesway-${id}`
  return process.platform === 'win32' ? `\\\\.\\pipe\\leesway-${id}` : join(tmpdir(), `leesway-${id}.sock`)
}

/**
 * Holds the folder until the returned function is called or the process ends.
 * Does not reach over a network share or between containers: one process a folder there is up to whoever runs them.
 *
 * @throws FolderInUse naming the process that holds it
 */
export async function lockFolder(dir: string): Promise<() => Promise<void>> {
  mkdirSync(dir, { recursive: true })
  const path = socketPath(dir)
  for (let attempt = 0; attempt < 3; attempt++) {
    const server = createServer((socket) => socket.end(String(process.pid)))
    const failure = await listen(server, path)
    if (!failure) {
      server.unref()
      return () => new Promise((done) => server.close(() => done()))
    }
    if (failure.code !== 'EADDRINUSE') throw failure
    const holder = await askHolder(path)
    if (holder !== null) throw new FolderInUse(dir, holder)
    // A socket file outlives a killed process where names are files; nobody answered, so it is one of those.
    if (!path.startsWith('\0') && process.platform !== 'win32') unlinkSync(path)
  }
  throw new Error(`The data folder ${dir} could not be locked: its lock is held by a process that does not answer.`)
}
