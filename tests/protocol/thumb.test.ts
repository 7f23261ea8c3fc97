import { describe, expect, it } from 'vitest'
import { forecastFerment } from '../../api/cellar/fermentation.ts'
import {
  barrelOxygenMgPerLPerYear,
  OAK_PIECES_OXYGEN_MG_PER_L_PER_YEAR,
  oakIndex,
  TOASTS,
} from '../../api/cellar/wood.ts'
import { type Choices, STYLES } from '../../api/protocol/choices.ts'
import { findConflicts } from '../../api/protocol/conflicts.ts'
import { defaultsFor } from '../../api/protocol/defaults.ts'
import { EFFECTS } from '../../api/protocol/notes.ts'
import { stepOf, USUAL_SIZES } from '../../api/protocol/steps.ts'
import { type Change, contextOf } from './cases.ts'

/** The rules of thumb of the trade. None has a source: each is a direction that what we say must agree with. */
const found = (change: Change) => findConflicts(contextOf(change)).map((rule) => rule.id)
const level = (id: string, change: Change) => findConflicts(contextOf(change)).find((rule) => rule.id === id)?.level

describe('rule of thumb 1, fermentation at 12-22 C (common practice, no source)', () => {
  for (const style of STYLES)
    it(`${style} ferments inside it by default`, () => {
      const { fermentTempC, fermentEndTempC } = defaultsFor(style)
      for (const tempC of [fermentTempC, fermentEndTempC ?? fermentTempC]) {
        expect(tempC).toBeGreaterThanOrEqual(12)
        expect(tempC).toBeLessThanOrEqual(22)
      }
    })

  it('outside it the winemaker is told and not refused; on the edges nobody is', () => {
    expect(level('R01', { choices: { fermentTempC: 11 } })).toBe('info')
    expect(level('R01', { style: 'orange', choices: { fermentTempC: 25 } })).toBe('info')
    expect(found({ choices: { fermentTempC: 12 } })).not.toContain('R01')
    expect(found({ choices: { fermentTempC: 22 } })).not.toContain('R01')
  })

  it('a ferment measured outside it is told too', () => {
    expect(found({ more: { phase: 'ferment', latest: { temp: 24 } } })).toContain('R01')
  })
})

describe('rule of thumb 2, skin contact is short, cool and before fermentation (common practice, no source)', () => {
  it('it ends before the press, and the press before the yeast', () => {
    expect(reaches('inoculate', 'rack-juice')).toBe(true)
    expect(reaches('press', 'macerate-cold')).toBe(true)
    expect(reaches('rack-juice', 'press')).toBe(true)
    expect(reaches('macerate-cold', 'inoculate')).toBe(false)
  })

  it('more hours of it take more labour and more time', () => {
    const macerate = stepOf('macerate-cold')
    const longer = { ...USUAL_SIZES, skinContactH: USUAL_SIZES.skinContactH + 6 }
    expect(macerate.labourH(longer)).toBeGreaterThan(macerate.labourH(USUAL_SIZES))
    expect(macerate.elapsedH(longer)).toBeGreaterThan(macerate.elapsedH(USUAL_SIZES))
  })

  it('warm fruit or a warm soak is warned of, a short cool one is not', () => {
    const skins = { processing: 'destem', skinContactH: 6, so2CrushMgPerL: 20 } as const
    expect(found({ choices: { ...skins, fruitCooling: 'none' }, fruit: { fruitTempC: 19 } })).toContain('K21')
    expect(found({ choices: { ...skins, skinContactC: 15 } })).toContain('R02')
    expect(found({ choices: { ...skins, skinContactH: 30 } })).toContain('R02')
    expect(found({ choices: skins })).not.toContain('R02')
    expect(found({ choices: { ...skins, skinContactH: 24, skinContactC: 12 } })).not.toContain('R02')
    expect(found({ choices: skins })).not.toContain('K21')
  })
})

describe('rule of thumb 3, steel is inert, oak gives flavour, pieces give some for less (common practice, no source)', () => {
  it('the effects say so', () => {
    expect(EFFECTS.vessel['jacketed-tank'].aroma).toBe(0)
    expect(EFFECTS.oak.new.aroma).toBeGreaterThan(EFFECTS.oak.pieces.aroma)
    expect(EFFECTS.oak.pieces.aroma).toBeGreaterThan(EFFECTS.oak.none.aroma)
    expect(EFFECTS.oak.pieces.cost).toBeLessThan(EFFECTS.oak.new.cost)
    expect(EFFECTS.oak.pieces.cost).toBeLessThan(EFFECTS.oak.used.cost)
  })

  it('oak aroma expected of steel alone is told', () => {
    expect(found({ choices: { expectsOakAroma: true } })).toContain('R03')
    expect(found({ choices: { expectsOakAroma: true, oak: 'pieces' } })).not.toContain('R03')
  })
})

