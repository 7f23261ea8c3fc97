import { cleanup, fireEvent, render, screen } from '@solidjs/testing-library'
import { createSignal } from 'solid-js'
import { afterEach, describe, expect, it } from 'vitest'
import { layDays } from '../../web/timeline/days.ts'
import { type Frame, layFrame } from '../../web/timeline/frame.ts'
import { Grid, type Place } from '../../web/timeline/grid.tsx'
import { layLoad } from '../../web/timeline/load.ts'
import { buildModel } from '../../web/timeline/model.ts'
import { ARRANGED, arrangeRows } from '../../web/timeline/rows.ts'
import { timeScale } from '../../web/timeline/scale.ts'
import { stackRows } from '../../web/timeline/stack.ts'
import { wordsFor } from '../../web/timeline/words.ts'
import { DAY, phase, plan, task } from './timeline-cases.ts'

const T0 = Date.UTC(2027, 2, 1)
const ZONE = 'Pacific/Auckland'
const LOTS = 200

const codes = Array.from({ length: LOTS }, (_, i) => `L${String(i + 1).padStart(3, '0')}`)
const model = buildModel(
  plan(
    codes.flatMap((code) => [
      task(`${code}/read/1`, T0, 1, { next: [`${code}/rack/1`] }),
      task(`${code}/rack/1`, T0 + DAY, 2, {
        name: 'Rack',
        family: 'move',
        prev: [`${code}/read/1`],
        toVessels: ['T02'],
      }),
    ]),
    codes.map((code) => phase(code, 'ferment', T0, T0 + 9 * DAY)),
  ),
)
const rows = arrangeRows(model, ARRANGED, T0)
const days = layDays(T0 - 30 * DAY, T0 + 60 * DAY, ZONE)
const words = wordsFor('en', ZONE)
const load = layLoad(model, days)

const frameAt = (scrollPx: number): Frame =>
  layFrame({
    model,
    rows,
    stack: stackRows(rows, 30, 20),
    scale: timeScale(T0 - 5 * DAY, T0 + 15 * DAY, 1000, 180),
    scrollPx,
    geometry: { widthPx: 1180, heightPx: 700, gutterPx: 180, axisPx: 50, stripPx: 56, rowPx: 30, textPx: 12 },
    days,
    load,
    words,
    nowMs: T0 - DAY,
  })

const rest = () => new Promise((done) => setTimeout(done, 160))

function mount() {
  const [frame, setFrame] = createSignal(frameAt(0))
  const [place, setPlace] = createSignal<Place>()
  const opened: number[] = []
  const asked: string[] = []
  render(() => (
    <Grid
      frame={frame()}
      model={model}
      rows={rows}
      words={words}
      nowMs={T0 - DAY}
      label="Season"
      place={place()}
      onPlace={setPlace}
      onOpen={(ix) => opened.push(ix)}
      onKey={(event, at) => {
        if (event.key !== 'm' || at.ix === undefined) return false
        asked.push(`move ${at.ix}`)
        return true
      }}
      reveal={() => undefined}
    />
  ))
  return { setFrame, place, opened, asked }
}

const shownRows = () => screen.getAllByRole('row')
const indices = () => shownRows().map((r) => Number(r.getAttribute('aria-rowindex')))

afterEach(cleanup)

describe('the grid over the chart', () => {
  it('holds only the rows in sight, and says how many there are', async () => {
    mount()
    await rest()
    expect(screen.getByRole('treegrid').getAttribute('aria-rowcount')).toBe(String(LOTS + 1))
    expect(shownRows().length).toBeLessThan(30)
  })

  it('keeps row numbers rising through a hundred leaps up and down', async () => {
    const { setFrame } = mount()
    let scroll = 0
    for (let i = 0; i < 100; i++) {
      // Steps of a multiplicative walk: near and far, up and down, always the same.
      scroll = (scroll * 31 + 1777) % (LOTS * 30 - 600)
      setFrame(frameAt(scroll))
      if (i % 10 === 0) await rest()
    }
    await rest()
    const numbers = indices()
    expect(numbers).toEqual([...new Set(numbers)].toSorted((a, b) => a - b))
    expect(numbers.length).toBeLessThan(30)
  })

  it('keeps the row that has the focus while it is scrolled away', async () => {
    const { setFrame } = mount()
    await rest()
    const second = shownRows()[2] as HTMLElement
    second.focus()
    setFrame(frameAt(3000))
    await rest()
    expect(document.activeElement?.getAttribute('data-place')).toBe('L002')
    expect(indices()).toContain(3)
  })

  it('has one stop for the tab key', async () => {
    mount()
    await rest()
    expect(shownRows().filter((r) => r.tabIndex === 0)).toHaveLength(1)
  })

  it('opens a row, steps through its tasks in time, opens and moves them by keys alone', async () => {
    const { place, opened, asked } = mount()
    await rest()
    const first = shownRows()[1] as HTMLElement
    first.focus()
    expect(first.getAttribute('aria-expanded')).toBe('false')
    fireEvent.keyDown(first, { key: 'ArrowRight' })
    expect(first.getAttribute('aria-expanded')).toBe('true')
    fireEvent.keyDown(document.activeElement as Element, { key: 'n' })
    await rest()
    expect(document.activeElement?.textContent).toContain('Read density')
    fireEvent.keyDown(document.activeElement as Element, { key: 'n' })
    await rest()
    expect(document.activeElement?.textContent).toContain('Rack')
    expect(document.activeElement?.textContent).toContain('waits for Read density')
    fireEvent.keyDown(document.activeElement as Element, { key: 'm' })
    fireEvent.keyDown(document.activeElement as Element, { key: 'Enter' })
    expect(asked).toEqual(['move 1'])
    expect(opened).toEqual([1])
    fireEvent.keyDown(document.activeElement as Element, { key: 'ArrowLeft' })
    expect(place()).toEqual({ rowId: 'L001' })
  })

  it('names seven columns, and each task fills them', async () => {
    mount()
    await rest()
    expect(screen.getAllByRole('columnheader')).toHaveLength(7)
    const first = shownRows()[1] as HTMLElement
    first.focus()
    fireEvent.keyDown(first, { key: 'ArrowRight' })
    await rest()
    const child = shownRows().find((r) => r.getAttribute('aria-level') === '2')
    expect(child?.querySelectorAll('[role=gridcell]')).toHaveLength(7)
    expect(child?.getAttribute('aria-rowindex')).toBe('3')
  })
})
