import { describe, expect, it } from 'vitest'
import { createTempo } from '../../api/feed/tempo.ts'
import { zoneData } from '../../api/feed/zone-data.ts'

describe('requests in a window', () => {
  it('pass up to the limit, then wait, and pass again when the window has moved on', () => {
    const tempo = createTempo(3, 60_000)
    expect([0, 1, 2].map((s) => tempo.take('a', s * 1000))).toEqual([0, 0, 0])
    expect(tempo.take('a', 3_000)).toBe(57)
    expect(tempo.take('b', 3_000)).toBe(0)
    // A second into the next window, 59/60 of the three before still count: 2.95, so one may pass and then none.
    expect(tempo.take('a', 61_000)).toBe(0)
    expect(tempo.take('a', 62_000)).toBeGreaterThan(0)
    expect(tempo.take('a', 119_000)).toBe(0)
    expect(tempo.take('a', 600_000)).toBe(0)
  })
})

describe('the age of the zone data', () => {
  it('is a warning only where the cellar’s own zone changed since', () => {
    expect(zoneData('Pacific/Auckland', '2025c')).toEqual({ edition: '2025c' })
    expect(zoneData('America/Vancouver', '2025c').warning).toContain('2025c')
    expect(zoneData('America/Vancouver', '2026f')).toEqual({ edition: '2026f' })
    expect(zoneData('America/Vancouver', '2027a')).toEqual({ edition: '2027a' })
  })
})