describe('rule of thumb 4, cultured yeast is predictable, ambient adds risk (common practice, no source)', () => {
  const must = { brix: 21.5, yanMgPerL: 200, tempPlan: 18 }
  const selected = forecastFerment({ ...must, yeast: 'selected' })
  const ambient = forecastFerment({ ...must, yeast: 'ambient' })

  it('an ambient ferment is forecast with a wider band', () => {
    expect(width(ambient.dryH)).toBeGreaterThan(width(selected.dryH))
  })

  it('and starts later', () => {
    expect(ambient.sugarFallPerDay[0]).toBeLessThan(selected.sugarFallPerDay[0] ?? 0)
    expect(ambient.dryH.likely ?? 0).toBeGreaterThan(selected.dryH.likely ?? Number.POSITIVE_INFINITY)
  })

  it('the winemaker is told', () => {
    expect(found({ choices: { yeast: 'ambient', so2CrushMgPerL: 20, fermentTempC: 18 } })).toContain('R04')
    expect(found({})).not.toContain('R04')
  })
})

describe('rule of thumb 5, sweet wine is made by stopping: chill, then take the yeast out (common practice, no source)', () => {
  it('the chill waits for the watch, and the yeast for the chill', () => {
    expect(reaches('stop-so2', 'stop-chill')).toBe(true)
    expect(reaches('stop-chill', 'watch-stop')).toBe(true)
    expect(reaches('stop-chill', 'stop-so2')).toBe(false)
  })

  it('the watch asks for the chill to begin before the target', () => {
    expect(stepOf('watch-stop').alarms.join(' ')).toMatch(/start chill at target \+ rate/)
  })

  it('without a way to take the yeast out the stop is refused', () => {
    expect(level('K10', { style: 'offdry', choices: { filtration: 'none' } })).toBe('block')
  })
})

describe('rule of thumb 6, malolactic wanted warm and bare, refused cold and with SO2 (common practice, no source)', () => {
  const wanted: Partial<Choices> = { malolactic: 'after', firstSo2: 'after-malolactic', maturationC: 16 }

  it('wanted: cold or early SO2 is refused', () => {
    expect(level('K02', { choices: { ...wanted, maturationC: 10 } })).toBe('block')
    expect(level('K04', { choices: { ...wanted, firstSo2: 'after-dry' } })).toBe('block')
    expect(found({ choices: wanted })).not.toContain('K02')
    expect(found({ choices: wanted })).not.toContain('K04')
  })

  it('wanted but only lukewarm: told that it is slow', () => {
    expect(level('R06', { choices: wanted })).toBe('info')
    expect(found({ choices: { ...wanted, maturationC: 18 } })).not.toContain('R06')
  })

  it('refused: warmth with little SO2 is warned of', () => {
    expect(level('K05', { choices: { maturationC: 16, molecularSo2MgPerL: 0.4 } })).toBe('warn')
    expect(found({ choices: { maturationC: 8, molecularSo2MgPerL: 0.8 } })).not.toContain('K05')
  })

  it('the first SO2 waits for dryness in the one branch and for malic in the other', () => {
    const alternatives = stepOf('post-so2').after.filter((link) => link.strength === 'alt')
    expect(alternatives.map((link) => link.prev)).toEqual(['check-dry', 'mlf-done'])
  })
})

describe('rule of thumb 7, gross lees come off, fine lees are a choice (common practice, no source)', () => {
  it('racking them off may not be skipped, and no style but the textured keeps them', () => {
    expect(stepOf('rack-gross').skippable).toBe('no')
    expect(STYLES.filter((style) => defaultsFor(style).grossLees === 'keep')).toEqual(['textured'])
  })

  it('kept on purpose is told, not refused', () => {
    expect(level('R07', { choices: { grossLees: 'keep' } })).toBe('info')
    expect(found({})).not.toContain('R07')
  })

  it('time on fine lees and stirring are free for tank and wood alike', () => {
    const lees = { fineLeesMonths: 9, stirring: 'monthly' } as const
    for (const vessel of ['jacketed-tank', 'used-barrel', 'cask', 'concrete'] as const) {
      const blocks = findConflicts(contextOf({ choices: { ...lees, vessel, fermentTempC: 18 } })).filter(
        (rule) => rule.level === 'block',
      )
      expect(blocks, vessel).toEqual([])
    }
  })
})

