import { Route, Router } from '@solidjs/router'
import { cleanup, fireEvent, render, screen, waitFor, within } from '@solidjs/testing-library'
import { QueryClientProvider } from '@tanstack/solid-query'
import type { JSX } from 'solid-js'
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import type {
  CellarWire,
  CheckWire,
  ContentWire,
  EnteredWire,
  MovementWire,
  RegisterWire,
  StockWire,
} from '../../api/wire.ts'
import { Claims, Composition } from '../../web/ledger/contents.tsx'
import { changedShares } from '../../web/ledger/entered-note.tsx'
import { MovementTable } from '../../web/ledger/movement-table.tsx'
import { TracePicture } from '../../web/ledger/picture.tsx'
import { RegisterTable } from '../../web/ledger/register-table.tsx'
import { VesselsHeld } from '../../web/ledger/vessels-held.tsx'
import { LedgerChecks } from '../../web/pages/ledger-checks.tsx'
import { LedgerCount } from '../../web/pages/ledger-count.tsx'
import { LedgerEntry } from '../../web/pages/ledger-entry.tsx'
import { createQueries } from '../../web/queries.ts'
import { type Person, SessionProvider } from '../../web/session.tsx'

const person = { id: 'alex', name: 'Alex', role: 'winemaker', language: 'en', post: '', hasPassword: false } as Person
const cellar = {
  id: 'c',
  name: 'Ostrel Yard',
  zone: 'Pacific/Auckland',
  units: 'metric',
  sugarUnit: 'brix',
  language: 'en',
  vintage: 2027,
  nowAt: '2027-04-10T00:00:00Z',
} as unknown as CellarWire

const content = (code: string, capacityL: number, volumeL: number, lot = ''): ContentWire => ({
  vessel: { id: code, code, kind: 'tank', capacityL },
  state: volumeL > 0 ? 'full' : 'clean',
  lot: lot ? { id: lot, code: lot, name: `${lot} wine` } : null,
  volumeL,
  quarantined: false,
})
const stock: StockWire = {
  at: '2027-04-10T00:00:00Z',
  contents: [content('T01', 6500, 5000, 'L01'), content('T02', 6500, 1000, 'L02'), content('T03', 3000, 0)],
  lots: [],
  totalL: 6000,
}
const movement = (more: Partial<MovementWire> = {}): MovementWire => ({
  id: 'm1',
  entry: 1,
  at: '2027-04-09T20:00:00Z',
  writtenAt: '2027-04-09T20:00:00Z',
  late: false,
  from: {
    kind: 'vessel',
    vessel: stock.contents[0]!.vessel,
    lot: stock.contents[0]!.lot!,
    beforeL: 5000,
    afterL: 4000,
  },
  to: { kind: 'vessel', vessel: stock.contents[1]!.vessel, lot: stock.contents[1]!.lot!, beforeL: 0, afterL: 1000 },
  volumeL: 1000,
  cause: 'blend',
  people: [{ id: 'kim', name: 'Kim' }],
  opId: 'op',
  ...more,
})
const shares = (first: number): EnteredWire['contents'][number]['composition'] => {
  const parts = [
    { value: 'Sauvignon Blanc', share: first, volumeL: first * 1000 },
    ...(first < 1 ? [{ value: 'Riesling', share: 1 - first, volumeL: (1 - first) * 1000 }] : []),
  ]
  return { variety: parts, vintage: [{ value: '2027', share: 1, volumeL: 1000 }], block: [], origin: [] }
}

type Answer = { readonly status?: number; readonly body: unknown }
let sent: { readonly path: string; readonly body: Record<string, unknown> }[] = []

/** The server's answers by `METHOD path`; anything else answers an empty list of people and lots. */
function serve(answers: Readonly<Record<string, (body: Record<string, unknown>) => Answer>>): void {
  vi.stubGlobal('fetch', async (path: string, init: RequestInit = {}) => {
    const method = init.method ?? 'GET'
    const body = init.body ? (JSON.parse(String(init.body)) as Record<string, unknown>) : {}
    if (method !== 'GET') sent.push({ path, body })
    const [bare = ''] = path.split('?')
    const answer = answers[`${method} ${path}`]?.(body) ?? answers[`${method} ${bare}`]?.(body)
    const fallback = { people: [], lots: [], movements: [], next: null, counts: [] }
    return new Response(JSON.stringify(answer?.body ?? fallback), {
      status: answer?.status ?? 200,
      headers: { 'content-type': 'application/json' },
    })
  })
}

const show = (what: () => JSX.Element) =>
  render(() => (
    <QueryClientProvider client={createQueries()}>
      <Router
        root={(props) => (
          <SessionProvider person={person} cellar={cellar}>
            {props.children}
          </SessionProvider>
        )}
      >
        <Route path="*" component={what} />
      </Router>
    </QueryClientProvider>
  ))

