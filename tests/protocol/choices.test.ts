import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { type ChoiceKey, type Choices, choices, STYLES, type Style } from '../../api/protocol/choices.ts'
import { defaultsFor, differences, READY_IN } from '../../api/protocol/defaults.ts'
import { EFFECTS, effectsOf, NOTES, noteOf, STYLE_NOTES } from '../../api/protocol/notes.ts'
import { referenceOf } from '../../api/protocol/references.ts'
import { anyChoices } from './cases.ts'

type Cell = Partial<Choices> | ((choice: Choices) => boolean)

/** The table of defaults by style, row by row, as printed (common practice). A range in the table is a test of the range. */
const within = (key: ChoiceKey, min: number, max: number) => (choice: Choices) => {
  const value = choice[key]
  return typeof value === 'number' && value >= min && value <= max
}

const TABLE: Readonly<Record<string, Readonly<Record<Style, Cell>>>> = {
  picking: {
    crisp: { pickMode: 'machine', pickHour: 2 },
    textured: { pickMode: 'hand', pickHour: 6 },
    offdry: { pickMode: 'hand', pickHour: 6 },
    sparkling: { pickMode: 'hand', pickHour: 6 },
    orange: { pickMode: 'hand', pickHour: 6 },
    neutral: { pickMode: 'machine', pickHour: 2 },
    sweet: (choice) => choice.pickMode === 'hand' && choice.pickHour === 9 && choice.pickPasses > 1,
  },
  'fruit cooling': {
    crisp: { fruitCooling: 'must-chiller' },
    textured: { fruitCooling: 'cold-room' },
    offdry: { fruitCooling: 'cold-room' },
    sparkling: { fruitCooling: 'none' },
    orange: { fruitCooling: 'none' },
    neutral: { fruitCooling: 'none' },
    sweet: { fruitCooling: 'none' },
  },
  processing: {
    crisp: { processing: 'destem-crush' },
    textured: { processing: 'whole-bunch' },
    offdry: { processing: 'whole-bunch' },
    sparkling: { processing: 'whole-bunch' },
    orange: { processing: 'on-skins' },
    neutral: { processing: 'destem-crush' },
    sweet: { processing: 'whole-bunch' },
  },
  'oxygen in juice': {
    crisp: { juiceOxygen: 'protective' },
    textured: { juiceOxygen: 'moderate' },
    offdry: { juiceOxygen: 'protective' },
    sparkling: { juiceOxygen: 'moderate' },
    orange: { juiceOxygen: 'moderate' },
    neutral: { juiceOxygen: 'moderate' },
    sweet: { juiceOxygen: 'moderate' },
  },
  'SO2 at crush or press': {
    crisp: { so2CrushMgPerL: 50 },
    textured: { so2CrushMgPerL: 20 },
    offdry: { so2CrushMgPerL: 50 },
    sparkling: { so2CrushMgPerL: 50 },
    orange: { so2CrushMgPerL: 0 },
    neutral: { so2CrushMgPerL: 40 },
    sweet: { so2CrushMgPerL: 60 },
  },
  'skin contact': {
    crisp: { skinContactH: 0 },
    textured: { skinContactH: 0 },
    offdry: { skinContactH: 0 },
    sparkling: { skinContactH: 0 },
    orange: { skinContactH: 0 },
    neutral: { skinContactH: 0 },
    sweet: within('skinContactH', 0, 12),
  },
  'days on skins': {
    crisp: { skinFermentDays: 0 },
    textured: { skinFermentDays: 0 },
    offdry: { skinFermentDays: 0 },
    sparkling: { skinFermentDays: 0 },
    orange: { skinFermentDays: 45 },
    neutral: { skinFermentDays: 0 },
    sweet: { skinFermentDays: 0 },
  },
  'press program and fractions': {
    crisp: { pressProgram: 'standard', fractions: 2 },
    textured: { pressProgram: 'whole-bunch-gentle', fractions: 1 },
    offdry: { pressProgram: 'whole-bunch-gentle', fractions: 2 },
    sparkling: { pressProgram: 'sparkling-fractions', fractions: 2 },
    orange: { pressProgram: 'basket', fractions: 2 },
    neutral: { pressProgram: 'standard', fractions: 1 },
    sweet: { pressProgram: 'long-slow', fractions: 1 },
  },
  clarification: {
    crisp: { clarification: 'cold-settle', clarityNtu: 80 },
    textured: { clarification: 'short-settle', clarityNtu: 200 },
    offdry: { clarification: 'cold-settle', clarityNtu: 100 },
    sparkling: { clarification: 'cold-settle', clarityNtu: 100 },
    orange: { clarification: 'none' },
    neutral: { clarification: 'flotation', clarityNtu: 120 },
    sweet: { clarification: 'cold-settle', clarityNtu: 200 },
  },
  vessel: {
    crisp: { vessel: 'jacketed-tank' },
    textured: {
      vessel: 'used-barrel',
      vesselParts: [
        { vessel: 'used-barrel', share: 0.7 },
        { vessel: 'new-barrel', share: 0.3 },
      ],
    },
    offdry: { vessel: 'pressure-tank' },
    sparkling: { vessel: 'jacketed-tank' },
    orange: { vessel: 'amphora' },
    neutral: { vessel: 'jacketed-tank' },
    // The table says used barrel, and conflict K09 refuses a stop in one: wood comes after the stop.
    sweet: { vessel: 'jacketed-tank', oak: 'used' },
  },
  yeast: {
    crisp: { yeast: 'selected' },
    textured: { yeast: 'ambient' },
    offdry: { yeast: 'selected' },
    sparkling: { yeast: 'selected' },
    orange: { yeast: 'ambient' },
    neutral: { yeast: 'selected' },
    sweet: { yeast: 'selected', yeastGPerHL: 50 },
  },
  'fermentation temperature': {
    crisp: { fermentTempC: 13, fermentEndTempC: 15 },
    textured: within('fermentTempC', 18, 22),
    offdry: { fermentTempC: 14 },
    sparkling: { fermentTempC: 15 },
    orange: within('fermentTempC', 20, 24),
    neutral: { fermentTempC: 16 },
    sweet: { fermentTempC: 18 },
  },
  nutrients: {
    crisp: { nutrientTargetMgPerL: 200 },
    textured: { nutrientTargetMgPerL: 150 },
    offdry: { nutrientTargetMgPerL: 200 },
    sparkling: { nutrientTargetMgPerL: 150 },
    orange: { nutrientTargetMgPerL: 0 },
    neutral: { nutrientTargetMgPerL: 150 },
    sweet: { nutrientTargetMgPerL: 250 },
  },
  'end of fermentation': {
    crisp: { endPoint: 'dry' },
    textured: { endPoint: 'dry' },
    offdry: (choice) => choice.endPoint === 'stop' && within('stopSugarGPerL', 15, 25)(choice),
    sparkling: { endPoint: 'dry' },
    orange: { endPoint: 'dry' },
    neutral: { endPoint: 'dry' },
    sweet: (choice) => choice.endPoint === 'stop' && within('stopSugarGPerL', 90, 150)(choice),
  },
  malolactic: {
    crisp: { malolactic: 'refuse' },
    textured: (choice) => choice.malolactic === 'allow' || choice.malolactic === 'after',
    offdry: { malolactic: 'refuse' },
    sparkling: (choice) => choice.malolactic === 'refuse' || choice.malolactic === 'after',
    orange: { malolactic: 'allow' },
    neutral: { malolactic: 'refuse' },
    sweet: { malolactic: 'refuse' },
  },
  lees: {
    crisp: (choice) => choice.grossLees === 'within-3-days' && within('fineLeesMonths', 1, 3)(choice),
    textured: { grossLees: 'keep', fineLeesMonths: 9 },
    offdry: (choice) => choice.grossLees === 'within-3-days' && within('fineLeesMonths', 1, 3)(choice),
    sparkling: (choice) => choice.grossLees === 'within-10-days' && within('fineLeesMonths', 3, 6)(choice),
    orange: (choice) => choice.grossLees === 'with-pressing' && within('fineLeesMonths', 3, 6)(choice),
    neutral: (choice) => choice.grossLees === 'within-10-days' && within('fineLeesMonths', 0, 1)(choice),
    sweet: { grossLees: 'within-10-days', fineLeesMonths: 12 },
  },
  stirring: {
    crisp: { stirring: 'none' },
    textured: { stirring: 'weekly', stirringWeeklyFor: 8 },
    offdry: { stirring: 'none' },
    sparkling: { stirring: 'none' },
    orange: { stirring: 'none' },
    neutral: { stirring: 'none' },
    sweet: { stirring: 'none' },
  },
  oak: {
    crisp: { oak: 'none' },
    textured: (choice) => choice.oak === 'new' && within('oakNewShare', 0.25, 0.35)(choice),
    offdry: { oak: 'none' },
    sparkling: (choice) => choice.oak === 'none' || choice.oak === 'cask',
    orange: { oak: 'none' },
    neutral: (choice) => choice.oak === 'none' || within('oakPiecesGPerL', 1, 2)(choice),
    sweet: { oak: 'used' },
  },
  'first SO2': {
    crisp: { firstSo2: 'after-dry' },
    textured: { firstSo2: 'after-malolactic' },
    offdry: { firstSo2: 'at-once' },
    sparkling: { firstSo2: 'after-dry', molecularSo2MgPerL: 0.5 },
    orange: { firstSo2: 'after-pressing' },
    neutral: { firstSo2: 'after-dry' },
    sweet: { firstSo2: 'at-once' },
  },
  'storage temperature': {
    crisp: within('maturationC', 8, 12),
    textured: within('maturationC', 12, 16),
    offdry: within('maturationC', 2, 8),
    sparkling: within('maturationC', 8, 12),
    orange: within('maturationC', 12, 16),
    neutral: within('maturationC', 12, 16),
    sweet: within('maturationC', 8, 12),
  },
  'stabilisation and filtration': {
    crisp: { proteinStability: 'by-test', tartrateStability: 'cold', filtration: 'sterile' },
    textured: { proteinStability: 'by-test', tartrateStability: 'cold', filtration: 'polish' },
    offdry: { proteinStability: 'by-test', tartrateStability: 'cold', filtration: 'sterile' },
    sparkling: { proteinStability: 'by-test', tartrateStability: 'cold', filtration: 'polish' },
    orange: (choice) => choice.proteinStability === 'none' && choice.filtration !== 'sterile',
    neutral: { proteinStability: 'by-test', tartrateStability: 'cold', filtration: 'sterile' },
    sweet: { proteinStability: 'by-test', tartrateStability: 'cold', filtration: 'sterile' },
  },
  finish: {
    crisp: { finish: 'bottling' },
    textured: { finish: 'bottling' },
    offdry: { finish: 'bottling' },
    sparkling: { finish: 'tirage' },
    orange: { finish: 'bottling' },
    neutral: { finish: 'bottling' },
    sweet: { finish: 'bottling' },
  },
}

