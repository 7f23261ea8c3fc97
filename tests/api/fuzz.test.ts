import { beforeAll, describe, expect, it } from 'vitest'
import { type Call, CHOICES, FRUIT, type Made, makeApp, type ProblemBody } from './make.ts'

let made: Made
let call: Call

beforeAll(async () => {
  made = await makeApp()
  call = made.as('owner')
})

/** What no field should choke on. */
const NASTY: readonly unknown[] = [
  null,
  true,
  '',
  ' ',
  '0',
  -1,
  0,
  1.5,
  1e308,
  -1e308,
  2 ** 53,
  'a\u0000b',
  '\ud800',
  '\u202e\u2028',
  "'; drop table lot; --",
  '{{7*7}}<script>',
  'x'.repeat(5000),
  '0000-01-01',
  '9999-12-31',
  '2027-02-30',
  '0000-01-01T00:00:00Z',
  '9999-12-31T23:59:59Z',
  '-271821-04-20T00:00:00Z',
  [],
  {},
  [null],
  [[[[[[[[]]]]]]]],
  { __proto__: null, constructor: 1 },
  ['x'.repeat(70)],
]

const BODIES: Readonly<Record<string, object>> = {
  'POST /api/people': {
    name: 'Fay',
    role: 'hand',
    post: 'x',
    skills: ['pump'],
    language: 'en',
    shifts: [{ weekdays: [1], startMin: 1, endMin: 2 }],
    fromOn: '2027-03-01',
    untilOn: '2027-06-01',
  },
  'PUT /api/people/hand': { name: 'Fay', role: 'hand', version: 1, skills: ['pump'], shifts: [] },
  'POST /api/people/hand/absences': {
    fromAt: '2027-03-25T00:00:00Z',
    toAt: '2027-03-26T00:00:00Z',
    reason: 'ill',
    version: 1,
  },
  'PUT /api/people/hand/absences/none': {
    fromAt: '2027-03-25T00:00:00Z',
    toAt: '2027-03-26T00:00:00Z',
    reason: 'ill',
    version: 1,
  },
  'POST /api/people/hand/absences/none/remove': { version: 1 },
  'POST /api/vessels': {
    code: 'Z1',
    kind: 'tank',
    volumeL: 100,
    jacket: true,
    insulated: true,
    minC: 1,
    pressureBar: 1,
    row: 'A',
    fills: 1,
    state: 'clean',
    bookings: [{ fromAt: '2027-03-25T00:00:00Z', toAt: '2027-03-26T00:00:00Z', why: 'x' }],
  },
  'POST /api/machines': { code: 'Z1', kind: 'pump', name: 'Z', capacity: 1, bookings: [] },
  'POST /api/lots': {
    code: 'Z1',
    name: 'Z',
    variety: 'V',
    block: 'b',
    place: 'p',
    vintage: 2027,
    pickOn: '2027-03-25',
    fruit: FRUIT,
    choices: CHOICES,
    signed: [],
  },
  'POST /api/lots/check': { choices: CHOICES, fruit: FRUIT, pickOn: '2027-03-25', lot: 'L01' },
  'PUT /api/lots/L01': {
    name: 'Z',
    variety: 'V',
    pickOn: '2027-03-11',
    fruit: FRUIT,
    vesselPins: {},
    endedAt: null,
    version: 1,
  },
  'PUT /api/lots/L01/choices': { choices: CHOICES, signed: [], version: 1 },
  'POST /api/protocols': { name: 'P', choices: CHOICES },
  'POST /api/readings': { readings: [{ lot: 'L01', kind: 'brix', value: 20 }] },
  'POST /api/tasks/L01/press/1/note': {
    opId: crypto.randomUUID(),
    at: '2027-03-21T17:00:00Z',
    people: ['hand'],
    vessels: ['T01'],
    reason: 'r',
    note: 'n',
    readings: [],
    additions: [],
    volumeL: 1,
    lossL: 0,
  },
  'POST /api/tasks/L01/press/1/pin': { startAt: '2027-03-24T20:00:00Z', people: ['hand'] },
  'POST /api/tasks/L01/press/1/preview': { startAt: '2027-03-24T20:00:00Z', andFollows: true },
  'PUT /api/cellar': {
    name: 'C',
    hemisphere: 'south',
    vintage: 2027,
    zone: 'Pacific/Auckland',
    units: 'metric',
    sugarUnit: 'brix',
    language: 'en',
    holidays: [{ on: '2027-03-26', name: 'x' }],
    rates: {},
    version: 1,
  },
  'POST /api/feeds': { kind: 'lot', subject: 'L01', name: 'f', language: 'en', showDoses: true, alarmMin: {} },
  'POST /api/session': { name: 'x', password: 'y' },
  'PUT /api/me/password': { current: 'x', next: 'y' },
}

