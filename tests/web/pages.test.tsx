import { describe, expect, it } from 'vitest'
import { choices as schema } from '../../api/protocol/choices.ts'
import { defaultsFor, differences } from '../../api/protocol/defaults.ts'
import { NOTES } from '../../api/protocol/notes.ts'
import type { TaskWire } from '../../api/wire.ts'
import { createFormat, msOf } from '../../web/format.ts'
import { parseLines } from '../../web/pages/bench-fields.tsx'
import { FLAG_LABELS, NUMBER_ANSWERS } from '../../web/pages/choice-numbers.ts'
import { allFound, unsigned } from '../../web/pages/conflict-notes.tsx'
import { sugarOfReading } from '../../web/pages/curve-rows.ts'
import { partsOfDay } from '../../web/pages/day-parts.ts'
import { sayDays, shiftMin, workMin } from '../../web/pages/hours.ts'
import { nextCode } from '../../web/pages/new-lot.tsx'
import { codesOf } from '../../web/pages/quick-vessels.tsx'
import { sayAnswer } from '../../web/pages/say-answer.ts'
import { kindsFor, lastReading, readingInput } from '../../web/readings.ts'

const ZONE = 'Pacific/Auckland'

const task = (key: string, startAt: string, endAt: string, more: Partial<TaskWire> = {}): TaskWire =>
  ({
    key,
    startAt,
    endAt,
    latestAt: endAt,
    earliestAt: startAt,
    state: 'planned',
    late: false,
    broken: [],
    ...more,
  }) as TaskWire

describe('the day’s list', () => {
  const on = '2027-03-23'
  const nowMs = msOf('2027-03-22T21:00:00Z')
  const parts = (tasks: readonly TaskWire[]) => {
    const found = partsOfDay(tasks, on, ZONE, nowMs)
    return Object.fromEntries(
      Object.entries(found).map(([name, list]) => [name, list.map((entry: TaskWire) => entry.key)]),
    )
  }

  it('puts late work first, then what is begun, then what cannot wait until tomorrow, by the minute it expires', () => {
    expect(
      parts([
        task('rest', '2027-03-22T20:00:00Z', '2027-03-22T22:00:00Z', { latestAt: '2027-03-25T00:00:00Z' }),
        task('soon', '2027-03-23T01:00:00Z', '2027-03-23T02:00:00Z', { latestAt: '2027-03-23T05:00:00Z' }),
        task('sooner', '2027-03-23T02:00:00Z', '2027-03-23T03:00:00Z', { latestAt: '2027-03-23T03:00:00Z' }),
        task('late', '2027-03-21T01:00:00Z', '2027-03-21T02:00:00Z', { late: true }),
        task('done', '2027-03-22T19:00:00Z', '2027-03-22T20:00:00Z', { state: 'done', doneAt: '2027-03-22T20:00:00Z' }),
        task('begun', '2027-03-10T02:00:00Z', '2027-04-14T03:00:00Z', { state: 'underway' }),
        task('tomorrow', '2027-03-23T19:00:00Z', '2027-03-23T20:00:00Z'),
      ]),
    ).toEqual({ late: ['late'], underway: ['begun'], before: ['sooner', 'soon'], rest: ['rest'], done: ['done'] })
  })

  it('does not show again what was done on another day', () => {
    expect(
      parts([
        task('yesterday', '2027-03-21T20:00:00Z', '2027-03-21T21:00:00Z', {
          state: 'done',
          doneAt: '2027-03-21T21:00:00Z',
        }),
      ]).done,
    ).toEqual([])
  })
})

