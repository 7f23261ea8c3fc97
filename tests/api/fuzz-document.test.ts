import { beforeAll, expect, it } from 'vitest'
import { startSession } from '../../api/auth.ts'
import { Temporal } from '../../api/time.ts'
import { malformed } from '../helpers/malformed.ts'
import { type ApiDocument, type Operation, operationsOf } from '../helpers/operations.ts'
import { type Made, makeApp, NOW, ORIGIN } from './make.ts'

/** `npm run fuzz` asks for 120 of each operation and three seeds; with every change a few. */
const INPUTS = Number(process.env.FUZZ_INPUTS ?? 8)
const SEEDS = Number(process.env.FUZZ_SEEDS ?? 1)
const SHOWN = 40

/** What must never be seen in an answer: where the code lies, what it asked the database. */
const LEAKS = /node_modules|\bat \w+ \(|\.ts:\d|\bselect |\binsert into|PGlite|postgres|drizzle|stack/i

let made: Made
let doc: ApiDocument
let operations: readonly Operation[]

beforeAll(async () => {
  made = await makeApp()
  doc = (await made.as(null)<ApiDocument>('GET', '/api/openapi.json')).body
  operations = operationsOf(doc)
})

it('nothing that the document rules out is taken, nothing breaks, nothing leaks', {
  timeout: 3_600_000,
}, async () => {
  const wrong: string[] = []
  let asked = 0
  for (let seed = 1; seed <= SEEDS; seed++) {
    for (const [nr, operation] of operations.entries()) {
      const { secret } = await startSession(
        made.db,
        { cellarId: made.cellarId, id: 'owner' },
        'fuzz',
        Temporal.Instant.from(NOW),
      )
      const inputs = malformed(doc, operation, seed * 10_000 + nr)
      for (let i = 0; i < INPUTS; i++) {
        const input = inputs.next().value
        const response = await made.app.request(`${ORIGIN}${input.path}`, {
          method: input.method,
          headers: { ...input.headers, cookie: `session=${secret}` },
          ...(input.body === undefined ? {} : { body: input.body }),
        })
        const text = await response.text()
        asked++
        const isNo = response.status >= 400 && response.status < 500
        const isDocument = response.headers.get('content-type') === 'application/problem+json'
        if (!isNo || !isDocument || LEAKS.test(text)) {
          wrong.push(
            `${operation.name}: ${response.status} for ${input.why}: ${input.path.slice(0, 80)} ${(input.body ?? '').slice(0, 200)} -> ${text.slice(0, 160)}`,
          )
        }
      }
    }
  }
  console.log(`${operations.length} operations, ${asked} malformed requests, ${wrong.length} answered wrongly`)
  expect(wrong.slice(0, SHOWN)).toEqual([])
})
