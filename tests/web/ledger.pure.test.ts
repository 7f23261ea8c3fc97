import { describe, expect, it } from 'vitest'
import type { ContentWire, StockWire, TraceWire } from '../../api/wire.ts'
import { createFormat } from '../../web/format.ts'
import { countBody, linesOf } from '../../web/ledger/count.ts'
import { BLANK_ENTRY, bodyOf, type Entry, nextTarget, wrongOf } from '../../web/ledger/entry.ts'
import { byKind, roomL } from '../../web/ledger/held.ts'
import { mergeBody, mergeFaults, splitBody, splitFaults } from '../../web/ledger/split-merge.ts'
import { differenceOf } from '../../web/ledger/tolerance.ts'
import { graphOf, rowsOf } from '../../web/ledger/trace-graph.ts'
import { sayEnd, sayLitres, sayShare } from '../../web/ledger/words.ts'

const metric = createFormat({ zone: 'Pacific/Auckland', units: 'metric', sugarUnit: 'brix', language: 'en' })
const us = createFormat({ zone: 'America/Los_Angeles', units: 'us', sugarUnit: 'brix', language: 'en' })

const content = (code: string, capacityL: number, volumeL: number, lot = ''): ContentWire => ({
  vessel: { id: code, code, kind: code.startsWith('A') ? 'barrel' : 'tank', capacityL },
  state: volumeL > 0 ? 'full' : 'clean',
  lot: lot ? { id: lot, code: lot, name: lot } : null,
  volumeL,
  quarantined: false,
})
const stock: StockWire = {
  at: '2027-04-01T00:00:00Z',
  contents: [
    content('T01', 6500, 5790, 'L01'),
    content('T02', 6500, 0),
    content('A1', 228, 203, 'L03'),
    content('A2', 228, 203, 'L03'),
    content('A10', 228, 203, 'L03'),
    content('A3', 228, 203, 'L04'),
  ],
  lots: [],
  totalL: 6602,
}
const entry = (part: Partial<Entry>): Entry => ({ ...BLANK_ENTRY, ...part })
const wrong = (part: Partial<Entry>) => wrongOf(entry(part), stock, (volumeL) => sayLitres(metric, volumeL))

describe('a movement as it is typed', () => {
  it('names what is missing at its field', () => {
    expect(wrong({})).toEqual({ from: 'say which vessel it left', to: 'say which vessel it went into' })
    expect(wrong({ kind: 'receive', to: 'T02' })).toEqual({ lot: 'say which lot it is', volumeL: 'say how many' })
    expect(wrong({ kind: 'loss', from: 'T01', volumeL: 10 })).toEqual({})
  })

  it('takes no more than is there, what is lost on the way with it', () => {
    expect(wrong({ from: 'T01', to: 'T02', volumeL: 5790 })).toEqual({})
    expect(wrong({ from: 'T01', to: 'T02', volumeL: 5600, lossL: 200 }).volumeL).toBe('T01 holds 5,790 L by the book')
    expect(wrong({ from: 'T02', to: 'T01' }).from).toBe('is empty by the book')
  })

  it('overfills nothing: 228 - 203 leaves 25 L', () => {
    expect(wrong({ kind: 'top', from: 'T01', to: 'A1', volumeL: 25 })).toEqual({})
    expect(wrong({ kind: 'top', from: 'T01', to: 'A1', volumeL: 25.001 }).to).toMatch(/has room for 25 L/)
    // All of T01, 5,790 L, less 5,770 L lost: 20 L fit.
    expect(wrong({ from: 'T01', to: 'A1', lossL: 5770 })).toEqual({})
  })

  it('tells the server each kind in its own words', () => {
    expect(bodyOf(entry({ from: 'T01', to: 'T02', volumeL: 5600, lossL: 190 }))).toEqual({
      kind: 'move',
      from: 'T01',
      to: 'T02',
      volumeL: 5600,
      lossL: 190,
      lossCause: 'lees',
      cause: 'rack',
    })
    expect(bodyOf(entry({ kind: 'top', from: 'T01', to: 'A1', volumeL: 3 }), true)).toMatchObject({
      kind: 'move',
      cause: 'top',
      intoOther: true,
    })
    expect(
      bodyOf(entry({ kind: 'sample', from: 'T01', volumeL: 0.75, wall: '2027-04-01T09:00', people: ['kim'] })),
    ).toEqual({
      kind: 'leave',
      to: 'sample',
      from: 'T01',
      volumeL: 0.75,
      atLocal: '2027-04-01T09:00',
      people: ['kim'],
    })
    expect(bodyOf(entry({ kind: 'loss', from: 'T01', volumeL: 4, lossCause: 'spill' }))).toMatchObject({
      to: 'loss',
      cause: 'spill',
    })
    expect(
      bodyOf(
        entry({
          kind: 'receive',
          to: 'T02',
          lot: 'L09',
          volumeL: 100,
          bought: true,
          variety: 'Riesling',
          vintage: '2027',
        }),
      ),
    ).toEqual({
      kind: 'receive',
      to: 'T02',
      lot: 'L09',
      volumeL: 100,
      bought: true,
      variety: 'Riesling',
      vintage: '2027',
    })
    expect(bodyOf(entry({ kind: 'gain', to: 'T01', volumeL: 2 }))).toEqual({
      kind: 'gain',
      to: 'T01',
      volumeL: 2,
      cause: 'gauge',
    })
  })

  it('goes along the row when topping: by number, the same lot only, then ends', () => {
    expect(nextTarget(stock, 'A1', 'T01')).toBe('A2')
    expect(nextTarget(stock, 'A2', 'T01')).toBe('A10')
    expect(nextTarget(stock, 'A10', 'T01')).toBe('')
  })
})