describe('the choices form', () => {
  it('has a control for every answer of the schema', () => {
    const shown = new Set(NOTES.flatMap((note) => note.keys))
    const reached = (key: string) =>
      key === 'style' ||
      key === 'vesselParts' ||
      key === 'finishOn' ||
      key in NUMBER_ANSWERS ||
      key in FLAG_LABELS ||
      NOTES.some((note) => Object.keys(note.options).includes(key))
    const keys = Object.keys(schema.shape)
    expect(keys.filter((key) => key !== 'style' && !shown.has(key as never))).toEqual([])
    expect(keys.filter((key) => !reached(key))).toEqual([])
  })

  it('keeps the limits of the schema for every number', () => {
    for (const [key, answer] of Object.entries(NUMBER_ANSWERS)) {
      const field = schema.shape[key as keyof typeof schema.shape]
      for (const edge of [answer.min, answer.max]) expect(field.safeParse(edge).success, `${key} ${edge}`).toBe(true)
      for (const past of [answer.min - 0.001, answer.max + 0.001])
        expect(field.safeParse(past).success, `${key} ${past}`).toBe(false)
    }
  })

  it('says each answer in words', () => {
    const textured = defaultsFor('textured')
    expect(sayAnswer('yeast', textured.yeast)).toBe('Ambient')
    expect(sayAnswer('vesselParts', textured.vesselParts)).toBe('70 % Used barrel, 30 % New barrel')
    expect(sayAnswer('oakNewShare', 0.3)).toBe('30 %')
    expect(sayAnswer('fermentTempC', 13)).toBe('13 °C')
    expect(sayAnswer('finishOn', undefined)).toBe('–')
    for (const row of differences(defaultsFor('crisp'), textured))
      expect(sayAnswer(row.key, row.chosen)).not.toContain('[object')
  })
})

describe('conflicts on a form', () => {
  const block = { id: 'K01', level: 'block', reason: '', wayOut: '', fields: [] } as const
  const sum = { ...block, id: 'K34' }
  const warn = { ...block, id: 'K03', level: 'warn' } as const

  it('take the day’s sums from the server and the rest from here, gravest first, each once', () => {
    expect(allFound([warn, block], [block, sum, { ...block, id: 'K09' }]).map((found) => found.id)).toEqual([
      'K01',
      'K34',
      'K03',
    ])
  })

  it('are in the way until a reason is signed', () => {
    expect(unsigned([block, warn], []).map((found) => found.id)).toEqual(['K01'])
    expect(unsigned([block, warn], [{ conflict: 'K01', reason: '  ' }]).map((found) => found.id)).toEqual(['K01'])
    expect(unsigned([block, warn], [{ conflict: 'K01', reason: 'small trial' }])).toEqual([])
  })
})

describe('readings', () => {
  const brix = createFormat({ zone: ZONE, units: 'metric', sugarUnit: 'brix', language: 'en' })
  const oechsle = createFormat({ zone: ZONE, units: 'us', sugarUnit: 'oechsle', language: 'en' })

  it('ask for one hydrometer, the cellar’s', () => {
    expect(kindsFor(['density', 'brix', 'temp'], brix)).toEqual(['brix', 'temp'])
    expect(kindsFor(['brix', 'density', 'temp'], oechsle)).toEqual(['density', 'temp'])
  })

  it('are stored in the unit of their kind, whatever is typed', () => {
    const density = readingInput('density', oechsle)
    // 80 Oe is SG 1.080 by definition; density at 20 C is SG x 998.204 = 1078.1 kg/m3.
    expect(density.stored(80)).toBeCloseTo(1078.1, 1)
    expect(density.shown(density.stored(80))).toBeCloseTo(80, 1)
    expect(readingInput('temp', oechsle).stored(59)).toBeCloseTo(15, 9)
  })

  it('leave out what a later entry corrects', () => {
    const reading = (id: string, takenAt: string, more = {}) => ({
      id,
      lotId: 'L01',
      kind: 'brix' as const,
      value: 10,
      takenAt,
      ...more,
    })
    const found = lastReading(
      [reading('wrong', '2027-03-22T05:00:00Z'), reading('right', '2027-03-22T04:00:00Z', { correctsId: 'wrong' })],
      'brix',
    )
    expect(found?.id).toBe('right')
  })

  it('tell the last hydrometer reading in the scale that is asked for', () => {
    const readings = [
      { id: 'a', lotId: 'L01', kind: 'brix' as const, value: 21, takenAt: '2027-03-12T05:00:00Z' },
      // SG 1.040 is 9.99 Brix; at 20 C that is 1.040 x 998.204 = 1038.1 kg/m3.
      { id: 'b', lotId: 'L01', kind: 'density' as const, value: 1038.1, takenAt: '2027-03-20T05:00:00Z' },
    ]
    expect(lastReading(readings, 'brix')?.value).toBeCloseTo(9.99, 1)
    expect(lastReading(readings, 'density')?.value).toBe(1038.1)
    expect(lastReading(readings.slice(0, 1), 'density')?.kind).toBe('density')
    expect(lastReading(readings, 'pH')).toBeUndefined()
  })

  it('become sugar left, or nothing where it cannot be told', () => {
    expect(sugarOfReading({ kind: 'glucose-fructose', value: 1.5 }, 21)).toBe(1.5)
    const half = sugarOfReading({ kind: 'brix', value: 8 }, 21)
    expect(half).toBeGreaterThan(70)
    expect(half).toBeLessThan(120)
    expect(sugarOfReading({ kind: 'pH', value: 3.2 }, 21)).toBeUndefined()
  })
})