beforeEach(() => {
  sent = []
})
afterEach(() => {
  cleanup()
  vi.unstubAllGlobals()
})

describe('a movement on the screen', () => {
  it('says what is wrong at the field and sends nothing', async () => {
    serve({ 'GET /api/ledger/stock': () => ({ body: stock }) })
    show(() => <LedgerEntry />)
    fireEvent.click(await screen.findByRole('button', { name: 'Write it down' }))
    expect(screen.getByLabelText('From').getAttribute('aria-invalid')).toBe('true')
    expect(screen.getByText('say which vessel it left')).toBeTruthy()
    fireEvent.input(screen.getByLabelText('From'), { target: { value: 'T01' } })
    fireEvent.input(screen.getByLabelText('To'), { target: { value: 'T03' } })
    expect(screen.getByText(/has room for 3,000 L; overfilling is refused/)).toBeTruthy()
    fireEvent.click(screen.getByRole('button', { name: 'Write it down' }))
    expect(sent).toEqual([])
  })

  it('shows the new shares before other wine may be written in, and then says that it is meant', async () => {
    const entered: EnteredWire = {
      written: false,
      movements: [movement({ volumeL: 250 })],
      contents: [{ content: { ...stock.contents[1]!, volumeL: 1250 }, composition: shares(0.8), before: shares(1) }],
      warnings: [],
    }
    serve({
      'GET /api/ledger/stock': () => ({ body: stock }),
      'POST /api/ledger/movements': (body) =>
        body.intoOther
          ? { body: { ...entered, written: true } }
          : { status: 409, body: { type: 'another-lot-there', title: 'Another lot lies there', status: 409 } },
      'POST /api/ledger/movements?preview=true': () => ({ body: entered }),
    })
    show(() => <LedgerEntry />)
    fireEvent.input(await screen.findByLabelText('From'), { target: { value: 'T01' } })
    fireEvent.input(screen.getByLabelText('To'), { target: { value: 'T02' } })
    fireEvent.input(screen.getByLabelText('Arrived'), { target: { value: '250' } })
    fireEvent.click(screen.getByRole('button', { name: 'Write it down' }))
    const note = await screen.findByRole('status', { name: 'What it would do' })
    expect(note.textContent).toContain('Variety Sauvignon Blanc: 100 % → 80 %')
    expect(note.textContent).toContain('Variety Riesling: 0 % → 20 %')
    fireEvent.click(screen.getByRole('button', { name: 'It is meant so: write it down' }))
    await waitFor(() => expect(sent.at(-1)?.body.intoOther).toBe(true))
    expect(sent.at(-1)).toMatchObject({ path: '/api/ledger/movements', body: { kind: 'move', volumeL: 250 } })
  })

  it('tells a dip that is further off than usual beside the field', async () => {
    serve({ 'GET /api/ledger/stock': () => ({ body: stock }) })
    show(() => <LedgerEntry />)
    fireEvent.input(await screen.findByLabelText('From'), { target: { value: 'T01' } })
    fireEvent.input(screen.getByLabelText('Dipped before, where it came from'), { target: { value: '4960' } })
    expect(screen.getByText('-40 L against 5,000 L; up to 50 L is usual').className).toBe('hint')
    fireEvent.input(screen.getByLabelText('Dipped before, where it came from'), { target: { value: '4900' } })
    expect(screen.getByText('-100 L against 5,000 L; up to 50 L is usual').className).toBe('wrong')
  })
})

describe('the list of movements', () => {
  it('strikes what was taken back, and corrects with a reason by an entry against it', async () => {
    serve({
      'GET /api/ledger/stock': () => ({ body: stock }),
      'POST /api/ledger/movements/m1/correct': () => ({
        body: { written: true, movements: [], contents: [], warnings: [] },
      }),
    })
    show(() => <MovementTable movements={[movement(), movement({ id: 'm0', reversedById: 'm9' })]} />)
    const rows = await screen.findAllByRole('row')
    expect(rows[2]?.className).toContain('struck')
    expect(within(rows[2]!).queryByRole('button')).toBeNull()
    fireEvent.click(within(rows[1]!).getByRole('button', { name: /^Correct 1,000 L/ }))
    const dialog = await screen.findByRole('dialog')
    fireEvent.click(within(dialog).getByRole('radio', { name: 'It never happened' }))
    fireEvent.click(within(dialog).getByRole('button', { name: 'Write the correction' }))
    expect(within(dialog).getByText('say why')).toBeTruthy()
    expect(sent).toEqual([])
    fireEvent.input(within(dialog).getByLabelText('Why it was wrong'), { target: { value: 'wrong vessel' } })
    fireEvent.click(within(dialog).getByRole('button', { name: 'Write the correction' }))
    await waitFor(() => expect(sent).toHaveLength(1))
    expect(sent[0]?.body).toMatchObject({ reason: 'wrong vessel' })
    expect(sent[0]?.body.instead).toBeUndefined()
  })
})

