import { readFileSync } from 'node:fs'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { MACHINE_KINDS, READING_KINDS } from '../../api/protocol/facts.ts'
import { REFERENCES, referenceOf } from '../../api/protocol/references.ts'
import { STEPS, stepOf, USUAL_SIZES } from '../../api/protocol/steps.ts'
import { FAMILIES, type StepSizes } from '../../api/protocol/types.ts'

interface Row {
  readonly nr: number
  readonly id: string
  readonly labourH: number
  readonly elapsedH: number
  readonly safety?: string
}

const published = JSON.parse(readFileSync(new URL('./steps.values.json', import.meta.url), 'utf8')) as {
  readonly tolerance: number
  readonly steps: readonly Row[]
}

/** Skills of the six people of the invented cellar: a step that asks for another could never be given out. */
const SKILLS = [
  'decides',
  'confined-space',
  'forklift',
  'pump',
  'filter',
  'lab',
  'additions',
  'press',
  'barrels',
  'rounds',
]

/** Hazard words of the catalogue, and what the caution must then say. */
const HAZARDS: readonly (readonly [word: RegExp, caution: RegExp])[] = [
  [/CO2|N2|nitrogen/i, /Carbon dioxide|Nitrogen/],
  [/caustic/i, /Caustic/],
  [/SO2|mask with acid/, /Sulphur dioxide/],
  [/hot water|steam/i, /Hot water/],
  [/forklift/i, /Forklift: licensed driver/],
  [/permit|confined|no head/i, /permit|No head/],
  [/pressur/i, /pressure/i],
  [/lock-out|lock out/i, /Lock out/],
  [/dust/i, /Dust/],
  [/lifting/i, /load/],
  [/foam-over|foam over/i, /foam/],
  [/glycol/i, /glycol/i],
  [/valve/i, /valve/i],
]

describe('the kinds of work', () => {
  it('are the 92 of the catalogue, each once, in its order', () => {
    expect(STEPS.map((step) => [step.nr, step.id])).toEqual(published.steps.map((row) => [row.nr, row.id]))
    expect(new Set(STEPS.map((step) => step.id)).size).toBe(92)
  })

  for (const row of published.steps) {
    it(`${row.id} takes the labour and the time of the catalogue (common practice)`, () => {
      const step = stepOf(row.id)
      expect(Math.abs(step.labourH(USUAL_SIZES) - row.labourH)).toBeLessThanOrEqual(published.tolerance + 1e-9)
      expect(Math.abs(step.elapsedH(USUAL_SIZES) - row.elapsedH)).toBeLessThanOrEqual(published.tolerance + 1e-9)
    })
  }

  it('an unknown one is a bug', () => {
    expect(() => stepOf('brew-tea')).toThrow(RangeError)
  })

  it('are named in English, French and Spanish, and each name is its own', () => {
    for (const language of ['en', 'fr', 'es'] as const) {
      const names = STEPS.map((step) => step.names[language])
      expect(names.every((name) => name.trim().length > 2)).toBe(true)
      expect(new Set(names).size, language).toBe(names.length)
    }
  })

  it('use every one of the six families', () => {
    expect(new Set(STEPS.map((step) => step.family))).toEqual(new Set(FAMILIES))
  })

  it('name machines and readings that exist', () => {
    for (const step of STEPS) {
      for (const machine of step.machines) expect(MACHINE_KINDS, step.id).toContain(machine.kind)
      for (const kind of step.records) expect(READING_KINDS, step.id).toContain(kind)
    }
  })

  it('ask only for skills that somebody in the cellar has, and never for more than the crew', () => {
    for (const step of STEPS) {
      for (const skill of [...step.skills, ...(step.prefers ?? [])]) expect(SKILLS, step.id).toContain(skill)
      expect(step.crew, step.id).toBeGreaterThanOrEqual(1)
    }
  })

  it('keep their windows inside the day and in order', () => {
    for (const step of STEPS)
      for (const [from, to] of step.startWindows ?? []) {
        expect(from, step.id).toBeGreaterThanOrEqual(0)
        expect(to, step.id).toBeGreaterThan(from)
        expect(to, step.id).toBeLessThanOrEqual(1440)
      }
  })

  it('say why where a skip is not a plain yes', () => {
    for (const step of STEPS.filter((entry) => entry.skippable === 'with-reason'))
      expect(step.skipNote, step.id).not.toBe('')
  })

  it('rest on references that exist', () => {
    for (const step of STEPS) {
      if (step.basis.kind === 'source') expect(step.basis.refs?.length, step.id).toBeGreaterThan(0)
      for (const ref of step.basis.refs ?? []) expect(referenceOf(ref), `${step.id} ${ref}`).toBeDefined()
    }
  })
})

describe('the links between them', () => {
  it('start from work that exists, and never from themselves', () => {
    for (const step of STEPS)
      for (const link of step.after) {
        expect(stepOf(link.prev).id, step.id).toBe(link.prev)
        expect(link.prev, step.id).not.toBe(step.id)
      }
  })

  it('leave a window that is not empty', () => {
    for (const step of STEPS)
      for (const link of step.after) {
        expect(link.minH, step.id).toBeGreaterThanOrEqual(0)
        if (link.maxH !== undefined)
          expect(link.maxH, `${step.id} after ${link.prev}`).toBeGreaterThanOrEqual(link.minH)
      }
  })

  it('within one lot the hard ones close no circle', () => {
    expect(circle((step) => stepOf(step).after.filter((link) => !link.scope && link.strength === 'hard'))).toBeNull()
  })

  it('the check for circles finds one when there is one', () => {
    const loop: Record<string, string> = { press: 'settle', settle: 'press' }
    expect(circle((step) => (loop[step] ? [{ prev: loop[step] }] : []))).toEqual(['press', 'settle', 'press'])
  })
})

