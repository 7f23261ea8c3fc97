import { cleanup, fireEvent, render, screen } from '@solidjs/testing-library'
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { DAY as PALETTE } from '../../web/palette.ts'
import type { SeasonActs } from '../../web/timeline/acts.ts'
import { LengthBox } from '../../web/timeline/length-box.tsx'
import { lengthsOf } from '../../web/timeline/lengths.ts'
import { buildModel } from '../../web/timeline/model.ts'
import { Season } from '../../web/timeline/season.tsx'
import { wordsFor } from '../../web/timeline/words.ts'
import { DAY, HOUR, iso, phase, plan, task } from './timeline-cases.ts'

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
  it('lays the dates in sight as sheets when the printer asks, and takes them away', () => {
    season()
    fireEvent(window, new Event('beforeprint'))
    expect(document.querySelectorAll('.print-sheets svg')).toHaveLength(1)
    expect(document.querySelector('.print-sheets')?.textContent).toContain('L01')
    fireEvent(window, new Event('afterprint'))
    expect(document.querySelectorAll('.print-sheets')).toHaveLength(0)
  })

  it('tells a trial in words: what is moved, from where to where, and what is new or gone', () => {
    const picked: (string | undefined)[] = []
    const change = (key: string, name: string, fromStartAt: string | null, gone = false) => ({
      key,
      lotCode: 'L01',
      name,
      startAt: iso(T0 + 2 * DAY),
      fromStartAt,
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
    const list = screen.getByRole('complementary', { name: 'Trial: Cooler' })
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
