import * as fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { READING_KINDS } from '../../api/protocol/facts.ts'
import { STEPS } from '../../api/protocol/steps.ts'
import type { TaskWire } from '../../api/wire.ts'
import { isSample, samplesWaiting, untilOf } from '../../web/floor/lab-queue.ts'
import { isTopping, litresBody, MOVES, movesLitres, offPlan } from '../../web/floor/litres.ts'
import { sheetBody, timeOf } from '../../web/floor/sheet-row.ts'
import { digitsOf, inWalkingOrder, isVessel, tasksOf, vesselOfTag, whoseOf } from '../../web/floor/walk.ts'
import { createFormat } from '../../web/format.ts'
import { inWords } from '../../web/offline/in-words.ts'
import { toldInWords } from '../../web/offline/instead.ts'
import { OLD_AFTER_H, oldOf } from '../../web/offline/kept.ts'
import type { Row } from '../../web/offline/operation.ts'
import { withOperations } from '../../web/offline/operation.ts'
import type { Others } from '../../web/offline/shown.ts'
import { partsOfDay } from '../../web/pages/day-parts.ts'

const task = (own: Partial<TaskWire>): TaskWire => ({
  key: 'L01/check-ferment/1',
  lotId: 'L01',
  lotCode: 'L01',
  lotName: 'Low rows',
  step: 'check-ferment',
  family: 'check',
  name: 'Read density and temperature',
  detail: '',
  startAt: '2027-03-21T18:00:00Z',
  endAt: '2027-03-21T18:15:00Z',
  grain: 'minute',
  crewMin: 15,
  people: ['kim'],
  crew: 1,
  fromVessels: ['T01'],
  toVessels: [],
  machines: [],
  state: 'due',
  late: false,
  earliestAt: '2027-03-21T18:00:00Z',
  latestAt: '2027-03-21T20:00:00Z',
  slackMin: 120,
  forecast: false,
  pinned: false,
  doses: [],
  records: [],
  caution: '',
  materials: [],
  why: '',
  whyNotLater: '',
  prev: [],
  next: [],
  conflicts: [],
  broken: [],
  revision: 1,
  changedAt: '2027-03-21T00:00:00Z',
  ...own,
})

const format = createFormat({ zone: 'Pacific/Auckland', units: 'metric', sugarUnit: 'brix', language: 'en' }, 'en')

describe('the order of a day', () => {
  it('walks the vessels of one half hour by number, T2 before T10, and keeps earlier windows first', () => {
    const late = task({ key: 'a', fromVessels: ['T01'], startAt: '2027-03-21T19:00:00Z' })
    const ten = task({ key: 'b', fromVessels: ['T10'], startAt: '2027-03-21T18:00:00Z' })
    const two = task({ key: 'c', fromVessels: ['T2'], startAt: '2027-03-21T18:20:00Z' })
    expect(inWalkingOrder([late, ten, two]).map((one) => one.key)).toEqual(['c', 'b', 'a'])
  })

  it('for any order of input is the same', () => {
    const some = ['T3', 'T1', 'A2', 'A11', 'T2'].map((code, i) => task({ key: `k${i}`, fromVessels: [code] }))
    const wanted = inWalkingOrder(some).map((one) => one.key)
    fc.assert(
      fc.property(fc.shuffledSubarray(some, { minLength: some.length }), (shuffled) => {
        expect(inWalkingOrder(shuffled).map((one) => one.key)).toEqual(wanted)
      }),
    )
  })

  it('puts what cannot wait until the next morning apart, by the minute it runs out', () => {
    // 22 March in Auckland ends at 11:00 UTC.
    const soon = task({ key: 'soon', latestAt: '2027-03-22T03:00:00Z' })
    const sooner = task({ key: 'sooner', latestAt: '2027-03-22T02:00:00Z' })
    const waits = task({ key: 'waits', latestAt: '2027-03-24T02:00:00Z' })
    const nowMs = Date.parse('2027-03-21T17:00:00Z')
    const parts = partsOfDay([soon, waits, sooner], '2027-03-22', 'Pacific/Auckland', nowMs)
    expect(parts.before.map((one) => one.key)).toEqual(['sooner', 'soon'])
    expect(parts.rest.map((one) => one.key)).toEqual(['waits'])
  })

  it('is one person’s, with what that person took; a team’s; a place’s', () => {
    const kims = task({ key: 'kims' })
    const taken = task({ key: 'taken', people: ['sam'], taken: { personId: 'kim', at: '2027-03-21T18:01:00Z' } })
    const sams = task({ key: 'sams', people: ['sam'], fromVessels: ['A1'] })
    const crowd = {
      people: [
        { id: 'kim', post: 'press operator' },
        { id: 'sam', post: 'cellar lead' },
      ],
      vessels: [
        { code: 'T01', kind: 'tank' as const },
        { code: 'A1', kind: 'barrel' as const, row: 'A' },
      ],
    }
    const keys = (whose: string) => tasksOf([kims, taken, sams], whoseOf(whose), crowd).map((one) => one.key)
    expect(keys('kim')).toEqual(['kims', 'taken'])
    expect(keys('team:cellar lead')).toEqual(['taken', 'sams'])
    expect(keys('place:row A')).toEqual(['sams'])
    expect(keys('')).toEqual(['kims', 'taken', 'sams'])
  })
})