describe('the defaults by style', () => {
  for (const [row, cells] of Object.entries(TABLE))
    for (const style of STYLES)
      it(`${style}, ${row}: as the table says (common practice)`, () => {
        const cell = cells[style]
        const given = defaultsFor(style)
        if (typeof cell === 'function') expect(cell(given)).toBe(true)
        else expect(given).toMatchObject(cell)
      })

  it('are complete answers of the form', () => {
    for (const style of STYLES) {
      expect(choices.parse(defaultsFor(style))).toEqual(defaultsFor(style))
      expect(defaultsFor(style).style).toBe(style)
    }
  })

  it('have shares that add up to one', () => {
    for (const style of STYLES) {
      const parts = defaultsFor(style).vesselParts
      if (parts) expect(parts.reduce((sum, part) => sum + part.share, 0)).toBeCloseTo(1, 12)
    }
  })

  it('are ready in the months of the table', () => {
    const table = {
      crisp: '8+0',
      textured: '2+1',
      offdry: '8+0',
      sparkling: '9+0',
      orange: '2+1',
      neutral: '7+0',
      sweet: '10+1',
    }
    for (const style of STYLES) expect(`${READY_IN[style].month}+${READY_IN[style].yearsAfter}`).toBe(table[style])
  })
})

describe('differences from a style', () => {
  it('name what was answered and what is usual', () => {
    const usual = defaultsFor('crisp')
    expect(differences({ ...usual, yeast: 'ambient', settleH: 20 }, usual)).toEqual([
      { key: 'yeast', chosen: 'ambient', usual: 'selected' },
      { key: 'settleH', chosen: 20, usual: undefined },
    ])
  })

  it('are none from itself, whatever the answers', () => {
    fc.assert(
      fc.property(anyChoices, (answers) => {
        expect(differences(answers, answers)).toEqual([])
      }),
    )
  })

  it('put on the usual answers give the chosen ones back', () => {
    fc.assert(
      fc.property(anyChoices, (answers) => {
        const usual = defaultsFor(answers.style)
        const changed = Object.fromEntries(differences(answers, usual).map((entry) => [entry.key, entry.chosen]))
        const rebuilt = Object.fromEntries(
          Object.entries({ ...usual, ...changed }).filter(([, value]) => value !== undefined),
        )
        const wanted = Object.fromEntries(Object.entries(answers).filter(([, value]) => value !== undefined))
        expect(rebuilt).toEqual(wanted)
      }),
    )
  })
})

