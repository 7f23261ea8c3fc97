import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { parcelName } from '../../api/ledger/tracing.ts'
import { fitted, LEAST_SCALE, MOST_SCALE, opened, panBy, sheetsOf, zoomAt } from '../../web/ledger/view.ts'

const drawing = { widthPx: 2000, heightPx: 1000 }
const screen = { widthPx: 800, heightPx: 600 }
const anyView = fc.record({
  x: fc.double({ min: -500, max: 2000, noNaN: true }),
  y: fc.double({ min: -500, max: 1000, noNaN: true }),
  scale: fc.double({ min: LEAST_SCALE, max: MOST_SCALE, noNaN: true }),
})

describe('the view of a drawing', () => {
  it('for any view, what is under the pointer stays under it at every zoom', () => {
    fc.assert(
      fc.property(
        anyView,
        fc.double({ min: 0.1, max: 10, noNaN: true }),
        fc.nat(800),
        fc.nat(600),
        (view, factor, px, py) => {
          const next = zoomAt(view, factor, px, py)
          expect(next.x + px / next.scale).toBeCloseTo(view.x + px / view.scale, 6)
          expect(next.y + py / next.scale).toBeCloseTo(view.y + py / view.scale, 6)
          expect(next.scale).toBeGreaterThanOrEqual(LEAST_SCALE)
          expect(next.scale).toBeLessThanOrEqual(MOST_SCALE)
        },
      ),
    )
  })

  it('for any pull, a strip of the drawing stays in the window', () => {
    const pull = fc.integer({ min: -9000, max: 9000 })
    fc.assert(
      fc.property(anyView, pull, pull, (view, dx, dy) => {
        const next = panBy(view, dx, dy, drawing, screen)
        expect(next.x).toBeLessThan(drawing.widthPx)
        expect(next.x + screen.widthPx / next.scale).toBeGreaterThan(0)
        expect(next.y).toBeLessThan(drawing.heightPx)
        expect(next.y + screen.heightPx / next.scale).toBeGreaterThan(0)
      }),
    )
  })

  it('fits a wide drawing by its width, in the middle of the height', () => {
    // 800 / 2000 = 0.4; 600 px show 1,500 of a drawing 1,000 high, so 250 above and below.
    expect(fitted(drawing, screen)).toEqual({ scale: 0.4, x: 0, y: -250 })
    expect(fitted({ widthPx: 100, heightPx: 100 }, screen).scale).toBe(1)
  })

  it('opens a long one where it can be read, about the wine asked for', () => {
    const view = opened({ widthPx: 900, heightPx: 20_000 }, screen, { x: 900, y: 10_000 })
    expect(view.scale).toBe(0.7)
    expect(view.y + screen.heightPx / 0.7 / 2).toBeCloseTo(10_000, 6)
  })

  it('goes on one sheet where it fits, and else covers all of it with sheets', () => {
    const paper = { widthPx: 1000, heightPx: 700 }
    expect(sheetsOf({ widthPx: 900, heightPx: 600 }, paper)).toHaveLength(1)
    // At 0.5 a sheet shows 2,000 x 1,400: 3,000 wide wants two, 3,000 high three.
    const sheets = sheetsOf({ widthPx: 3000, heightPx: 3000 }, paper, 0.5)
    expect(sheets).toHaveLength(6)
    expect(Math.max(...sheets.map((s) => s.x + s.widthPx))).toBeGreaterThanOrEqual(3000)
    expect(Math.max(...sheets.map((s) => s.y + s.heightPx))).toBeGreaterThanOrEqual(3000)
  })
})

describe('the name of a parcel', () => {
  const of = (code: string, block: string, variety: string) =>
    parcelName({ lot: { id: code, code, name: code }, block, variety, vintage: '2027' })

  it('begins with what tells it from others, since a box has room for twenty letters', () => {
    expect(of('L05', 'Top block', 'Sauvignon Blanc')).toBe('L05 Top block, Sauvignon Blanc 2027')
    expect(of('L05', '', 'Sauvignon Blanc')).toBe('L05, Sauvignon Blanc 2027')
    const parcels = demoFacts().lots.map((lot) => of(lot.code, lot.block, lot.variety).slice(0, 19))
    expect(new Set(parcels).size).toBe(demoFacts().lots.length)
    const one = ['L05', 'L06'].map((code) => of(code, 'Upper terrace of the long slope', 'Sauvignon Blanc'))
    expect(new Set(one.map((name) => name.slice(0, 19))).size).toBe(2)
  })
})