describe('dips against the book', () => {
  it('are usual within 1 % in a tank and 3 % in a barrel', () => {
    expect(differenceOf(5732.1, 5790, 'tank')).toEqual({ differenceL: -57.9, toleranceL: 57.9, isWithin: true })
    expect(differenceOf(5732, 5790, 'tank').isWithin).toBe(false)
    expect(differenceOf(206, 200, 'barrel').isWithin).toBe(true)
    expect(differenceOf(206.1, 200, 'barrel').isWithin).toBe(false)
  })
})

describe('words for litres and shares', () => {
  it('keep the millilitre, or the hundredth of a gallon', () => {
    expect(sayLitres(metric, 5790)).toBe('5,790 L')
    expect(sayLitres(metric, 0.075)).toBe('0.075 L')
    // 1,000 L / 3.785411784 L = 264.172 US gallons (NIST SP 811).
    expect(sayLitres(us, 1000)).toBe('264.17 gal')
  })

  it('say a trace of something as a trace', () => {
    expect(sayShare(metric, 0.875)).toBe('87.5 %')
    expect(sayShare(metric, 0.00004)).toBe('under 0.01 %')
    expect(sayShare(metric, 0.0123)).toBe('1.23 %')
    expect(sayShare(metric, 0)).toBe('0 %')
  })

  it('name both ends', () => {
    expect(sayEnd({ kind: 'lees' })).toBe('Lees')
    expect(sayEnd({ kind: 'vessel', vessel: stock.contents[0]!.vessel, lot: stock.contents[0]!.lot! })).toBe(
      'T01 (L01)',
    )
  })
})

describe('a split and a merge as they are typed', () => {
  const amphora = { code: 'L10a', name: 'Amphora', vessels: ['T18'], moves: [] }

  it('need codes, names and wine; a vessel stays with one child', () => {
    expect(
      splitFaults([
        amphora,
        { code: 'L10b', name: 'Tank', vessels: [], moves: [{ from: 'T20', to: 'T13', volumeL: 800 }] },
      ]),
    ).toEqual([])
    expect(splitFaults([amphora, { ...amphora, name: '' }])).toEqual([
      'L10a needs a code and a name.',
      'Two children have the same code.',
      'A vessel can stay with one child only.',
    ])
    expect(splitFaults([{ code: 'L10b', name: 'Tank', vessels: [], moves: [] }])).toEqual(['L10b has no wine yet.'])
  })

  it('send litres only where they were told', () => {
    expect(
      splitBody(
        'L10',
        [{ code: ' L10b ', name: 'Tank', vessels: [], moves: [{ from: 'T20', to: 'T13', volumeL: undefined }] }],
        '',
      ),
    ).toEqual({
      lot: 'L10',
      children: [{ code: 'L10b', name: 'Tank', vessels: [], moves: [{ from: 'T20', to: 'T13' }] }],
    })
  })

  it('part what stays from what is moved', () => {
    const parts = [
      { vessel: 'T14', goes: 'stays', volumeL: undefined, lossL: undefined },
      { vessel: 'C1', goes: 'T14', volumeL: 190, lossL: 5 },
      { vessel: 'C2', goes: '', volumeL: undefined, lossL: undefined },
    ]
    expect(mergeFaults('TAI', 'Taille blend', parts)).toEqual([])
    expect(mergeBody('TAI', 'Taille blend', '', parts, '2027-05-01T08:00')).toEqual({
      code: 'TAI',
      name: 'Taille blend',
      atLocal: '2027-05-01T08:00',
      vessels: ['T14'],
      moves: [{ from: 'C1', to: 'T14', volumeL: 190, lossL: 5 }],
    })
    expect(mergeFaults('', 'x', parts.slice(0, 1))).toHaveLength(2)
  })
})