describe('the notes beside the form', () => {
  it('are 25, in order', () => {
    expect(NOTES.map((note) => note.nr)).toEqual(Array.from({ length: 25 }, (_, i) => i + 1))
  })

  it('cover every answer exactly once', () => {
    const covered = NOTES.flatMap((note) => note.keys)
    expect([...covered].sort()).toEqual(
      Object.keys(choices.shape)
        .filter((key) => key !== 'style')
        .sort(),
    )
    expect(new Set(covered).size).toBe(covered.length)
    expect(noteOf('settleH').label).toBe('Juice clarification')
  })

  it('label every option there is, and no other', () => {
    for (const note of NOTES)
      for (const key of note.keys) {
        const allowed = optionsOf(key)
        if (allowed)
          expect(
            note.options[key]?.map((option) => option.value),
            key,
          ).toEqual(allowed)
        else expect(note.options[key], key).toBeUndefined()
      }
  })

  it('say what each does to wine, time, cost and labour, on a basis that exists', () => {
    for (const note of NOTES) {
      for (const words of [note.question, note.wine, note.time, note.cost, note.labour])
        expect(words, note.label).toMatch(/[.?]$/)
      if (note.basis.kind === 'source') expect(note.basis.refs?.length, note.label).toBeGreaterThan(0)
      for (const ref of note.basis.refs ?? []) expect(referenceOf(ref), `${note.label} ${ref}`).toBeDefined()
    }
  })

  it('tell the seven styles apart', () => {
    expect(Object.keys(STYLE_NOTES)).toEqual([...STYLES])
    expect(new Set(Object.values(STYLE_NOTES).map((note) => note.label)).size).toBe(STYLES.length)
  })

  it('show the effect of each vessel in use, then of the oak', () => {
    const textured = defaultsFor('textured')
    expect(effectsOf(textured)).toEqual([EFFECTS.vessel['used-barrel'], EFFECTS.vessel['new-barrel'], EFFECTS.oak.new])
    expect(effectsOf(defaultsFor('crisp'))).toEqual([EFFECTS.vessel['jacketed-tank'], EFFECTS.oak.none])
  })
})

/** The values a one-of-a-list answer may take, read from the form's own schema. */
function optionsOf(key: ChoiceKey): readonly string[] | undefined {
  if (key === 'fractions') return ['1', '2', '3']
  if (key === 'claims') return choices.shape.claims.unwrap().element.options
  const field: unknown = choices.shape[key]
  return field && typeof field === 'object' && 'options' in field && Array.isArray(field.options)
    ? field.options.map(String)
    : undefined
}
