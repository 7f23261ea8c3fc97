import { type ChildProcess, spawn } from 'node:child_process'
import { join } from 'node:path'
import { expect } from 'vitest'
import { serverFile } from './built.ts'

/** The real process, as `npm start` runs it once the screens are built. */
export interface Running {
  readonly child: ChildProcess
  readonly said: () => string
  readonly ended: Promise<number | null>
}

/** Under load a first start takes a minute. */
export const SOON = { timeout: 180_000, interval: 100 }

/** Runs a source of the product with nothing of this environment's settings but the given ones. */
export const run = (args: readonly string[], env: Readonly<Record<string, string | undefined>>): Running =>
  started(['--import', 'tsx', ...args], env)

function started(args: readonly string[], env: Readonly<Record<string, string | undefined>>): Running {
  const { DATABASE_URL: _, HOST: __, PORT: ___, PUBLIC_URL: ____, ...mine } = process.env
  const given = Object.fromEntries(Object.entries(env).filter(([, value]) => value !== undefined))
  const child = spawn(process.execPath, args, {
    cwd: join(import.meta.dirname, '../..'),
    env: { ...mine, LOG_LEVEL: 'warn', ...given },
    stdio: ['ignore', 'pipe', 'pipe'],
  })
  let said = ''
  const hear = (chunk: Buffer) => {
    said += chunk.toString()
  }
  child.stdout.on('data', hear)
  child.stderr.on('data', hear)
  return { child, said: () => said, ended: new Promise((done) => child.once('exit', (code) => done(code))) }
}

export const startServer = (args: readonly string[], env: Readonly<Record<string, string | undefined>>): Running =>
  started([serverFile(), ...args], env)

/** Signs in with the link a server printed. @returns the cookie */
export async function enter(port: number, said: string): Promise<string> {
  const link = /token=([A-Za-z0-9_-]+)/.exec(said)
  if (!link) throw new Error(`no link in: ${said}`)
  const answer = await ask(port, 'POST', '/api/session', { body: { link: link[1] } })
  return sessionOf(answer)
}

/** The cookies that an answer sets, as the next request sends them. */
export const sessionOf = (answer: Response): string =>
  answer.headers
    .getSetCookie()
    .map((cookie) => cookie.split(';')[0]!)
    .filter((cookie) => !cookie.endsWith('='))
    .join('; ')

export const ask = (
  port: number,
  method: string,
  path: string,
  { cookie, body }: { cookie?: string; body?: object } = {},
): Promise<Response> =>
  fetch(`http://127.0.0.1:${port}${path}`, {
    method,
    headers: { 'content-type': 'application/json', 'sec-fetch-site': 'same-origin', ...(cookie ? { cookie } : {}) },
    ...(body ? { body: JSON.stringify(body) } : {}),
  })

export async function kill(running: readonly Running[]): Promise<void> {
  for (const { child, ended } of running) {
    child.kill('SIGKILL')
    await ended
  }
}

export const answering = (server: Running) => expect.poll(server.said, SOON).toMatch(/token=/)
