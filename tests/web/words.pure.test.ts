import * as fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { feedTaskOf } from '../../api/feed/task.ts'
import { planCellar } from '../../api/plan.ts'
import { type Facts, TROUBLE_KINDS } from '../../api/protocol/facts.ts'
import { STEPS } from '../../api/protocol/steps.ts'
import type { TaskPlan } from '../../api/protocol/types.ts'
import { basisWords, plannedToWire } from '../../api/shapes/task.ts'
import { Temporal } from '../../api/time.ts'
import { DE } from '../../web/words/de/index.ts'
import { DOOR } from '../../web/words/en/door.ts'
import { EN } from '../../web/words/en/index.ts'
import { ES } from '../../web/words/es/index.ts'
import { FR } from '../../web/words/fr/index.ts'
import { IT } from '../../web/words/it/index.ts'
import { CAUTION_LEADS, STEP_WORDS } from '../../web/words/keys.ts'
import { PT } from '../../web/words/pt/index.ts'
import {
  arithmeticIn,
  basisIn,
  cautionIn,
  cautionParts,
  detailIn,
  filled,
  stepIn,
  thingIn,
} from '../../web/words/speech.ts'
import type { Catalogue, Word } from '../../web/words/types.ts'
import { tongueOf } from '../../web/words/words.ts'

const LANGUAGES = [ES, FR, PT, IT, DE] as const
const names = (text: string) => [...text.matchAll(/\{(\w+)\}/g)].map((found) => found[1]).sort()
const figures = (text: string) => text.split('#').length - 1

/** Planning takes its time, and every language looks at the same plan. */
function once<T>(make: () => T): () => T {
  let made: { readonly value: T } | undefined
  return () => {
    made ??= { value: make() }
    return made.value
  }
}

/** The invented cellar mid-vintage, with one report of every kind on a fermenting and on a dry lot. */
const planned = once(() => {
  const nowAt = Temporal.Instant.from('2027-03-24T18:00:00Z')
  const facts = demoFacts()
  const troubles: Facts['troubles'] = ['L01', 'L05'].flatMap((lotId) =>
    TROUBLE_KINDS.map((kind) => ({ id: `${lotId} ${kind}`, kind, lotId, words: '', personId: 'kim', at: nowAt })),
  )
  return planCellar({ ...facts, troubles }, { nowAt }).tasks
})

const SOURCE_ID = /\bS\d{1,3}\b/

/** All that whoever does a task reads of it. Without a catalogue: in English, as the feed has it in every language. */
function handSees(planned: TaskPlan, catalogue?: Catalogue): readonly string[] {
  const names = { lotNames: new Map(), codes: new Map(), painted: '', factsByTask: new Map(), nowAt: planned.startAt }
  const task = plannedToWire(planned, undefined, names)
  const feedNames = { people: new Map<string, string>(), actions: new Map<string, string>(), units: 'metric' as const }
  const feed = feedTaskOf(task, 'cellar', new Map(), feedNames)
  const word = (key: Word, values: Readonly<Record<string, string>>) => filled((catalogue?.ui ?? EN)[key], values)
  return [
    stepIn(catalogue, task.step, task.name),
    detailIn(catalogue, task.detail),
    cautionIn(catalogue, task.caution),
    task.why,
    task.whyNotLater,
    ...task.materials.map((thing) => thingIn(catalogue, thing)),
    ...task.doses.flatMap((dose) => [
      thingIn(catalogue, dose.product),
      arithmeticIn(catalogue, dose.arithmetic),
      basisIn(catalogue, dose.basis, word),
    ]),
    ...[feed.action, feed.detail, ...feed.doses, feed.caution, feed.reason],
  ].filter((text) => text !== '')
}

describe('what is said in English', () => {
  it('names no source by its id, in no step, dose or caution, on the floor, on paper or in a feed', () => {
    const said = planned().flatMap((task) => handSees(task))
    expect(said.length).toBeGreaterThan(1000)
    expect(said.filter((text) => SOURCE_ID.test(text))).toEqual([])
  })
})