/** A third of the nasty things for each field, another third for the next: between them the fields meet them all. */
const nastyFor = (nr: number) => NASTY.filter((_, i) => i % 3 === nr % 3)

/** The body with one thing in it, however deep, made nasty. */
function* spoiled(body: object): Generator<object> {
  let nr = 0
  for (const [key, value] of Object.entries(body)) {
    for (const nasty of nastyFor(nr++)) yield { ...body, [key]: nasty }
    const { [key]: _, ...without } = body as Record<string, unknown>
    yield without
    if (Array.isArray(value) && typeof value[0] === 'object' && value[0] !== null) {
      for (const inner of spoiled(value[0] as object)) yield { ...body, [key]: [inner] }
    } else if (typeof value === 'object' && value !== null && !Array.isArray(value)) {
      // Choices and fruit have many fields of few sorts: every fourth is enough.
      let i = 0
      for (const inner of spoiled(value)) if (i++ % 4 === 0) yield { ...body, [key]: inner }
    }
  }
  yield { ...body, unheardOf: 1 }
}

const LEAKS = /node_modules|at \w+ \(|\.ts:\d|select |insert |PGlite|postgres|drizzle/i

describe('whatever is sent', () => {
  it.each(Object.entries(BODIES))('%s answers with a document, never with a breakdown', async (operation, body) => {
    const [method = '', path = ''] = operation.split(' ')
    const wrong: string[] = []
    let refused = 0
    for (const bad of spoiled(body)) {
      const answer = await call<ProblemBody>(method, path, bad)
      if (answer.status >= 400) refused++
      const isNo = answer.status >= 400
      const isDocument = answer.headers.get('content-type') === 'application/problem+json'
      if (answer.status >= 500 || (isNo && (!isDocument || LEAKS.test(answer.text)))) {
        wrong.push(`${answer.status} ${answer.text.slice(0, 200)} for ${JSON.stringify(bad).slice(0, 300)}`)
      }
    }
    expect(wrong.slice(0, 5)).toEqual([])
    expect(refused).toBeGreaterThan(10)
  })

  it('an address made of nasty things is not found, or refused', async () => {
    const wrong: string[] = []
    for (const part of [
      '%00',
      '%ff',
      '..%2f..',
      '%2e%2e',
      'a'.repeat(2000),
      "'",
      '%F0%9F%8D%87',
      '-1',
      '__proto__',
      '%0d%0aset-cookie:x=1',
    ]) {
      for (const path of [
        '/api/lots/',
        '/api/people/',
        '/api/feeds/',
        '/api/export/',
        '/feed/',
        '/api/tasks/L01/press/',
        '/api/readings?lot=',
        '/api/plan?from=',
      ]) {
        for (const method of ['GET', 'DELETE']) {
          const { status, text } = await call(method, path + part)
          if (status < 400 || status >= 500) wrong.push(`${method} ${path}${part}: ${status} ${text.slice(0, 100)}`)
        }
      }
    }
    expect(wrong).toEqual([])
  })
})