describe('the right vessel', () => {
  it.each([
    ['T07', '07', true],
    ['T07', '7', true],
    ['T07', 't07', true],
    ['T07', '17', false],
    ['B7', '07', true],
    ['T112', '12', true],
    ['AMPHORA', 'amphora', true],
    ['T07', '', false],
  ])('%s is confirmed by %j: %s', (code, typed, fits) => {
    expect(isVessel([code], typed)).toBe(fits)
  })

  it('is known by the address on its tag, and no other address is a tag', () => {
    expect(vesselOfTag('https://cellar.example/v/T07')).toBe('T07')
    expect(vesselOfTag('https://cellar.example/v/T07/more')).toBeUndefined()
    expect(vesselOfTag('WIFI:S:cellar;;')).toBeUndefined()
    expect(digitsOf('T7')).toBe('07')
  })
})

describe('litres at the end of a move', () => {
  const rack = task({ step: 'rack-juice', fromVessels: ['T02'], toVessels: ['T05'], volumeL: 3000 })
  const told = { arrivedL: {}, sourceCode: '', otherCodes: [] }

  it('arrive in the vessel as planned, in the one they really went to, or vessel by vessel', () => {
    expect(litresBody(rack, { ...told, arrivedL: { '': 2950 } })).toEqual({ volumeL: 2950, vessels: ['T05'] })
    expect(litresBody(rack, { ...told, arrivedL: { '': 2950 }, otherCodes: ['T06'] })).toEqual({
      vesselsMoved: [{ from: 'T02', to: 'T06', volumeL: 2950 }],
    })
    expect(litresBody(rack, { ...told, arrivedL: { T05: 2000, T06: 900 } })).toEqual({
      vesselsMoved: [
        { from: 'T02', to: 'T05', volumeL: 2000 },
        { from: 'T02', to: 'T06', volumeL: 900 },
      ],
    })
    expect(litresBody(rack, told)).toEqual({})
  })

  it('of a topping are shared out over the barrels and never told as the volume of the lot', () => {
    const top = task({ step: 'top-barrels', fromVessels: ['A1', 'A2'] })
    expect(isTopping(top)).toBe(true)
    expect(movesLitres(top)).toBe(false)
    expect(litresBody(top, { ...told, arrivedL: { '': 3 }, sourceCode: 'K1' })).toEqual({
      vesselsMoved: [
        { from: 'K1', to: 'A1', volumeL: 1.5 },
        { from: 'K1', to: 'A2', volumeL: 1.5 },
      ],
    })
    expect(litresBody(top, { ...told, arrivedL: { '': 3 } })).toEqual({})
  })

  it('for any litres, what is shared out adds up', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 20_000 }), fc.integer({ min: 1, max: 30 }), (volumeL, n) => {
        const codes = Array.from({ length: n }, (_, i) => `A${i}`)
        const top = task({ step: 'top-barrels', fromVessels: codes })
        const body = litresBody(top, { ...told, arrivedL: { '': volumeL }, sourceCode: 'K1' })
        const parts = body.vesselsMoved as readonly { readonly volumeL: number }[]
        // Each part is rounded to a millilitre.
        expect(Math.abs(parts.reduce((sum, part) => sum + part.volumeL, 0) - volumeL)).toBeLessThanOrEqual(
          n * 0.0005 + 1e-9,
        )
      }),
    )
  })

  it('are asked of the kinds of work that move wine, as the catalogue has them, and of no other', () => {
    expect([...MOVES].sort()).toEqual(
      STEPS.filter((step) => step.movesVolume)
        .map((step) => step.id)
        .sort(),
    )
    expect(movesLitres(task({ step: 'clean-tank', toVessels: ['T05'] }))).toBe(false)
  })

  // 1 % of 3,000 L is 30 L; 3 % of it, where all goes into wood, 90 L.
  it('want a word beyond 1 % of the plan, beyond 3 % where all of it goes into wood', () => {
    expect(offPlan(2970, 3000, ['tank'])).toEqual({ toleranceL: 30 })
    expect(offPlan(2969, 3000, ['tank'])).toEqual({ toleranceL: 30, underL: 31 })
    expect(offPlan(3031, 3000, ['tank', 'barrel'])).toEqual({ toleranceL: 30, overL: 31 })
    expect(offPlan(2910, 3000, ['barrel', 'puncheon'])).toEqual({ toleranceL: 90 })
    expect(offPlan(2909, 3000, ['barrel', 'keg'])).toEqual({ toleranceL: 90, underL: 91 })
    expect(offPlan(3031, 3000, [undefined]).overL).toBe(31)
    expect(offPlan(0, 3000, ['tank'])).toEqual({ toleranceL: 30 })
  })
})

