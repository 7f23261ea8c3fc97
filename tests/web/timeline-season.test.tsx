import { cleanup, fireEvent, render, screen } from '@solidjs/testing-library'
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { DAY as PALETTE } from '../../web/palette.ts'
import type { SeasonActs } from '../../web/timeline/acts.ts'
import { layDays } from '../../web/timeline/days.ts'
import { LengthBox } from '../../web/timeline/length-box.tsx'
import { lengthsOf } from '../../web/timeline/lengths.ts'
import { buildModel } from '../../web/timeline/model.ts'
import { MoveTo } from '../../web/timeline/move-to.tsx'
import { moveRules } from '../../web/timeline/rules.ts'
import { Season } from '../../web/timeline/season.tsx'
import { wordsFor } from '../../web/timeline/words.ts'
import { DAY, HOUR, iso, person, phase, plan, task, vessel } from './timeline-cases.ts'

const T0 = Date.UTC(2027, 2, 1)
const ZONE = 'Pacific/Auckland'
const cellar = plan(
  [
    task('L01/read/1', T0 + 2 * DAY, 1, { name: 'Read density' }),
    task('L01/rack/1', T0 + 9 * DAY, 2, { name: 'Rack' }),
  ],
  [phase('L01', 'macerate', T0, T0 + 12 * HOUR), phase('L01', 'lees', T0 + 10 * DAY, T0 + 101.32 * DAY)],
)

const acts = (): SeasonActs => ({
  preview: vi.fn(async () => ({ allowed: true, words: '', changed: [] })),
  keep: vi.fn(async () => true),
  undo: vi.fn(async () => true),
  attempt: vi.fn(async () => ({ id: 't1', version: 1, words: 'Two tasks change.', changed: [] })),
  adopt: vi.fn(async () => true),
  drop: vi.fn(async () => undefined),
})

beforeEach(() => {
  // No window here has a size, so nothing is drawn; the desk around the chart is what is looked at.
  vi.spyOn(HTMLCanvasElement.prototype, 'getContext').mockReturnValue({} as never)
  vi.stubGlobal(
    'ResizeObserver',
    class {
      observe() {}
      disconnect() {}
    },
  )
  vi.stubGlobal(
    'CSSStyleSheet',
    class {
      replaceSync() {}
    },
  )
  Object.defineProperty(document, 'adoptedStyleSheets', { value: [], writable: true, configurable: true })
})
afterEach(() => {
  cleanup()
  vi.unstubAllGlobals()
  vi.restoreAllMocks()
})

const season = (part: Partial<Parameters<typeof Season>[0]> = {}) =>
  render(() => (
    <Season
      plan={cellar}
      zone={ZONE}
      language="en"
      nowMs={T0}
      palette={PALETTE}
      mayMove
      acts={acts()}
      selected={undefined}
      onSelect={() => undefined}
      onPrint={() => undefined}
      showReadings={false}
      onReadings={() => undefined}
      {...part}
    />
  ))

describe('the desk', () => {
  it('lays the dates in sight as sheets when the printer asks, and takes them away', async () => {
    season()
    // What draws them is fetched when the page stands.
    await vi.waitFor(
      () => {
        fireEvent(window, new Event('beforeprint'))
        expect(document.querySelectorAll('.print-sheets svg')).toHaveLength(1)
      },
      { timeout: 10_000 },
    )
    expect(document.querySelector('.print-sheets')?.textContent).toContain('L01')
    fireEvent(window, new Event('afterprint'))
    expect(document.querySelectorAll('.print-sheets')).toHaveLength(0)
  })

  it('tells a trial in words: what is moved, from where to where, and what is new or gone', async () => {
    const picked: (string | undefined)[] = []
    const change = (key: string, name: string, fromStartAt: string | null, gone = false) => ({
      key,
      lotCode: 'L01',
      name,
      startAt: iso(T0 + 2 * DAY),
      grain: 'minute' as const,
      fromStartAt,
      fromGrain: 'minute' as const,
      gone,
      people: [],
      fromPeople: [],
    })
    season({
      onSelect: (key) => picked.push(key),
      trial: {
        id: 't1',
        name: 'Cooler',
        words: ['L01: ferment temperature 13 C'],
        changed: [
          change('L01/read/1', 'Read density', iso(T0 + DAY)),
          change('L01/rack/1', 'Rack', null),
          change('L01/old/1', 'Old', iso(T0), true),
        ],
        real: cellar,
      },
    })
    const list = await screen.findByRole('complementary', { name: 'Trial: Cooler' }, { timeout: 10_000 })
    // 13 hours ahead of UTC in March: the second of March at 13:00.
    expect(list.textContent).toMatch(/Read density.*Tue,? 2 Mar 13:00 \u2192 Wed,? 3 Mar 13:00/)
    expect(list.textContent).toContain('new,')
    expect(list.textContent).toContain('no longer needed')
    fireEvent.click(screen.getByRole('button', { name: /Read density/ }))
    expect(picked).toEqual(['L01/read/1'])
  })
})