describe('rule of thumb 8, the smaller the barrel the more wood for each litre (common practice, no source)', () => {
  it('extraction falls with size, strictly', () => {
    const sizes = [114, 225, 228, 300, 500, 1000, 2000, 6000]
    expect(falls(sizes.map((volumeL) => oakIndex(volumeL, 0).extraction))).toBe(true)
  })

  it('the effects rank barrel, puncheon and cask alike', () => {
    const { vessel } = EFFECTS
    expect(
      falls([vessel['new-barrel'].aroma, vessel['used-barrel'].aroma, vessel.puncheon.aroma, vessel.cask.aroma]),
    ).toBe(true)
  })
})

describe('rule of thumb 9, each fill gives less, in the end nothing; oxygen stays (common practice, no source)', () => {
  it('extraction falls with fills, towards nothing', () => {
    const fills = [0, 1, 2, 3, 4, 5, 6, 8, 10]
    expect(falls(fills.map((count) => oakIndex(225, count).extraction))).toBe(true)
    expect(oakIndex(225, 10).extraction).toBeLessThan(0.01)
  })

  it('oxygen does not go to nothing', () => {
    expect(barrelOxygenMgPerLPerYear(225, 10)).toBeGreaterThan(0)
    expect(EFFECTS.oak.used.oxygen).toBe(EFFECTS.oak.new.oxygen)
  })

  it('tartrate that shuts the wood is said', () => {
    expect(EFFECTS.vessel['used-barrel'].words).toMatch(/tartrate/)
  })
})

describe('rule of thumb 10, heavier toast is smokier; European oak is dearer and held finer (common practice, no source)', () => {
  it('toasty notes rise with toast', () => {
    const notes = TOASTS.map((toast) => oakIndex(225, 0, toast).toasty)
    expect(falls([...notes].reverse())).toBe(true)
  })

  it('the words say smoke with toast, and which oak costs more', () => {
    expect(EFFECTS.vessel['new-barrel'].words).toMatch(/smoke with heavier toast/)
    expect(EFFECTS.vessel['new-barrel'].words).toMatch(/European oak is dearer and held finer than American/)
  })
})

describe('rule of thumb 11, pieces are cheaper and bring no slow oxygen (common practice, no source)', () => {
  it('cost lower, oxygen zero', () => {
    expect(EFFECTS.oak.pieces.cost).toBeLessThan(EFFECTS.oak.new.cost)
    expect(EFFECTS.oak.pieces.oxygen).toBe(0)
    expect(OAK_PIECES_OXYGEN_MG_PER_L_PER_YEAR).toBe(0)
  })

  it('slow oxygen expected of them is refused', () => {
    expect(level('K16', { choices: { oak: 'pieces', expectsSlowOxygen: true } })).toBe('block')
  })
})

describe('rule of thumb 12, a large old cask leaves aroma almost untouched (common practice, no source)', () => {
  it('it extracts less than a tenth of a new 225 L barrel', () => {
    for (const volumeL of [1000, 1800, 2000, 6000])
      for (const fills of [5, 6, 10])
        expect(oakIndex(volumeL, fills).extraction).toBeLessThan(0.1 * oakIndex(225, 0).extraction)
  })

  it('and no aroma is promised; expected all the same, it is refused', () => {
    expect(EFFECTS.vessel.cask.aroma).toBe(0)
    expect(EFFECTS.oak.cask.aroma).toBe(0)
    expect(level('K17', { choices: { vessel: 'cask', oak: 'cask', fermentTempC: 18, expectsOakAroma: true } })).toBe(
      'block',
    )
  })
})

/** Whether `step` waits for `prev`, directly or through other work of the lot. */
function reaches(step: string, prev: string): boolean {
  const seen = new Set<string>()
  const walk = (id: string): boolean => {
    if (seen.has(id)) return false
    seen.add(id)
    return stepOf(id).after.some((link) => !link.scope && (link.prev === prev || walk(link.prev)))
  }
  return walk(step)
}

const falls = (values: readonly number[]): boolean =>
  values.every((value, i) => i === 0 || value < (values[i - 1] ?? Number.NEGATIVE_INFINITY))

const width = (span: { readonly earliest: number | null; readonly latest: number | null }): number =>
  (span.latest ?? Number.POSITIVE_INFINITY) - (span.earliest ?? 0)
