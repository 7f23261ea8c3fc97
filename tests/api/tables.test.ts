import * as fc from 'fast-check'
import Papa from 'papaparse'
import { beforeAll, describe, expect, it } from 'vitest'
import { escapedCell, readTable, writeTable } from '../../api/csv.ts'
import { type Call, type Made, makeApp, type ProblemBody } from './make.ts'

interface Imported {
  readonly written: boolean
  readonly good: number
  readonly bad: number
  readonly errors: readonly string[]
  readonly rows: readonly {
    readonly row: number
    readonly value?: Record<string, unknown>
    readonly errors: readonly { readonly column: string; readonly detail: string }[]
    readonly filled: readonly string[]
  }[]
}

let made: Made
let call: Call

beforeAll(async () => {
  made = await makeApp()
  call = made.as('winemaker')
})

const vesselCodes = async () =>
  (await call<{ vessels: { code: string }[] }>('GET', '/api/vessels')).body.vessels.map((v) => v.code)

describe('a table coming in', () => {
  const MIXED = [
    'code,kind,volumeL,jacket',
    'T50,tank,5000,yes',
    'T51,bathtub,5000,no',
    'T52,tank,-3,no',
    'T01,tank,100,no',
    'T50,tank,100,maybe',
    '',
  ].join('\r\n')

  it('is looked at first: every error of every row, with its column; nothing is written', async () => {
    const before = await vesselCodes()
    const { status, body } = await call<Imported>('POST', '/api/import/vessels?preview=true', MIXED)
    expect(status).toBe(200)
    expect(body).toMatchObject({ written: false, good: 1, bad: 4 })
    expect(body.rows.map((r) => [r.row, r.errors.map((e) => e.column)])).toEqual([
      [2, []],
      [3, ['kind']],
      [4, ['volumeL']],
      [5, ['code']],
      [6, ['jacket']],
    ])
    expect(body.rows[0]!.filled).toContain('pressureBar 0')
    expect(await vesselCodes()).toEqual(before)
  })

  it('is written as a whole or not at all', async () => {
    const before = await vesselCodes()
    const answer = await call<ProblemBody>('POST', '/api/import/vessels?preview=false', MIXED)
    expect(answer.status).toBe(422)
    expect(answer.body.type).toBe('table-not-valid')
    expect(answer.body.errors!.map((e) => e.pointer)).toContain('#/4/volumeL')
    expect(await vesselCodes()).toEqual(before)

    const good = 'code;kind;volumeL\r\nT60;tank;1500,5\r\nT61;cask;900\r\n'
    const written = await call<Imported>('POST', '/api/import/vessels?preview=false', good)
    expect(written.body).toMatchObject({ written: true, good: 2, bad: 0 })
    expect((await vesselCodes()).sort()).toEqual([...before, 'T60', 'T61'].sort())
  })

  it('brings lots with their tasks, and people with their shifts', async () => {
    const lots =
      'code,name,variety,pickOn,tonnes,brix,pH,style\r\nL70,"Hill, low",Riesling,2027-03-28,1.2,20,3.1,crisp\r\n'
    const brought = await call<Imported & { changed: { lotCode: string }[] }>(
      'POST',
      '/api/import/lots?preview=false',
      lots,
    )
    expect(brought.status, brought.text).toBe(200)
    expect(brought.body.changed.some((t) => t.lotCode === 'L70')).toBe(true)
    const people = 'name,role,skills,weekdays,from,to\r\nEve,hand,pump rounds,mon tue sat,06:00,14:30\r\n'
    expect((await call('POST', '/api/import/people?preview=false', people)).status).toBe(200)
    const eve = (await call<{ people: { name: string; shifts: object[] }[] }>('GET', '/api/people')).body.people.find(
      (p) => p.name === 'Eve',
    )!
    expect(eve.shifts).toEqual([{ weekdays: [1, 2, 6], startMin: 360, endMin: 870 }])
  })

  it.each([
    ['no rows', 'code,kind,volumeL\r\n', /no rows/],
    ['a column missing', 'code,kind\r\nT80,tank\r\n', /volumeL is missing/],
    ['a column we do not know', 'code,kind,volumeL,colour\r\nT80,tank,500,red\r\n', /colour is not known/],
    ['nothing at all', '', /no rows/],
  ])('says what is wrong with %s', async (_name, text, words) => {
    const { body } = await call<Imported>('POST', '/api/import/vessels?preview=true', text)
    expect(body.errors.join()).toMatch(words)
  })

  it('says at the row what is wrong with a lot that cannot be', async () => {
    const text = 'code,name,variety,pickOn,tonnes,brix,pH\r\nL80,A,B,2027-02-30,0,60,9\r\n'
    const { body } = await call<Imported>('POST', '/api/import/lots?preview=true', text)
    expect(body.rows[0]!.errors.map((e) => e.column).sort()).toEqual(['brix', 'pH', 'pickOn', 'tonnes'])
  })

  it('must be UTF-8 text', async () => {
    const send = (body: string | Uint8Array<ArrayBuffer>, type: string) =>
      made.app.request('http://cellar.test/api/import/vessels', {
        method: 'POST',
        body,
        headers: { 'content-type': type, 'sec-fetch-site': 'same-origin', cookie: made.cookieOf('owner') },
      })
    expect((await send(new Uint8Array([0x63, 0xe9, 0x0a]), 'text/csv')).status).toBe(422)
    expect((await send('{}', 'application/json')).status).toBe(415)
  })
})

