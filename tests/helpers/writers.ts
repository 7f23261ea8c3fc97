/** Writers that change the same rows at once through two real servers on one database, and what became of it. */
import { type ChildProcess, spawn } from 'node:child_process'
import { join } from 'node:path'
import { doubleBooked, type StoredPlan } from './bookings.ts'
import { serverFile } from './built.ts'
import { freePort } from './postgres.ts'

const ROOT = join(import.meta.dirname, '../..')
const START_MS = 180_000

export interface Server {
  readonly url: string
  readonly cookie: string
  readonly stop: () => Promise<void>
}

/** A server process on the database at `databaseUrl`, with its lead signed in. */
export async function startServer(databaseUrl: string, dataDir: string, args: readonly string[]): Promise<Server> {
  const port = await freePort()
  const { DATABASE_URL: _, HOST: __, PORT: ___, PUBLIC_URL: ____, ...mine } = process.env
  const child = spawn(process.execPath, [serverFile(), '--port', String(port), ...args], {
    cwd: ROOT,
    env: { ...mine, DATABASE_URL: databaseUrl, DATA_DIR: dataDir, LOG_LEVEL: 'error' },
    stdio: ['ignore', 'pipe', 'pipe'],
  })
  const link = await said(child, /token=([A-Za-z0-9_-]+)/)
  const url = `http://127.0.0.1:${port}`
  const entered = await fetch(`${url}/api/session`, {
    method: 'POST',
    headers: HEADERS,
    body: JSON.stringify({ link }),
  })
  if (!entered.ok) throw new Error(`could not sign in: ${await entered.text()}`)
  const cookie = entered.headers.getSetCookie()[0]!.split(';')[0]!
  const ended = new Promise<void>((done) => child.once('exit', () => done()))
  return {
    url,
    cookie,
    stop: async () => {
      child.kill('SIGTERM')
      const late = setTimeout(() => child.kill('SIGKILL'), 10_000)
      await ended
      clearTimeout(late)
    },
  }
}

const HEADERS = { 'content-type': 'application/json', 'sec-fetch-site': 'same-origin' }

function said(child: ChildProcess, pattern: RegExp): Promise<string> {
  return new Promise((done, fail) => {
    let text = ''
    const hear = (chunk: Buffer) => {
      text += chunk.toString()
      const found = pattern.exec(text)
      if (found) done(found[1]!)
    }
    child.stdout?.on('data', hear)
    child.stderr?.on('data', hear)
    child.once('exit', (code) => fail(new Error(`the server ended with ${code}:\n${text}`)))
    setTimeout(() => fail(new Error(`the server was not ready:\n${text}`)), START_MS).unref()
  })
}

export interface WritersResult {
  readonly rounds: number
  readonly writers: number
  /** Rounds with another number of winners than one. */
  readonly notOneWinner: number
  /** Rounds after which the row is not what its winner wrote, one version on. */
  readonly overwritten: number
  /** Answers that were neither yes nor "somebody was faster". */
  readonly others: number
}

interface Protocol {
  readonly id: string
  readonly name: string
  readonly choices: object
  readonly version: number
}

const ask = async (server: Server, method: string, path: string, body?: object) => {
  const response = await fetch(`${server.url}${path}`, {
    method,
    headers: { ...HEADERS, cookie: server.cookie },
    ...(body ? { body: JSON.stringify(body) } : {}),
  })
  return { status: response.status, body: (await response.json()) as never }
}

/** Each round all writers hold the same version of one protocol, half of them at each server. */
export async function race(servers: readonly Server[], writers: number, rounds: number): Promise<WritersResult> {
  const first = servers[0]!
  const { lots } = (await ask(first, 'GET', '/api/lots')).body as { lots: { choices: object }[] }
  const name = `raced ${Date.now()}`
  const made = (await ask(first, 'POST', '/api/protocols', { name, choices: lots[0]!.choices })).body as { id: string }
  const read = async () => {
    const { protocols } = (await ask(first, 'GET', '/api/protocols')).body as { protocols: Protocol[] }
    return protocols.find((p) => p.id === made.id)!
  }
  let [notOneWinner, overwritten, others] = [0, 0, 0]
  for (let round = 0; round < rounds; round++) {
    const held = await read()
    const names = Array.from({ length: writers }, (_, i) => `${name} ${round} ${i}`)
    const answers = await Promise.all(
      names.map((wished, i) =>
        ask(servers[i % servers.length]!, 'PUT', `/api/protocols/${made.id}`, {
          name: wished,
          choices: held.choices,
          version: held.version,
        }),
      ),
    )
    const won = names.filter((_, i) => answers[i]!.status === 200)
    if (won.length !== 1) notOneWinner++
    others += answers.filter((a) => ![200, 409, 412].includes(a.status)).length
    const after = await read()
    if (after.name !== won[0] || after.version !== held.version + 1) overwritten++
  }
  return { rounds, writers, notOneWinner, overwritten, others }
}

export interface PlannersResult {
  readonly rounds: number
  /** Writes that were answered otherwise than with yes. */
  readonly refused: number
  /** Two lots' work for one person, on one press or in one vessel at one time that no plan told of, over all rounds. */
  readonly doubleBooked: number
}

/** Each round every server is told of another lot at the same moment, and plans; what is stored must be one whole plan. */
export async function racePlanners(servers: readonly Server[], rounds: number): Promise<PlannersResult> {
  const { lots } = (await ask(servers[0]!, 'GET', '/api/lots')).body as { lots: { code: string }[] }
  let [refused, twice] = [0, 0]
  for (let round = 0; round < rounds; round++) {
    const answers = await Promise.all(
      servers.map((server, i) => {
        const lot = lots[(round * servers.length + i) % lots.length]!.code
        return ask(server, 'POST', '/api/readings', { readings: [{ lot, kind: 'temp', value: 12 + (round % 8) }] })
      }),
    )
    refused += answers.filter((a) => a.status !== 201).length
    const plan = (await ask(servers[round % servers.length]!, 'GET', '/api/plan')).body as StoredPlan
    twice += doubleBooked(plan).length
  }
  return { rounds, refused, doubleBooked: twice }
}