describe('a stock count as it is typed', () => {
  it('sends what was counted, nothing for what was left empty, and zero where a vessel was found empty', () => {
    const typed = new Map([
      ['A1', { volumeL: 0, cause: 'leak', reason: ' stave ' }],
      ['T02', { volumeL: undefined, cause: '', reason: '' }],
      ['T01', { volumeL: 5760, cause: '', reason: '' }],
    ])
    expect(countBody(linesOf(stock, typed), '')).toEqual({
      lines: [
        { vessel: 'T01', volumeL: 5760 },
        { vessel: 'A1', volumeL: 0, cause: 'leak', reason: 'stave' },
      ],
    })
  })
})

describe('a trace as a graph and as a table', () => {
  const lot = (id: string, share: number, rank: number) => ({
    id: `lot:${id}`,
    kind: 'lot' as const,
    label: id,
    lot: { id, code: id, name: `${id} wine` },
    rank,
    volumeL: share * 1000,
    share,
    vessels: ['T14'],
    quarantined: false,
  })
  const way = (from: string, to: string, share: number, firstAt: string) => ({
    from,
    to,
    volumeL: share * 1000,
    movedL: 900,
    share,
    firstAt,
    lastAt: firstAt,
    movements: 1,
    causes: ['blend'],
    vessels: [{ from: 'C1', to: 'T14' }],
  })
  const trace: TraceWire = {
    at: '2027-05-01T00:00:00Z',
    direction: 'back',
    root: 'lot:TAI',
    totalL: 1000,
    nodes: [lot('TAI', 1, 0), lot('L05', 0.6, 1), lot('L06', 0.4, 1)],
    edges: [
      way('lot:L06', 'lot:TAI', 0.4, '2027-04-20T00:00:00Z'),
      way('lot:L05', 'lot:TAI', 0.6, '2027-04-10T00:00:00Z'),
    ],
    sources: [],
    reached: [],
    cut: false,
  }

  it('say the same: every way of the picture is a row, the earliest first', () => {
    const graph = graphOf(trace)
    const rows = rowsOf(trace)
    expect(rows.map((row) => [row.from, row.to, row.vessels])).toEqual([
      ['L05', 'TAI', 'C1 to T14'],
      ['L06', 'TAI', 'C1 to T14'],
    ])
    expect(new Set(rows.map((row) => row.edge.volumeL))).toEqual(new Set(graph.edges.map((edge) => edge.volumeL)))
    expect(graph.nodes.find((node) => node.id === 'lot:L05')?.name).toBe('L05 wine')
  })
})

describe('vessels by kind', () => {
  it('add up to what each kind holds and has room for, the empty ones counted too', () => {
    const kinds = byKind(stock.contents).map(({ contents, ...sums }) => ({ ...sums, n: contents.length }))
    expect(kinds).toEqual([
      { kind: 'tank', full: 1, volumeL: 5790, capacityL: 13000, n: 2 },
      // Four barrels of 203 L in 228 L each.
      { kind: 'barrel', full: 4, volumeL: 812, capacityL: 912, n: 4 },
    ])
  })

  it('have room where they are empty and in service', () => {
    expect(roomL(stock.contents)).toBe(6500)
    expect(roomL([{ ...content('T09', 900, 0), state: 'out-of-service' }])).toBe(0)
  })
})
