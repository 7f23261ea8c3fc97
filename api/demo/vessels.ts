import type { Booking, Vessel } from '../protocol/facts.ts'
import type { Dates } from './dates.ts'

type Tank = Omit<Vessel, 'id' | 'state' | 'bookings'>

const jacketed = (code: string, volumeL: number): Tank => ({
  code,
  kind: 'tank',
  volumeL,
  jacket: true,
  insulated: false,
  pressureBar: 0.3,
})
const open = (code: string, kind: Vessel['kind'], volumeL: number, jacket: boolean): Tank => ({
  code,
  kind,
  volumeL,
  jacket,
  insulated: false,
  pressureBar: 0,
})

const TANKS: readonly Tank[] = [
  ...['T01', 'T02', 'T03', 'T04'].map((code) => jacketed(code, 6500)),
  ...['T05', 'T06', 'T07', 'T08'].map((code) => jacketed(code, 3200)),
  jacketed('T09', 10_500),
  jacketed('T10', 10_500),
  { ...jacketed('T11', 12_500), kind: 'cold-tank', insulated: true, minC: -5 },
  jacketed('T12', 2200),
  open('T13', 'floating-lid', 1100, true),
  open('T14', 'floating-lid', 1100, false),
  { ...jacketed('T15', 5000), kind: 'pressure-tank', pressureBar: 3 },
  open('T16', 'concrete', 1600, false),
  open('T17', 'concrete', 2500, true),
  open('T18', 'amphora', 800, false),
  { ...open('T19', 'cask', 2000, false), fills: 22 },
  open('T20', 'open-tank', 3000, true),
]

interface Row {
  readonly row: string
  readonly kind: 'barrel' | 'puncheon'
  readonly volumeL: number
  /** Wines held before, barrel by barrel. */
  readonly fills: readonly number[]
}

const times = (n: number, fills: number) => Array.from({ length: n }, () => fills)

const ROWS: readonly Row[] = [
  { row: 'A', kind: 'barrel', volumeL: 228, fills: [...times(5, 0), ...times(7, 1)] },
  { row: 'B', kind: 'barrel', volumeL: 228, fills: [...times(7, 2), ...times(7, 3)] },
  { row: 'C', kind: 'barrel', volumeL: 225, fills: times(14, 6) },
  { row: 'D', kind: 'barrel', volumeL: 300, fills: [...times(4, 2), ...times(4, 3), ...times(4, 4)] },
  { row: 'E', kind: 'puncheon', volumeL: 500, fills: times(8, 8) },
]

const BARRELS: readonly Tank[] = ROWS.flatMap(({ row, kind, volumeL, fills }) =>
  fills.map((fill, i) => ({ ...open(`${row}${i + 1}`, kind, volumeL, false), row, fills: fill })),
)

const numbered = (row: string, from: number, to: number) =>
  Array.from({ length: to - from + 1 }, (_, i) => `${row}${from + i}`)

/** Last year's wine, still in the way when the fruit comes. */
function lastYears({ at }: Dates): Readonly<Record<string, readonly Booking[]>> {
  const tank: Booking = {
    fromAt: at('2027-02-01T00:00'),
    toAt: at('2027-03-09T15:00'),
    why: 'V26 white, 11,800 L, last year',
  }
  const barrel: Booking = {
    fromAt: at('2027-02-01T00:00'),
    toAt: at('2027-03-15T12:00'),
    why: 'V26 Chardonnay, last year',
  }
  const barrels = [...numbered('A', 6, 12), ...numbered('E', 2, 7)]
  return { T11: [tank], ...Object.fromEntries(barrels.map((code) => [code, [barrel]])) }
}

/** 20 bulk vessels and 60 barrels as they stand before the first fruit. */
export function vessels(dates: Dates): readonly Vessel[] {
  const taken = lastYears(dates)
  return [...TANKS, ...BARRELS].map((v) => {
    const bookings = taken[v.code] ?? []
    const empty = v.row !== undefined && v.fills !== 0 ? 'sulphured' : 'clean'
    return { id: v.code, ...v, state: bookings.length > 0 ? 'full' : empty, bookings }
  })
}