describe('a row of paper', () => {
  it.each([
    ['7', '07:00'],
    ['715', '07:15'],
    ['0715', '07:15'],
    ['7:15', '07:15'],
    ['7.15', '07:15'],
    ['7h15', '07:15'],
    ['24', undefined],
    ['7:75', undefined],
    ['soon', undefined],
  ])('%j is %s', (typed, time) => {
    expect(timeOf(typed)).toBe(time)
  })

  const blank = { time: '7', caution: true, values: {}, amounts: {}, batches: {}, litres: '', source: '', note: '' }
  const when = { atLocal: '2027-03-22T07:00', people: ['kim'] }
  const dose = { product: 'bentonite', amount: 400, unit: 'g' as const, volumeL: 1000, arithmetic: '', basis: '' }

  it('tells a blank dose as planned, a typed one as it went in, and a nought as none', () => {
    const dosed = task({ doses: [dose] })
    const amounts = (typed: string) =>
      (
        sheetBody(dosed, { ...blank, amounts: { bentonite: typed } }, when, format).additions as
          | { amount: number }[]
          | undefined
      )?.map((one) => one.amount)
    expect(amounts('')).toEqual([400])
    expect(amounts('410,5')).toEqual([410.5])
    expect(amounts('0')).toBeUndefined()
  })

  it('tells the readings of a lot as readings, those of the house in words', () => {
    const read = { ...blank, values: { temp: '15,5' } }
    expect(sheetBody(task({ records: ['temp'] }), read, when, format)).toEqual({
      ...when,
      readings: [{ kind: 'temp', value: 15.5, confirmed: true }],
    })
    expect(sheetBody(task({ records: ['temp'], lotId: null }), read, when, format)).toEqual({
      ...when,
      note: 'Temperature 15.5 °C',
    })
  })
})

