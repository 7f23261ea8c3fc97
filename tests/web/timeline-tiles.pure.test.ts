import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { layDays } from '../../web/timeline/days.ts'
import { type FrameInput, layFrame } from '../../web/timeline/frame.ts'
import { layLoad } from '../../web/timeline/load.ts'
import { buildModel } from '../../web/timeline/model.ts'
import { ARRANGED, arrangeRows } from '../../web/timeline/rows.ts'
import { steadyScale, timeScale } from '../../web/timeline/scale.ts'
import { stackRows } from '../../web/timeline/stack.ts'
import { boxInput, isSameBasis, type Look, tilesIn, tilingOf } from '../../web/timeline/tiles.ts'
import { wordsFor } from '../../web/timeline/words.ts'
import { DAY, plan, T0, VINTAGE } from './timeline-cases.ts'

const ZONE = 'Pacific/Auckland'
const model = buildModel(plan(VINTAGE.tasks, VINTAGE.phases))
const rows = arrangeRows(model, ARRANGED, T0)
const days = layDays(T0 - 60 * DAY, T0 + 120 * DAY, ZONE)
const load = layLoad(model, days)
const words = wordsFor('en', ZONE)
const geometry = { widthPx: 1180, heightPx: 400, gutterPx: 180, axisPx: 50, stripPx: 56, rowPx: 30, textPx: 12 }

const input = (fromMs: number, scrollPx: number): FrameInput => ({
  model,
  rows,
  stack: stackRows(rows, 30, 30),
  scale: steadyScale(timeScale(fromMs, fromMs + 30 * DAY, 1000, 180), model.firstMs, 1),
  scrollPx,
  geometry,
  days,
  load,
  words,
  nowMs: T0 + 5 * DAY,
  allLinks: true,
})

const look = fc.record({
  left: fc.integer({ min: -5000, max: 5000 }),
  top: fc.integer({ min: -300, max: 3000 }),
  width: fc.integer({ min: 50, max: 1500 }),
  height: fc.integer({ min: 40, max: 900 }),
})

describe('tiles', () => {
  it('fill exactly what is seen when they are laid, and no pixel twice', () => {
    fc.assert(
      fc.property(look, (at) => {
        const tiling = tilingOf(at, 3, 3)
        const tiles = tilesIn(tiling, at)
        expect(tiles.length).toBeLessThanOrEqual(9)
        expect(tiles.every((t) => t.column >= 0 && t.row >= 0)).toBe(true)
        expect(tiling.width * 3 - at.width).toBeLessThan(3)
        expect(tiling.height * 3 - at.height).toBeLessThan(3)
      }),
    )
  })

  it('lie under every pixel that is looked at, each under one, wherever a pan has gone', () => {
    fc.assert(
      fc.property(look, fc.integer({ min: -9000, max: 9000 }), fc.integer({ min: -900, max: 900 }), (first, dx, dy) => {
        const tiling = tilingOf(first, 3, 3)
        const at: Look = { ...first, left: first.left + dx, top: first.top + dy }
        const tiles = tilesIn(tiling, at)
        for (const [x, y] of [
          [at.left, at.top],
          [at.left + at.width - 1, at.top],
          [at.left, at.top + at.height - 1],
          [at.left + at.width - 1, at.top + at.height - 1],
          [at.left + (at.width >> 1), at.top + (at.height >> 1)],
        ] as const) {
          const under = tiles.filter((t) => {
            const tileX = tiling.left + t.column * tiling.width
            const tileY = tiling.top + t.row * tiling.height
            return x >= tileX && x < tileX + tiling.width && y >= tileY && y < tileY + tiling.height
          })
          expect(under).toHaveLength(1)
        }
        // A third of what is seen may stand over at each side, no more.
        expect(tiles.length).toBeLessThanOrEqual(16)
      }),
    )
  })

  it('have the very marks that the whole frame has there', () => {
    const whole = layFrame(input(T0 - 2 * DAY, 0))
    const left = Math.round((whole.scale.fromMs - model.firstMs) * whole.scale.pxPerMs)
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 900 }),
        fc.integer({ min: 0, max: 200 }),
        fc.integer({ min: 40, max: 400 }),
        (x, y, width) => {
          const box = { left: left + x, top: y, width, height: 90 }
          const tile = layFrame(boxInput(input(T0 - 2 * DAY, 0), box, 1, 'rows'))
          // From the whole frame's pixels to the tile's: the names are 180 wide, axis and strip 106 high.
          const [dx, dy] = [180 + x, 106 + y]
          for (const row of tile.rows) {
            const same = whole.rows.find((r) => r.row.id === row.row.id)
            if (!same) continue
            expect(row.place.y).toBeCloseTo(same.place.y - dy, 6)
            const seen = same.marks.pegs.filter((p) => p.x - dx >= 0 && p.x - dx <= width)
            for (const peg of seen) {
              const twin = row.marks.pegs.find((p) => p.members[0] === peg.members[0])
              expect(twin?.x).toBeCloseTo(peg.x - dx, 4)
              expect(twin).toMatchObject({ members: peg.members, look: peg.look, label: peg.label })
            }
            const dots = (list: readonly { dots: readonly number[] }[], by: number) =>
              list
                .flatMap((b) => b.dots.filter((_, i) => i % 2 === 0).map((at) => at - by))
                .filter((at) => at >= 0 && at <= width)
            const [mine, theirs] = [dots(row.marks.bands, 0), dots(same.marks.bands, dx)]
            expect(mine).toHaveLength(theirs.length)
            mine.forEach((at, i) => {
              expect(at).toBeCloseTo(theirs[i] as number, 4)
            })
          }
        },
      ),
      { numRuns: 40 },
    )
  })

  it('stand until anything they were drawn from is another', () => {
    const basis = [model, rows, 3, undefined]
    expect(isSameBasis(basis, [...basis])).toBe(true)
    expect(isSameBasis(basis, [model, rows, 4, undefined])).toBe(false)
    expect(isSameBasis(basis, [model, rows, 3])).toBe(false)
    expect(isSameBasis(undefined, basis)).toBe(false)
  })
})