describe('a stock count on the screen', () => {
  it('wants every unusual difference explained before it may be written', async () => {
    const line = {
      vessel: stock.contents[0]!.vessel,
      lot: stock.contents[0]!.lot,
      bookL: 5000,
      countedL: 4900,
      differenceL: -100,
      toleranceL: 50,
      withinTolerance: false,
      needsReason: true,
    }
    const count = { at: stock.at, written: false, lines: [line], differenceL: -100 }
    serve({
      'GET /api/ledger/stock': () => ({ body: stock }),
      'POST /api/ledger/counts?preview=true': () => ({ body: count }),
      'POST /api/ledger/counts': () => ({ body: { ...count, written: true } }),
    })
    show(() => <LedgerCount />)
    fireEvent.input(await screen.findByLabelText('T01 counted'), { target: { value: '4900' } })
    fireEvent.click(screen.getByRole('button', { name: 'Show the differences' }))
    await screen.findByText('more than usual')
    const write = screen.getByRole('button', { name: 'Write the count' }) as HTMLButtonElement
    expect(write.disabled).toBe(true)
    fireEvent.input(screen.getByLabelText('T01 cause'), { target: { value: 'leak' } })
    fireEvent.input(screen.getByLabelText('T01 explained'), { target: { value: 'door seal' } })
    expect(write.disabled).toBe(false)
    fireEvent.click(write)
    await waitFor(() => expect(sent.at(-1)?.path).toBe('/api/ledger/counts'))
    expect(sent.at(-1)?.body.lines).toEqual([{ vessel: 'T01', volumeL: 4900, cause: 'leak', reason: 'door seal' }])
  })
})

describe('what wine is made of', () => {
  it('tells only the shares that change', () => {
    expect(changedShares(shares(1), shares(0.8)).map((row) => [row.value, row.was, row.is.toFixed(3)])).toEqual([
      ['Sauvignon Blanc', 1, '0.800'],
      ['Riesling', 0, '0.200'],
    ])
  })

  it('lists each share with its litres, and which claims hold with the room they leave', async () => {
    serve({})
    show(() => (
      <>
        <Composition composition={shares(0.8)} />
        <Claims
          claims={[
            {
              attribute: 'variety',
              value: 'Sauvignon Blanc',
              share: 0.8,
              limits: [
                // 1,000 L x (0.8 / 0.75 - 1) = 66.667 L of other wine.
                { limit: 0.75, holds: true, mayBlendL: 66.667, source: 'from memory, verify; check your own rules' },
                { limit: 0.85, holds: false, mayBlendL: 0, source: 'check your own rules' },
              ],
            },
          ]}
        />
      </>
    ))
    expect(await screen.findByText('800 L')).toBeTruthy()
    expect(screen.getByText('66.667 L')).toBeTruthy()
    expect(screen.getByText('does not hold')).toBeTruthy()
    expect(screen.getAllByText(/check your own rules/)).toHaveLength(2)
  })
})

describe('a register', () => {
  it('writes moments, shares and volumes as such, its sums, and whether it closes', async () => {
    const register: RegisterWire = {
      name: 'balance',
      title: 'Volume balance',
      fromOn: '2027-03-01',
      toOn: '2027-03-31',
      unit: 'gal',
      unitNote: 'US wine gallons of 3.785411784 L',
      columns: [
        { key: 'at', title: 'When', kind: 'moment' },
        { key: 'what', title: 'What', kind: 'text' },
        { key: 'in', title: 'In', kind: 'volume' },
        { key: 'share', title: 'Share', kind: 'share' },
      ],
      rows: [{ at: '2027-03-11T22:10:00Z', what: 'Fruit', in: 264.1721, share: 0.5 }],
      totals: { in: 264.1721 },
      closes: true,
      leftOff: 0,
    }
    serve({})
    show(() => <RegisterTable register={register} />)
    expect(await screen.findByText('The balance closes')).toBeTruthy()
    const cells = screen.getAllByRole('cell').map((cell) => cell.textContent)
    // 22:10 UTC on the 11th is 11:10 on the 12th in Auckland in summer.
    // Gallons to 0.001, as the register's note says and its CSV has them: 1000 L / 3.785411784 = 264.172.
    expect(cells).toEqual(['12 Mar 2027 11:10', 'Fruit', '264.172', '50 %', 'In all', '', '264.172', ''])
  })
})