describe('cautions', () => {
  for (const row of published.steps.filter((entry) => entry.safety)) {
    it(`${row.id} warns of: ${row.safety}`, () => {
      const { caution } = stepOf(row.id)
      expect(caution).toMatch(/Local safety rules and the site’s own procedures come first\.$/)
      for (const [word, says] of HAZARDS) if (word.test(row.safety ?? '')) expect(caution).toMatch(says)
    })
  }

  it('every caution ends by deferring to local rules', () => {
    for (const step of STEPS.filter((entry) => entry.caution !== ''))
      expect(step.caution, step.id).toMatch(/Local safety rules and the site’s own procedures come first\.$/)
  })

  it('work with sulphite warns of sulphur dioxide', () => {
    for (const step of STEPS.filter((entry) => entry.materials.some((name) => /metabisulphite|SO2|sulphur/.test(name))))
      expect(step.caution, step.id).toMatch(/Sulphur dioxide/)
  })

  it('work that uses the forklift warns of it', () => {
    for (const step of STEPS.filter((entry) => entry.machines.some((machine) => machine.kind === 'forklift')))
      expect(step.caution, step.id).toMatch(/Forklift/)
  })
})

describe('labour and time', () => {
  it('for any sizes in range are finite and never negative', () => {
    fc.assert(
      fc.property(anySizes, (sizes) => {
        for (const step of STEPS) {
          expect(step.labourH(sizes)).toBeGreaterThanOrEqual(0)
          expect(step.elapsedH(sizes)).toBeGreaterThanOrEqual(0)
          expect(Number.isFinite(step.labourH(sizes) + step.elapsedH(sizes))).toBe(true)
          for (const machine of step.machines) expect(machine.amount(sizes)).toBeGreaterThanOrEqual(0)
        }
      }),
    )
  })

  it('never shrink when there is more wine or more barrels', () => {
    fc.assert(
      fc.property(anySizes, fc.integer({ min: 1, max: 5000 }), (sizes, more) => {
        const larger = { ...sizes, volumeL: sizes.volumeL + more, barrels: sizes.barrels + more }
        for (const step of STEPS) {
          expect(step.labourH(larger)).toBeGreaterThanOrEqual(step.labourH(sizes))
          expect(step.elapsedH(larger)).toBeGreaterThanOrEqual(step.elapsedH(sizes))
        }
      }),
    )
  })
})

describe('references', () => {
  it('are S1 to S75, each once, with what was read', () => {
    expect(REFERENCES.map((reference) => reference.id)).toEqual(Array.from({ length: 75 }, (_, i) => `S${i + 1}`))
    for (const reference of REFERENCES) {
      expect(reference.cite.length, reference.id).toBeGreaterThan(5)
      expect(reference.read.length, reference.id).toBeGreaterThan(10)
      expect(reference.readAt.length, reference.id).toBeGreaterThan(4)
    }
  })

  it('name no machine as the place of reading', () => {
    for (const reference of REFERENCES) expect(reference.readAt).not.toMatch(/\d+\.\d+\.\d+\.\d+/)
  })
})

const anySizes: fc.Arbitrary<StepSizes> = fc.record({
  tonnes: fc.double({ min: 0.1, max: 60, noNaN: true }),
  volumeL: fc.double({ min: 20, max: 100_000, noNaN: true }),
  leesL: fc.double({ min: 0, max: 8000, noNaN: true }),
  barrels: fc.integer({ min: 0, max: 400 }),
  newBarrels: fc.integer({ min: 0, max: 400 }),
  vessels: fc.integer({ min: 1, max: 200 }),
  samples: fc.integer({ min: 1, max: 200 }),
  receptionTPerH: fc.double({ min: 0.2, max: 60, noNaN: true }),
  sortingTPerH: fc.double({ min: 0.2, max: 20, noNaN: true }),
  pressLoadingTPerH: fc.double({ min: 0.2, max: 30, noNaN: true }),
  pressProgramH: fc.double({ min: 0.5, max: 12, noNaN: true }),
  pressWashH: fc.double({ min: 0.1, max: 3, noNaN: true }),
  pumpLPerH: fc.double({ min: 300, max: 60_000, noNaN: true }),
  floatLPerH: fc.double({ min: 300, max: 60_000, noNaN: true }),
  filterLPerH: fc.double({ min: 100, max: 20_000, noNaN: true }),
  deltaC: fc.double({ min: 0, max: 25, noNaN: true }),
  chillKW: fc.double({ min: 1, max: 500, noNaN: true }),
  heatKW: fc.double({ min: 1, max: 500, noNaN: true }),
  skinContactH: fc.double({ min: 0, max: 72, noNaN: true }),
  settleH: fc.double({ min: 0, max: 72, noNaN: true }),
  sugarGPerLPerDay: fc.double({ min: 0, max: 60, noNaN: true }),
})

/** The first circle found by walking back along the links, or none. */
function circle(linksOf: (step: string) => readonly { readonly prev: string }[]): readonly string[] | null {
  const clean = new Set<string>()
  const walk = (id: string, path: readonly string[]): readonly string[] | null => {
    if (path.includes(id)) return [...path.slice(path.indexOf(id)), id]
    if (clean.has(id)) return null
    for (const link of linksOf(id)) {
      const found = walk(link.prev, [...path, id])
      if (found) return found
    }
    clean.add(id)
    return null
  }
  for (const step of STEPS) {
    const found = walk(step.id, [])
    if (found) return found
  }
  return null
}