describe('how long a lot stays', () => {
  const mount = (given: SeasonActs) => {
    let closed = 0
    render(() => (
      <LengthBox
        lotId="l1"
        lotCode="L01"
        lengths={lengthsOf(buildModel(cellar), 'L01', T0)}
        words={wordsFor('en', ZONE)}
        acts={given}
        say={() => undefined}
        onClose={() => {
          closed += 1
        }}
      />
    ))
    return () => closed
  }

  it('is tried, shown in words, and kept as one change of the answers', async () => {
    const given = acts()
    const closed = mount(given)
    const field = screen.getByLabelText(/Skin contact/)
    expect((field as HTMLInputElement).value).toBe('12')
    fireEvent.input(field, { target: { value: '18' } })
    fireEvent.click(screen.getByRole('button', { name: 'See what changes' }))
    await screen.findByText('Two tasks change.')
    expect(given.attempt).toHaveBeenCalledWith(
      { kind: 'choices', lot: 'l1', choices: { skinContactH: 18 } },
      'Skin contact of L01: 18 h',
    )
    fireEvent.click(screen.getByRole('button', { name: 'Keep' }))
    await vi.waitFor(() => expect(closed()).toBe(1))
    expect(given.attempt).toHaveBeenCalledTimes(1)
    expect(given.adopt).toHaveBeenCalledTimes(1)
  })

  it('is dropped when it is left after a look', async () => {
    const given = acts()
    mount(given)
    fireEvent.click(screen.getByRole('button', { name: 'On fine lees' }))
    // 91.32 days are three months of 30.44.
    expect((screen.getByLabelText(/On fine lees/) as HTMLInputElement).value).toBe('3')
    fireEvent.click(screen.getByRole('button', { name: 'See what changes' }))
    await screen.findByText('Two tasks change.')
    fireEvent.click(screen.getByRole('button', { name: 'Leave it' }))
    expect(given.drop).toHaveBeenCalledTimes(1)
    expect(given.adopt).not.toHaveBeenCalled()
  })
})

describe('moving without dragging', () => {
  const wine = plan(
    [
      task('L01/rack/1', T0 + 2 * DAY, 2, {
        name: 'Rack',
        fromVessels: ['T01'],
        toVessels: ['T02'],
        people: ['kim'],
        latestAt: iso(T0 + 5 * DAY),
      }),
    ],
    [phase('L01', 'ferment', T0 + 2 * DAY, T0 + 12 * DAY, { vessels: [{ code: 'T02', kind: 'tank' }] })],
    {
      people: [person('kim', 0, 1440), person('sam', 0, 1440)],
      vessels: [vessel('T01', 6000), vessel('T02', 6000), vessel('T03', 4000)],
    },
  )
  const mount = (given: SeasonActs) => {
    const model = buildModel(wine)
    const days = layDays(T0 - 20 * DAY, T0 + 20 * DAY, ZONE)
    const said: string[] = []
    render(() => (
      <MoveTo
        rules={moveRules(model, days, wordsFor('en', ZONE), T0)}
        ix={0}
        acts={given}
        announce={{ say: (s) => said.push(s), refuse: (s) => said.push(s), polite: () => '', assertive: () => '' }}
        onLengths={() => undefined}
        onClose={() => undefined}
      />
    ))
    return said
  }

  it('gives the work to somebody else', async () => {
    const given = acts()
    const said = mount(given)
    expect(screen.getByRole('button', { name: 'Move it' })).toHaveProperty('disabled', true)
    fireEvent.input(screen.getByLabelText('Done by'), { target: { value: 'sam' } })
    fireEvent.click(screen.getByRole('button', { name: 'Move it' }))
    await vi.waitFor(() => expect(said).toHaveLength(1))
    expect(given.keep).toHaveBeenCalledWith('L01/rack/1', {
      startAt: iso(T0 + 2 * DAY),
      andFollows: true,
      people: ['sam'],
    })
    expect(given.attempt).not.toHaveBeenCalled()
  })

  it('takes another vessel by a trial that is adopted, and says why one will not do', async () => {
    const given = acts()
    const said = mount(given)
    const into = screen.getByLabelText('Into')
    expect([...into.querySelectorAll('option')].map((o) => o.textContent)).toEqual([
      'As planned: T02',
      'T01',
      'T03: T03 holds 4,000 L, the lot is 5,000 L.',
    ])
    fireEvent.input(into, { target: { value: 'T01' } })
    fireEvent.click(screen.getByRole('button', { name: 'Move it' }))
    await vi.waitFor(() => expect(said).toHaveLength(1))
    expect(said[0]).toContain(', into T01.')
    expect(given.attempt).toHaveBeenCalledWith(
      { kind: 'vessel', lot: 'id-L01', hold: 'ferment', vessels: ['T01'] },
      'L01 into T01',
    )
    expect(given.adopt).toHaveBeenCalledTimes(1)
    expect(given.keep).not.toHaveBeenCalled()
  })
})