describe('the picture of a trace', () => {
  it('is told in words, is zoomed by buttons and keys, and opens a lot by a tap', async () => {
    serve({})
    const opened: string[] = []
    show(() => (
      <TracePicture
        title="What is in TAI"
        open={(id) => opened.push(id)}
        graph={{
          root: 'lot:TAI',
          direction: 'back',
          nodes: [
            { id: 'lot:TAI', kind: 'lot', label: 'TAI', volumeL: 1000, share: 1 },
            { id: 'lot:L05', kind: 'lot', label: 'L05', volumeL: 600, share: 0.6 },
            { id: 'receipt:x', kind: 'receipt', label: 'Pinot', volumeL: 400, share: 0.4 },
          ],
          edges: [
            { from: 'lot:L05', to: 'lot:TAI', volumeL: 600, share: 0.6, firstMs: 0 },
            { from: 'receipt:x', to: 'lot:TAI', volumeL: 400, share: 0.4, firstMs: 1 },
          ],
        }}
      />
    ))
    const picture = await screen.findByRole('img', { name: /What is in TAI: 1,000 L, 3 lots and sources, 2 ways/ })
    const width = () => Number(picture.getAttribute('viewBox')?.split(' ')[2])
    const before = width()
    fireEvent.click(screen.getByRole('button', { name: 'Larger' }))
    expect(width()).toBeLessThan(before)
    fireEvent.keyDown(screen.getByRole('application', { name: 'Picture: What is in TAI' }), { key: '-' })
    expect(width()).toBeCloseTo(before, 6)
    const nodes = [...picture.querySelectorAll('[data-node]')].map((node) => node.getAttribute('data-node'))
    expect(nodes.sort(), 'only lots open').toEqual(['lot:L05', 'lot:TAI'])
    fireEvent.click(picture.querySelector('[data-node="lot:L05"] path')!)
    expect(opened).toEqual(['lot:L05'])
  })
})

describe('the stock by vessel', () => {
  const barrels = Array.from({ length: 9 }, (_, i): ContentWire => {
    const one = content(`A${i}`, 228, i < 4 ? 200 : 0, i < 4 ? 'L03' : '')
    return { ...one, vessel: { ...one.vessel, kind: 'barrel' } }
  })
  const kinds = (root: Element) => [...root.querySelectorAll<HTMLDetailsElement>('details[data-kind]')]
  const rows = (kind: Element | undefined) => kind?.querySelectorAll('tbody tr').length

  it('is folded by kind on a phone, with counts and litres, and whole on paper', () => {
    serve({})
    vi.stubGlobal('matchMedia', () => ({ matches: true }))
    const { container } = show(() => <VesselsHeld stock={{ ...stock, contents: [...stock.contents, ...barrels] }} />)
    const [tanks, casks] = kinds(container)
    expect(tanks?.querySelector('summary')?.textContent).toBe('Tank 2 of 3 hold 6,000 L of 16,000 L')
    expect(casks?.querySelector('summary')?.textContent).toBe('Barrel 4 of 9 hold 800 L of 2,052 L')
    // Two rows stand open, four are folded; what is folded is there all the same.
    expect([tanks?.open, rows(tanks), casks?.open, rows(casks)]).toEqual([true, 2, false, 4])
    window.dispatchEvent(new Event('beforeprint'))
    expect(kinds(container).map((kind) => kind.open)).toEqual([true, true])
    window.dispatchEvent(new Event('afterprint'))
    expect(kinds(container).map((kind) => kind.open)).toEqual([true, false])
    fireEvent.click(screen.getByLabelText('Empty ones too'))
    expect(kinds(container).map(rows)).toEqual([3, 9])
  })
})

describe('what the nightly check found', () => {
  const check = (more: Partial<CheckWire>): CheckWire => ({
    at: '2027-04-09T14:00:00Z',
    ok: true,
    movements: 46,
    tookMs: 3,
    faults: [],
    accepted: [],
    ...more,
  })
  const dip = { rule: 'dip' as const, words: 'T01 was dipped at 950 L where the book has 1,000 L.' }

  it('shows a difference that was accepted as such, and an unexplained one as a fault', async () => {
    const accepted = [{ ...dip, accepted: { movementId: 'm9', words: '50 L gone: valve dripped' } }]
    const checks = [check({ accepted }), check({ at: '2027-04-08T14:00:00Z', ok: false, faults: [dip] })]
    serve({ 'GET /api/ledger/checks': () => ({ body: { checks } }) })
    show(() => <LedgerChecks />)
    const [good, bad] = (await screen.findAllByRole('row')).slice(1)
    expect(good?.classList.contains('bad')).toBe(false)
    expect(within(good!).getByText('1 difference accepted')).toBeTruthy()
    expect(good?.textContent).toContain(`${dip.words} Written down as 50 L gone: valve dripped.`)
    expect(bad?.classList.contains('bad')).toBe(true)
    expect(within(bad!).getByText(/^Dips agree with the book/)).toBeTruthy()
    expect(bad?.textContent).not.toContain('accepted')
  })
})