describe('a table going out', () => {
  it('comes back in as it went out', async () => {
    const out = (await call('GET', '/api/export/vessels.csv')).text
    const other = await makeApp({ lots: [] })
    const theirs = new Set(
      (await other.as('owner')<{ vessels: { code: string }[] }>('GET', '/api/vessels')).body.vessels.map((v) => v.code),
    )
    const [head = '', ...lines] = out.split('\r\n')
    const fresh = [head, ...lines.filter((l) => l !== '' && !theirs.has(l.split(',')[0]!))].join('\r\n')
    const answer = await other.as('owner')<Imported>('POST', '/api/import/vessels?preview=false', fresh)
    expect(answer.body).toMatchObject({ written: true, bad: 0, good: 2 })
  })

  it('has every table, and one file with everything in it but secrets', async () => {
    for (const table of [
      'lots',
      'vessels',
      'people',
      'machines',
      'readings',
      'additions',
      'transfers',
      'tasks',
      'log',
    ]) {
      const answer = await call('GET', `/api/export/${table}.csv`)
      expect(answer.status, table).toBe(200)
      expect(answer.headers.get('content-type')).toMatch(/^text\/csv/)
    }
    expect((await call('GET', '/api/export/secrets.csv')).status).toBe(404)
    const all = (await call<Record<string, unknown[]>>('GET', '/api/export.json')).body
    for (const part of ['lots', 'vessels', 'people', 'machines', 'tasks', 'phases', 'choiceVersions']) {
      expect(all[part]!.length, part).toBeGreaterThan(0)
    }
    expect(JSON.stringify(all)).not.toMatch(/tokenHash|passwordHash/)
  })

  it('for any text, no cell starts a formula, and an RFC 4180 reader gets every cell back', () => {
    const cell = fc.oneof(
      fc.string(),
      fc.string({ unit: fc.constantFrom('=', '+', '-', '@', '\t', '\r', '\n', '"', ',', ';', "'", 'a', ' ') }),
      fc.double({ noNaN: true, noDefaultInfinity: true }),
    )
    fc.assert(
      fc.property(fc.array(fc.tuple(cell, cell), { minLength: 1 }), (rows) => {
        const text = writeTable(
          ['one', 'two'],
          rows.map(([one, two]) => ({ one, two })),
        )
        const back = Papa.parse<string[]>(text, { delimiter: ',', newline: '\r\n' }).data.slice(1, -1)
        expect(back).toEqual(rows.map((r) => r.map(escapedCell)))
        for (const value of back.flat()) {
          if (!/^-?\d/.test(value)) expect(value).not.toMatch(/^[=+\-@\t\r\n]/)
        }
      }),
    )
  })

  it('gives our own quote back as it was', () => {
    const text = writeTable(['note'], [{ note: '=1+1' }, { note: '-dry' }, { note: "it's" }])
    expect(readTable(text).rows.map((r) => r.note)).toEqual(['=1+1', '-dry', "it's"])
  })
})