describe.each(LANGUAGES)('the words in $language', (catalogue) => {
  it('are all there, with every value that English fills in', () => {
    expect(Object.keys(catalogue.ui).sort()).toEqual(Object.keys(EN).sort())
    expect(Object.keys(catalogue.door).sort()).toEqual(Object.keys(DOOR).sort())
    const all: Readonly<Record<string, string>> = { ...catalogue.ui, ...catalogue.door }
    for (const [key, english] of Object.entries({ ...EN, ...DOOR })) {
      const own = all[key] ?? ''
      expect(own.trim(), key).not.toBe('')
      expect(names(own), key).toEqual(names(english))
    }
  })

  it('name every kind of work and every caution', () => {
    expect(Object.keys(catalogue.steps).sort()).toEqual(STEPS.map((step) => step.id).sort())
    expect(Object.keys(catalogue.cautions).sort()).toEqual([...CAUTION_LEADS].sort())
    for (const step of STEPS) {
      expect(stepIn(catalogue, step.id, step.names.en), step.id).not.toBe('')
      const caution = cautionIn(catalogue, step.caution)
      for (const lead of CAUTION_LEADS) expect(caution, step.id).not.toContain(lead)
    }
  })

  it('say every limit in a caution with the figures of the English one', () => {
    const digits = (text: string) =>
      text
        .replace(/(?<=\d)[.,   ](?=\d{3})/g, '')
        .replaceAll(',', '.')
        .match(/\d+(\.\d+)?/g)
    for (const step of STEPS) {
      for (const { lead, text } of cautionParts(step.caution, CAUTION_LEADS)) {
        const own = catalogue.cautions[lead as (typeof CAUTION_LEADS)[number]]
        expect(digits(own), `${lead} ${own}`).toEqual(digits(text))
      }
    }
  })

  it('hold a figure for each figure of the English, in every detail', () => {
    for (const [english, own] of Object.entries(catalogue.details)) expect(figures(own), english).toBe(figures(english))
  })

  it('leave no detail, product or thing to bring of a whole vintage in English', () => {
    const unknown = new Set<string>()
    for (const task of planned()) {
      for (const part of task.detail.split('; ')) {
        if (detailIn(catalogue, part) !== part || catalogue.details[bare(part)] !== undefined) continue
        for (const piece of part.split(', ')) {
          // A vessel, a figure and a unit are the same in every language.
          if (catalogue.details[bare(piece)] === undefined && /[a-z]{3}/.test(piece.replace(/\bbin\b/, '')))
            unknown.add(piece)
        }
      }
      for (const thing of [...task.materials, ...task.doses.map((dose) => dose.product)]) {
        if (catalogue.things[thing] === undefined) unknown.add(thing)
      }
    }
    expect([...unknown]).toEqual([])
  })

  it('say nowhere the id of a source, in no step, dose or caution, on the floor, on paper or in a feed', () => {
    const said = planned().flatMap((task) => handSees(task, catalogue))
    expect(said.length).toBeGreaterThan(1000)
    expect(said.filter((text) => SOURCE_ID.test(text))).toEqual([])
  })

  it('leave no note under a dose of a whole vintage in English', () => {
    const notes = new Set(
      planned().flatMap((task) =>
        task.doses.flatMap((dose) => [
          ...dose.arithmetic.split('; ').slice(1),
          ...(dose.basis.kind === 'source' ? (dose.basis.note?.split('; ') ?? []) : []),
        ]),
      ),
    )
    expect(notes.size).toBeGreaterThan(5)
    expect([...notes].filter((note) => catalogue.details[bare(note)] === undefined)).toEqual([])
  })

  it('are marked as unread until a native speaker has read them', () => {
    expect(catalogue.readByNative).toBe(false)
  })
})

const bare = (text: string) => text.replace(/(?<![A-Za-z\d])-?\d(?:[\d,.]*\d)?/g, '#')

describe('the device’s languages', () => {
  it('choose the first that there are words for, of any country', () => {
    expect(tongueOf(['pt-BR', 'en-US'])).toBe('pt')
    expect(tongueOf(['da', 'DE-at', 'fr'])).toBe('de')
    expect(tongueOf(['en-NZ', 'fr'])).toBe('en')
    expect(tongueOf(['da'])).toBe('en')
    expect(tongueOf([])).toBe('en')
  })
})

describe('keys', () => {
  it('are those of the catalogue of steps, and no caution begins with words that nobody knows', () => {
    expect([...STEP_WORDS].sort()).toEqual(STEPS.map((step) => step.id).sort())
    for (const step of STEPS) {
      const parts = cautionParts(step.caution, CAUTION_LEADS)
      expect(
        parts.filter((part) => part.lead === ''),
        step.id,
      ).toEqual([])
      expect(parts.map((part) => part.text).join(' ')).toBe(step.caution)
    }
  })
})

describe('speech', () => {
  it('puts figures back in their order, written as the reader writes them', () => {
    const comma = (figure: string) => figure.replace('.', ',')
    expect(detailIn(DE, 'to 80.5 NTU at 10 C; look every 12 h', comma)).toBe(
      'auf 80,5 NTU bei 10 C; alle 12 h nachsehen',
    )
    expect(detailIn(undefined, 'to 80 NTU at 10 C')).toBe('to 80 NTU at 10 C')
  })

  it('tells the arithmetic of a dose and what it stands on', () => {
    const comma = (figure: string) => figure.replaceAll(',', '\u00a0').replace('.', ',')
    const word = (key: keyof typeof EN, values: Readonly<Record<string, string>>) => filled(FR.ui[key], values)
    expect(arithmeticIn(FR, '30 mg/L SO2 x 4,180 L / 570 = 220.5 g; target free 28 mg/L', comma)).toBe(
      '30 mg/L SO2 x 4\u00a0180 L / 570 = 220,5 g; cible libre 28 mg/L',
    )
    const source = { kind: 'source', refs: ['S16'], note: 'the trial decides; water under 1 %' }
    expect(basisIn(FR, basisWords(source), word)).toBe(
      'source US 27 CFR 24.246 and 24.241: l’essai décide; eau : moins de 1 %',
    )
    // Two pages of one house are one name; an id within a note, as older rows have it, is spelled out too.
    const old = { kind: 'source', refs: ['S29', 'S30', 'S65'], note: 'S65 prints 22.5' }
    expect(basisWords(old)).toBe('source AWRI, Notes on yeast nitrogen: Notes on yeast nitrogen prints 22.5')
    expect(basisIn(FR, 'source Notes on yeast nitrogen', word)).toBe('source Notes sur l’azote des levures')
    expect(basisIn(FR, basisWords({ kind: 'common-practice' }), word)).toBe('pratique courante')
  })

  it('keeps what it does not know', () => {
    expect(detailIn(FR, 'words of nobody; full wash')).toBe('words of nobody; lavage complet')
    expect(stepIn(FR, 'no-such-step', 'Named')).toBe('Named')
    expect(cautionIn(FR, 'Unheard of.')).toBe('Unheard of.')
  })

  it('for any values, fills each name and nothing else', () => {
    fc.assert(
      fc.property(fc.string(), fc.integer(), (name, n) => {
        expect(filled('{name}: {n} of {other}', { name, n })).toBe(`${name}: ${n} of {other}`)
      }),
    )
  })
})
