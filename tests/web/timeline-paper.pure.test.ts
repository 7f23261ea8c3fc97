import { describe, expect, it } from 'vitest'
import { contrast, DAY as DAY_GROUND, NIGHT, type Palette } from '../../web/palette.ts'
import { layDays } from '../../web/timeline/days.ts'
import { layLoad } from '../../web/timeline/load.ts'
import { buildModel } from '../../web/timeline/model.ts'
import { onPaper, PAPER_PX, printSheets, WALL_ROW_PX } from '../../web/timeline/print.ts'
import { ARRANGED, arrangeRows } from '../../web/timeline/rows.ts'
import { wordsFor } from '../../web/timeline/words.ts'
import { DAY, HOUR, phase, plan, task } from './timeline-cases.ts'

describe.each([DAY_GROUND, NIGHT] as const)('the $name ground', (palette: Palette) => {
  it('has ink at 7:1 and small print at 4.5:1', () => {
    expect(contrast(palette.ink, palette.ground)).toBeGreaterThanOrEqual(7)
    expect(contrast(palette.quiet, palette.ground)).toBeGreaterThanOrEqual(4.5)
  })

  it.each(Object.entries(palette.kinds))('shows the stroke of %s at 3:1', (_, stroke) => {
    expect(contrast(stroke, palette.ground)).toBeGreaterThanOrEqual(3)
  })

  it.each(Object.entries(palette.tints))('carries ink on the fill of %s at 7:1', (_, tint) => {
    expect(contrast(palette.ink, tint)).toBeGreaterThanOrEqual(7)
  })

  it('shows late, conflict, done and the focus ring at 3:1, and hairlines below 1.4:1', () => {
    for (const colour of [palette.late, palette.conflict, palette.done, palette.focus])
      expect(contrast(colour, palette.ground)).toBeGreaterThanOrEqual(3)
    expect(contrast(palette.hair, palette.ground)).toBeLessThan(1.4)
  })
})

it('contrast agrees with the two ends of the standard', () => {
  expect(contrast('#000000', '#FFFFFF')).toBeCloseTo(21, 5)
  expect(contrast('#777777', '#FFFFFF')).toBeCloseTo(4.48, 2)
})

/** Sunday 4 April 2027 has 25 hours in Auckland; the week of that Sunday begins on Monday 29 March. */
const ZONE = 'Pacific/Auckland'
const MONDAY = Date.UTC(2027, 2, 28, 11)
const SUNDAY = MONDAY + 6 * DAY

function sheetsOf(weeksPerSheet: number, spanDays: number, lots: number) {
  const codes = Array.from({ length: lots }, (_, i) => `L${String(i + 1).padStart(2, '0')}`)
  const tasks = codes.flatMap((code) => [
    task(`${code}/before/1`, SUNDAY + 2 * HOUR, 1, { name: 'First two o\u2019clock', lotName: '<north> & "south"' }),
    task(`${code}/after/1`, SUNDAY + 3 * HOUR, 1, { name: 'Second two', late: true }),
  ])
  const model = buildModel(
    plan(
      tasks,
      codes.map((c) => phase(c, 'ferment', MONDAY, MONDAY + 20 * DAY, { ratePerDay: Array(20).fill(10) })),
    ),
  )
  const days = layDays(MONDAY - 60 * DAY, MONDAY + 200 * DAY, ZONE)
  return printSheets(
    {
      model,
      rows: arrangeRows(model, ARRANGED, MONDAY),
      days,
      load: layLoad(model, days),
      words: wordsFor('en', ZONE),
      nowMs: MONDAY + DAY,
      palette: DAY_GROUND,
      title: 'A cellar',
    },
    { paper: 'A4', fromMs: MONDAY, toMs: MONDAY + spanDays * DAY, weeksPerSheet, rowPx: WALL_ROW_PX },
  )
}

describe('paper', () => {
  it('draws the week with 25 hours on Sunday whole: seven days, Sunday wider by an hour', () => {
    const [sheet] = sheetsOf(1, 7, 3)
    const svg = sheet?.svg ?? ''
    const labels = [...svg.matchAll(/<text x="([\d.]+)" y="44"[^>]*>(\w{3} \d+)<\/text>/g)].map((m) => ({
      x: Number(m[1]),
      label: m[2],
    }))
    expect(labels.map((l) => l.label)).toEqual(['Mon 29', 'Tue 30', 'Wed 31', 'Thu 1', 'Fri 2', 'Sat 3', 'Sun 4'])
    const plotPx = PAPER_PX.A4[0] - 184
    expect((labels[1]?.x ?? 0) - (labels[0]?.x ?? 0)).toBeCloseTo((plotPx * 24) / 169, 1)
  })

  it('cuts many lots and weeks into numbered sheets, each with dates, names and a key', () => {
    const sheets = sheetsOf(4, 12 * 7, 40)
    expect(sheets.length).toBeGreaterThan(6)
    expect(sheets.map((s) => s.number)).toEqual(sheets.map((_, i) => i + 1))
    for (const { svg, of } of sheets) {
      expect(of).toBe(sheets.length)
      expect(svg).toContain('A cellar')
      expect(svg).toMatch(/sheet r\d+ c\d+/)
      expect(svg).toMatch(/>L\d\d</)
    }
    const names = new Set(sheets.flatMap((s) => [...s.svg.matchAll(/>(L\d\d)</g)].map((m) => m[1])))
    expect(names.size).toBe(40)
  })

  it('kept as a picture has the paper’s own size and 10 mm of white around', () => {
    // ISO 216: A4 is 297 x 210 mm; at 96 px an inch 1,122.5 x 793.7 px, 10 mm are 37.8 px. Whole pixels, so within 1.
    const picture = onPaper(sheetsOf(1, 7, 2)[0]!, 'A4')
    const [, w, h, x, y] = picture.match(/^<svg [^>]*width="(\d+)" height="(\d+)" viewBox="(-\d+) (-\d+) /)!.map(Number)
    expect(Math.abs(w! - 1122.5)).toBeLessThanOrEqual(1)
    expect(Math.abs(h! - 793.7)).toBeLessThanOrEqual(1)
    expect([x, y]).toEqual([-38, -38])
    expect(picture).toContain(`<rect x="-38" y="-38" width="${w}" height="${h}" fill="#FFFFFF"/>`)
  })

  it('keys only the signs a sheet uses, and writes text as text', () => {
    const [sheet] = sheetsOf(1, 7, 2)
    expect(sheet?.svg).toContain('>late</text>')
    expect(sheet?.svg).not.toContain('>blocked</text>')
    expect(sheet?.svg).toContain('&lt;north&gt; &amp;')
    expect(sheet?.svg).not.toContain('<north>')
  })

  it('is well-formed: every element that opens closes, every reference is defined', () => {
    for (const { svg } of sheetsOf(2, 14, 5)) {
      const open: string[] = []
      for (const [, slash, name, selfClosed] of svg.matchAll(/<(\/?)([a-zA-Z]+)[^>]*?(\/?)>/g)) {
        if (slash) expect(open.pop()).toBe(name)
        else if (!selfClosed) open.push(name ?? '')
      }
      expect(open).toEqual([])
      const ids = new Set([...svg.matchAll(/ id="([^"]+)"/g)].map((m) => m[1]))
      for (const [, id] of svg.matchAll(/(?:url\(#|href="#)([^)"]+)/g)) expect(ids).toContain(id)
    }
  })
})
