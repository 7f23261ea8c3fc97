import { describe, expect, it } from 'vitest'
import { fillingsOf, fillsOf, type Said, stateOf } from '../../../api/cellar/ledger/state.ts'

const BEFORE = Number.NEGATIVE_INFINITY
const said = (state: string, atMs = BEFORE, fills?: number): Said<string> => ({
  state,
  atMs,
  ...(fills === undefined ? {} : { fills }),
})
const filled = (atMs: number, lotId: string) => ({ atMs, beforeMl: 0, afterMl: 220_000, afterLotId: lotId })
const emptied = (atMs: number, lotId: string) => ({ atMs, beforeMl: 220_000, afterMl: 0, beforeLotId: lotId })

describe('the state of a vessel', () => {
  it('is what was said of it until wine or work says otherwise', () => {
    expect(stateOf(said('sanitised'), [], [])).toBe('sanitised')
    // Said to be full, and no wine in the books: something is in it, or was.
    expect(stateOf(said('full'), [], [])).toBe('dirty')
  })

  it('is full with wine in it, dirty once it ran empty, and then what it was washed to', () => {
    const full = fillingsOf([filled(10, 'L01')])
    const left = fillingsOf([filled(10, 'L01'), emptied(20, 'L01')])
    expect(stateOf(said('sanitised'), full, [{ atMs: 9, state: 'sanitised' }])).toBe('full')
    expect(stateOf(said('sanitised'), left, [{ atMs: 9, state: 'sanitised' }])).toBe('dirty')
    expect(stateOf(said('sanitised'), left, [{ atMs: 21, state: 'clean' }])).toBe('clean')
    const later = [
      { atMs: 30, state: 'sulphured' as const },
      { atMs: 21, state: 'clean' as const },
    ]
    expect(stateOf(said('sanitised'), left, later)).toBe('sulphured')
  })

  it('follows what a person says, from when it is said', () => {
    const left = fillingsOf([filled(10, 'L01'), emptied(20, 'L01')])
    expect(stateOf(said('clean', 25), left, [])).toBe('clean')
    expect(stateOf(said('clean', 15), left, [])).toBe('dirty')
    expect(stateOf(said('dirty', 40), left, [{ atMs: 30, state: 'sanitised' }])).toBe('dirty')
  })

  it('stays out of service until somebody says otherwise, but for wine that is in it', () => {
    const left = fillingsOf([filled(10, 'L01'), emptied(20, 'L01')])
    expect(stateOf(said('out-of-service', 5), left, [{ atMs: 30, state: 'clean' }])).toBe('out-of-service')
    expect(stateOf(said('out-of-service', 5), fillingsOf([filled(10, 'L01')]), [])).toBe('full')
  })
})

describe('the wines a barrel has held', () => {
  it('are one more when a wine leaves, not when it comes', () => {
    const barrel = said('clean', BEFORE, 2)
    expect(fillsOf(barrel, fillingsOf([filled(10, 'L01')]))).toBe(2)
    expect(fillsOf(barrel, fillingsOf([filled(10, 'L01'), emptied(20, 'L01')]))).toBe(3)
  })

  it('are the same when the same wine comes back, also under a new name meanwhile', () => {
    const back = [filled(10, 'L01'), emptied(20, 'L01'), filled(21, 'L01')]
    expect(fillsOf(said('clean', BEFORE, 0), fillingsOf(back))).toBe(0)
    expect(fillsOf(said('clean', BEFORE, 0), fillingsOf([...back, emptied(30, 'L01a'), filled(31, 'L02')]))).toBe(1)
  })

  it('count on from what was said, and are not counted where nobody counts', () => {
    const page = fillingsOf([filled(10, 'L01'), emptied(20, 'L01'), filled(30, 'L02'), emptied(40, 'L02')])
    expect(fillsOf(said('clean', 25, 5), page)).toBe(6)
    expect(fillsOf(said('clean'), page)).toBeUndefined()
  })
})
