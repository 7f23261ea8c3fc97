import { type ChildProcess, spawn } from 'node:child_process'
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { emptyServerDb, KIND } from '../helpers/db.ts'
import { freePort } from '../helpers/postgres.ts'

/** The real process, as `npm start` runs it once the screens are built. */
interface Running {
  readonly child: ChildProcess
  readonly said: () => string
  readonly ended: Promise<number | null>
}

let folder = ''
let url: string | undefined
let drop: () => Promise<void> = async () => {}
const running: Running[] = []

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'leesway-server-'))
  if (KIND === 'postgres') {
    const made = await emptyServerDb()
    url = made.url
    drop = made.drop
  }
})

afterEach(async () => {
  for (const { child, ended } of running.splice(0)) {
    child.kill('SIGKILL')
    await ended
  }
  await drop()
  rmSync(folder, { recursive: true, force: true })
})

function start(args: readonly string[], env: Readonly<Record<string, string>> = {}): Running {
  const { DATABASE_URL: _, HOST: __, PORT: ___, PUBLIC_URL: ____, ...mine } = process.env
  const child = spawn(process.execPath, ['--import', 'tsx', 'api/server.ts', ...args], {
    cwd: join(import.meta.dirname, '../..'),
    env: { ...mine, DATA_DIR: folder, LOG_LEVEL: 'warn', ...(url ? { DATABASE_URL: url } : {}), ...env },
    stdio: ['ignore', 'pipe', 'pipe'],
  })
  let said = ''
  const hear = (chunk: Buffer) => {
    said += chunk.toString()
  }
  child.stdout.on('data', hear)
  child.stderr.on('data', hear)
  const ended = new Promise<number | null>((done) => child.once('exit', (code) => done(code)))
  const one = { child, said: () => said, ended }
  running.push(one)
  return one
}

const SOON = { timeout: 90_000, interval: 100 }

describe('the server', () => {
  it('starts empty, says where it is and how to begin, answers, and stops when asked', {
    timeout: 120_000,
  }, async () => {
    const port = await freePort()
    const server = start(['--empty', '--port', String(port)])
    await expect.poll(server.said, SOON).toMatch(/welcome\?token=/)
    expect(server.said()).toContain(`Leesway runs at http://127.0.0.1:${port}`)
    expect(server.said()).toContain('Make your cellar')
    const ready = await fetch(`http://127.0.0.1:${port}/readyz`)
    expect(ready.status).toBe(200)
    const me = await fetch(`http://127.0.0.1:${port}/api/me`)
    expect(await me.json()).toMatchObject({ person: null, setup: true })
    server.child.kill('SIGTERM')
    expect(await server.ended).toBe(0)
    await expect(fetch(`http://127.0.0.1:${port}/healthz`)).rejects.toThrow()
  })

  it('lets no other machine in before an owner has a password', { timeout: 120_000 }, async () => {
    const server = start(['--empty', '--port', String(await freePort())], { HOST: '0.0.0.0' })
    expect(await server.ended).toBe(1)
    expect(server.said()).toMatch(/no owner has a password yet/)
  })

  it('says in plain words what it does not understand', async () => {
    const wrong = start(['--empty'], { PORT: 'eighty' })
    expect(await wrong.ended).toBe(1)
    expect(wrong.said().trim()).toBe('PORT must be a whole number from 0 to 65535')
  })

  it('ends open streams when it stops, and two of them hear each other where there is a server database', {
    timeout: 180_000,
  }, async () => {
    const [one, two] = [await freePort(), await freePort()]
    const first = start(['--demo', '--at', '2027-03-22', '--port', String(one)])
    await expect.poll(first.said, SOON).toMatch(/token=/)
    const cookie = await enter(one, first.said())
    const port = KIND === 'postgres' ? two : one
    if (KIND === 'postgres') {
      const second = start(['--demo', '--at', '2027-03-22', '--port', String(two)])
      await expect.poll(second.said, SOON).toMatch(/token=/)
    }
    const stream = await fetch(`http://127.0.0.1:${port}/api/changes`, { headers: { cookie } })
    const reader = stream.body!.pipeThrough(new TextDecoderStream()).getReader()
    const heard: string[] = []
    const listening = (async () => {
      for (;;) {
        const { done, value } = await reader.read()
        if (done) return
        heard.push(value)
      }
    })().catch(() => {})
    await expect.poll(() => heard.length, SOON).toBeGreaterThan(0)
    const before = heard.length
    const reading = await fetch(`http://127.0.0.1:${one}/api/readings`, {
      method: 'POST',
      headers: { cookie, 'content-type': 'application/json', 'sec-fetch-site': 'same-origin' },
      body: JSON.stringify({ readings: [{ lot: 'L01', kind: 'temp', value: 14 }] }),
    })
    expect(reading.status, await reading.text()).toBe(201)
    await expect.poll(() => heard.length, SOON).toBeGreaterThan(before)
    first.child.kill('SIGTERM')
    expect(await first.ended).toBe(0)
    if (KIND !== 'postgres') await listening
  })
})

async function enter(port: number, said: string): Promise<string> {
  const answer = await fetch(`http://127.0.0.1:${port}/api/session`, {
    method: 'POST',
    headers: { 'content-type': 'application/json', 'sec-fetch-site': 'same-origin' },
    body: JSON.stringify({ link: /token=([A-Za-z0-9_-]+)/.exec(said)![1] }),
  })
  return answer.headers.getSetCookie()[0]!.split(';')[0]!
}
