import { createHash, timingSafeEqual } from 'node:crypto'
import { readFileSync, realpathSync, rmSync, writeFileSync } from 'node:fs'
import { createServer, type IncomingMessage, request } from 'node:http'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { newSecret } from '../secrets.ts'

/**
 * The embedded database belongs to one process, so a backup beside it is asked of that process: through a pipe of this
 * machine, with a key from a file that only the folder's owner may read.
 */
const KEY_FILE = 'door-key'

function pipeOf(folder: string): string {
  const id = createHash('sha256').update(realpathSync(folder)).digest('hex').slice(0, 24)
  if (process.platform === 'linux') return `\0leesway-door-${id}`
  return process.platform === 'win32' ? `\\\\.\\pipe\\leesway-door-${id}` : join(tmpdir(), `leesway-door-${id}.sock`)
}

export interface BackupWish {
  readonly to: string
  readonly passphrase?: string | undefined
}

/** Opens the door of a folder for as long as the server runs. @returns how to close it */
export async function openDoor(
  folder: string,
  backup: (wish: BackupWish) => Promise<object>,
): Promise<() => Promise<void>> {
  const key = newSecret()
  const path = pipeOf(folder)
  if (!path.startsWith('\0') && process.platform !== 'win32') rmSync(path, { force: true })
  const server = createServer((asked, answer) => {
    const say = (status: number, body: object) => {
      answer.writeHead(status, { 'content-type': 'application/json' }).end(JSON.stringify(body))
    }
    if (!fits(asked.headers.authorization, key)) return say(403, { error: 'The key does not fit.' })
    bodyOf(asked)
      .then((body) => backup(JSON.parse(body) as BackupWish))
      .then((made) => say(200, made))
      .catch((error: unknown) => say(500, { error: error instanceof Error ? error.message : String(error) }))
  })
  await new Promise<void>((done, fail) => {
    server.once('error', fail)
    server.listen({ path }, () => done())
  })
  server.unref()
  writeFileSync(join(folder, KEY_FILE), key, { mode: 0o600 })
  return () =>
    new Promise((done) => {
      rmSync(join(folder, KEY_FILE), { force: true })
      server.close(() => done())
      server.closeAllConnections()
    })
}

/** Asks the process that holds the folder for a backup. @throws Error in its words */
export function askDoor<T extends object>(folder: string, wish: BackupWish): Promise<T> {
  const key = readFileSync(join(folder, KEY_FILE), 'utf8')
  return new Promise((done, fail) => {
    const asking = request(
      { socketPath: pipeOf(folder), path: '/backup', method: 'POST', headers: { authorization: key } },
      (answer) => {
        bodyOf(answer)
          .then((text) => {
            const said = JSON.parse(text) as T & { error?: string }
            if (answer.statusCode === 200) done(said)
            else fail(new Error(said.error ?? `the running server answered ${answer.statusCode}`))
          })
          .catch(fail)
      },
    )
    asking.on('error', fail)
    asking.end(JSON.stringify(wish))
  })
}

function fits(given: string | undefined, key: string): boolean {
  const a = Buffer.from(given ?? '')
  const b = Buffer.from(key)
  return a.length === b.length && timingSafeEqual(a, b)
}

async function bodyOf(message: IncomingMessage): Promise<string> {
  const parts: Buffer[] = []
  for await (const part of message) parts.push(part as Buffer)
  return Buffer.concat(parts).toString('utf8')
}