describe('samples that wait', () => {
  it('come by urgency: stop points, dryness, SO2 before bottling, malic; what runs out today before all', () => {
    const nowMs = Date.parse('2027-03-21T18:00:00Z')
    const sample = (step: string, latestAt = '2027-04-01T00:00:00Z') =>
      task({ key: step, step, records: ['malic'], latestAt })
    const waiting = samplesWaiting(
      [
        sample('mlf-check'),
        sample('juice-panel', '2027-03-21T20:00:00Z'),
        sample('pre-bottling'),
        sample('check-dry'),
        sample('watch-stop'),
        task({ step: 'watch-stop', key: 'done', records: ['malic'], state: 'done' }),
      ],
      nowMs,
    )
    expect(waiting.map((one) => one.key)).toEqual([
      'juice-panel',
      'watch-stop',
      'check-dry',
      'pre-bottling',
      'mlf-check',
    ])
    expect(untilOf(task({ latestAt: '2027-03-30T20:00:00Z' }), nowMs)).toBe('2027-03-30T20:00:00Z')
    expect(untilOf(task({ latestAt: '2028-01-08T09:00:00Z' }), nowMs)).toBeUndefined()
    expect(isSample(task({ step: 'press', records: ['pH'] }))).toBe(false)
  })
})

describe('what the phone kept', () => {
  const H = 3_600_000

  it('is too old to weigh by after half a day, told by the clock of the cellar', () => {
    // The cellar's clock stands 100 h ahead of the phone's.
    expect(oldOf(0, OLD_AFTER_H * H, 112 * H)).toBeUndefined()
    expect(oldOf(0, 13 * H, 113 * H)).toBe(100 * H)
  })

  it('stands as it was told until the task has been read again', () => {
    const told = (own: object) => ({
      opId: 'a',
      kind: 'done' as const,
      taskKey: task({}).key,
      label: '',
      occurredAt: '2027-03-22T09:00:00Z',
      value: {},
      ...own,
    })
    const stateOf = (own: object, readMs: number) =>
      withOperations(task({ state: 'due' }), [told(own) as never], readMs).state
    expect(stateOf({ state: 'phone' }, 5)).toBe('done')
    expect(stateOf({ state: 'stored', answeredMs: 6 }, 5)).toBe('done')
    expect(stateOf({ state: 'stored', answeredMs: 4 }, 5)).toBe('due')
    expect(stateOf({ state: 'refused', answeredMs: 6 }, 5)).toBe('due')
  })
})

describe('what was told, in words', () => {
  it('reads as somebody would write it, without the bytes of a picture', () => {
    const told = {
      atLocal: '2027-03-22T09:42',
      readings: [
        { kind: 'temp', value: 14.5, confirmed: true },
        { kind: 'density', value: 1042 },
      ],
      additions: [{ product: 'bentonite', amount: 600, unit: 'g', treatedL: 1200, batchNo: 'B-7' }],
      note: 'smells clean',
      base64: 'AAAA',
    }
    expect(inWords(told)).toBe(
      'at: 2027-03-22T09:42; measured: Temperature 14.5 °C, Density 1042 kg/m³; put in: bentonite 600 g in 1200 L batch B-7; note: smells clean',
    )
    expect(inWords({})).toBe('')
    const litres = { volumeL: 0, lossL: 2, vesselsMoved: [{ from: 'T01', to: 'B07', volumeL: 9.5, lossL: 0.5 }] }
    expect(inWords(litres)).toBe('moved: 0 L; lost: 2 L; moved: 9.5 L from T01 to B07 lost 0.5 L')
  })

  it('gives every reading its unit, but those that have none', () => {
    const told = READING_KINDS.map((kind) => ({ kind, value: 3 }))
    const bare = told.filter((one) => !/ 3 \S/.test(inWords({ readings: [one] })))
    expect(bare.map((one) => one.kind)).toEqual(['pH', 'smell'])
  })

  it('goes on on the next page where it is long: nothing of it is cut', () => {
    const op = { opId: 'o1', value: { note: `begins ${'x'.repeat(4_000)} ends` } } as unknown as Others
    const owed = [{ opId: 'o1', op: { kind: 'note', value: op.value } }] as unknown as readonly Row[]
    const pages = toldInWords([op], owed, 'Told by somebody', () => 'Sam')
    const words = pages.map((page) => String(page.body?.words))
    // The server takes 2,000 signs; 4,000 and a little more are three pages under their heads.
    expect([words.length, words.every((one) => one.length <= 2_000)]).toEqual([3, true])
    expect(words.map((one) => one.replace('Told by somebody\n', '')).join('')).toBe(`Sam. note: ${op.value.note}`)
  })
})