describe('the crew', () => {
  const person = {
    shifts: [
      { weekdays: [1, 2, 3, 4, 5], startMin: 420, endMin: 960 },
      { weekdays: [], startMin: 0, endMin: 0, fromOn: '2027-04-02', untilOn: '2027-04-02' },
    ],
    absences: [{ id: 'ill', fromAt: '2027-03-22T22:00:00Z', toAt: '2027-03-23T06:00:00Z', reason: 'ill' }],
  }
  const min = (on: string, weekday: number) => shiftMin(person, on, weekday, msOf(`${on}T00:00:00+13:00`))

  it('has the hours of the last rule that fits, less the hours away', () => {
    expect(min('2027-03-22', 1)).toBe(540)
    expect(min('2027-03-27', 6)).toBe(0)
    expect(min('2027-04-02', 5)).toBe(0)
    // Away from 11:00 to 19:00 on the 23rd: 07:00 to 11:00 is left.
    expect(min('2027-03-23', 2)).toBe(240)
  })

  it('counts what one pair of hands does at once only once', () => {
    // Kim presses from 08:00 for three hours and doses the juice from 09:00 for half an hour within it; from 10:30 an
    // hour and a half of loading: 08:00 to 12:00 are four hours. What was left out takes none.
    const one = (startAt: string, crewMin: number, more = {}) => ({
      ...task('x', `2027-03-22T${startAt}:00Z`, '', { people: ['kim'], crewMin, ...more }),
    })
    const minutes = workMin(
      [one('08:00', 180), one('10:30', 90), one('09:00', 30), one('15:00', 60, { state: 'skipped' })],
      (moment) => moment.slice(0, 10),
    )
    expect([...minutes]).toEqual([['kim 2027-03-22', 240]])
  })

  it('says runs of days as runs', () => {
    expect(sayDays([1, 2, 3, 4, 5])).toBe('Mon–Fri')
    expect(sayDays([1, 3, 6])).toBe('Mon, Wed, Sat')
  })
})

describe('codes and lists', () => {
  it('offer the next free code', () => {
    expect(nextCode(['L01', 'L12', 'X99'])).toBe('L13')
    expect(nextCode([])).toBe('L01')
  })

  it('number like vessels', () => {
    expect(codesOf('T', 3)).toEqual(['T01', 'T02', 'T03'])
    expect(codesOf('A', 0)).toEqual([])
  })

  it('read a line a row, in the order of the columns', () => {
    const columns = [
      ['hour', { type: 'number' }],
      ['name', { type: 'string' }],
    ] as const
    expect(parseLines('0, first\n\n12; second\n24', columns)).toEqual([
      { hour: 0, name: 'first' },
      { hour: 12, name: 'second' },
      { hour: 24 },
    ])
    expect(parseLines('a\nb', [])).toEqual(['a', 'b'])
  })
})
