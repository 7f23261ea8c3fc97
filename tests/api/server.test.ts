import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { emptyServerDb, KIND } from '../helpers/db.ts'
import { freePort } from '../helpers/postgres.ts'
import { enter, kill, type Running, SOON, startServer } from '../helpers/process.ts'

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
  await kill(running.splice(0))
  await drop()
  rmSync(folder, { recursive: true, force: true })
})

function start(args: readonly string[], env: Readonly<Record<string, string>> = {}): Running {
  const one = startServer(args, { DATA_DIR: folder, DATABASE_URL: url, ...env })
  running.push(one)
  return one
}

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
