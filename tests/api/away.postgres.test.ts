import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { freePort, type OwnPostgres, startPostgres } from '../helpers/postgres.ts'
import { answering, ask, enter, kill, type Running, sessionOf, startServer } from '../helpers/process.ts'

/** The real server on a real database that is stopped and started under it. */
let postgres: OwnPostgres
let server: Running
const folder = mkdtempSync(join(tmpdir(), 'leesway-away-'))
beforeAll(async () => {
  postgres = await startPostgres()
}, 60_000)
afterAll(async () => {
  await kill([server])
  await postgres.stop()
  rmSync(folder, { recursive: true, force: true })
})

const CELLAR = { name: 'Away', owner: 'Ida', hemisphere: 'south', vintage: 2027, zone: 'Pacific/Auckland' }

it('says in words that the database is away, acknowledges nothing meanwhile, and goes on within five seconds', {
  timeout: 240_000,
}, async () => {
  const port = await freePort()
  server = startServer(['--empty', '--port', String(port)], { DATA_DIR: folder, DATABASE_URL: postgres.url })
  await answering(server)
  const setup = await enter(port, server.said())
  const cookie = sessionOf(await ask(port, 'POST', '/api/cellar', { cookie: setup, body: CELLAR }))
  const acknowledged: string[] = []
  const write = async () => {
    const id = crypto.randomUUID()
    const answer = await ask(port, 'POST', '/api/handovers', { cookie, body: { id, words: 'away' } })
    if (answer.ok) acknowledged.push(id)
    return answer
  }
  const stream = await fetch(`http://127.0.0.1:${port}/api/changes`, { headers: { cookie } })
  const reader = stream.body!.pipeThrough(new TextDecoderStream()).getReader()
  let heard = ''
  void (async () => {
    for (;;) heard += (await reader.read()).value ?? ''
  })().catch(() => {})
  expect((await write()).status).toBe(201)
  // Writers are in the middle of it when it goes.
  const during: number[] = []
  let stopped = false
  const writers = Array.from({ length: 4 }, async () => {
    while (!stopped) during.push((await write()).status)
  })
  await new Promise((later) => setTimeout(later, 500))
  await postgres.halt('SIGQUIT')
  await expect.poll(() => during.includes(503), { timeout: 10_000 }).toBe(true)
  stopped = true
  await Promise.all(writers)
  expect(new Set(during)).toEqual(new Set([201, 503]))
  const refused = await write()
  expect(refused.status).toBe(503)
  expect(refused.headers.get('content-type')).toBe('application/problem+json')
  expect(Number(refused.headers.get('retry-after'))).toBeGreaterThan(0)
  expect(await refused.json()).toMatchObject({ type: 'database-away', title: expect.stringMatching(/does not answer/) })
  expect((await ask(port, 'GET', '/api/handovers', { cookie })).status).toBe(503)
  expect((await ask(port, 'GET', '/readyz')).status).toBe(503)
  expect((await ask(port, 'GET', '/healthz')).status).toBe(200)
  await expect.poll(() => heard).toContain('{"trouble":"database-away"}')
  heard = ''
  await postgres.start()
  const backMs = performance.now()
  await expect.poll(async () => (await write()).status, { timeout: 10_000, interval: 100 }).toBe(201)
  expect(performance.now() - backMs).toBeLessThan(5_000)
  await expect.poll(() => heard).toContain('{"trouble":null}')
  const held = (await (await ask(port, 'GET', '/api/handovers', { cookie })).json()) as { handovers: { id: string }[] }
  const ids = held.handovers.map((h) => h.id)
  expect(acknowledged.filter((id) => !ids.includes(id))).toEqual([])
  expect(new Set(ids).size).toBe(ids.length)
})
